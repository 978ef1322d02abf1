package lab

// Outlook says what to do with film that stands in a bath: on battery, silent
// since a power cut, just resumed, or developing off temperature.
type Outlook struct {
	Step string `json:"step"`
	Why  string `json:"why" enum:"battery,silent,resumed,temperature" doc:"What the trouble is."`
	// Action now: go-on, drain-at, hold (too late: leave it, hold and
	// inspect), fill (it stopped while filling: finish the fill), or one of
	// the advices: continue, shorten, extend, repeat, drain, discard.
	Action string `json:"action"`
	ActAt  *Time  `json:"act_at"` // when to do it; reaction and draining are taken off
	// GoOnUntil: until then going on holds; DrainFrom: from then on drain at
	// ActAt; TooLateFrom: from then on leave it.
	GoOnUntil   *Time `json:"go_on_until"`
	DrainFrom   *Time `json:"drain_from"`
	TooLateFrom *Time `json:"too_late_from"`
	// PushStops is where the push error will end if the action is taken, with
	// its range; NowStops what it would be if the film were drained now. Null
	// for steps without push times.
	PushStops     *float64 `json:"push_stops" doc:"Where the push error will end if that is done, stops."`
	PushLowStops  *float64 `json:"push_low_stops" doc:"The least that it may be, stops."`
	PushHighStops *float64 `json:"push_high_stops" doc:"The most that it may be, stops."`
	NowStops      *float64 `json:"now_stops" doc:"What it would be if the film were drained now, stops."`
	Text          string   `json:"text"` // one or two lines for the person at the unit
	// What it rests on.
	Measured  []string `json:"measured"`
	Estimated []string `json:"estimated"`
	Assumed   []string `json:"assumed"`
}
