package lab

import "encoding/json"

// Outcomes of a run.
const (
	OutcomeRunning = "running"
	OutcomeDone    = "done"
	OutcomeAborted = "aborted"
	OutcomeLost    = "lost"
)

// Verdicts on a run.
const (
	InControl    = "in-control"
	Inspect      = "inspect"
	OutOfControl = "out-of-control"
)

// Run is one run as the contract shows it.
type Run struct {
	ID             string     `json:"id"`
	Unit           string     `json:"unit"`
	Run            string     `json:"run" doc:"The run's name by the unit."`
	Process        string     `json:"process"`
	Push           float64    `json:"push"`
	Kind           string     `json:"kind" enum:"film,strip,flush,water,prime" doc:"What runs: only film carries customers' pictures."`
	StartedAt      Time       `json:"started_at"`
	EndedAt        *Time      `json:"ended_at"`
	Outcome        string     `json:"outcome" enum:"running,done,aborted,lost" doc:"How it ended."`
	Verdict        *string    `json:"verdict" enum:"in-control,inspect,out-of-control" doc:"Whether it went as the sheet says; null while it runs."`
	PushErrorStops *float64   `json:"push_error_stops" doc:"What the errors amount to in the step with push times, stops: + pushed, - pulled."`
	Reasons        []Reason   `json:"reasons" doc:"What the verdict rests on, most likely first."`
	Steps          []RunStep  `json:"steps" doc:"The steps."`
	Outages        []Outage   `json:"outages"`
	Gaps           []Gap      `json:"gaps"`
	Alerts         []string   `json:"alerts" doc:"Ids of its alerts."`
	Rolls          []Roll     `json:"rolls" doc:"The rolls in it: those loaded and those scanned since. Empty: unknown, nobody scanned them."`
	Decision       *Decision  `json:"decision" doc:"What a person decided; null while nobody has."`
	Seal           *SealBrief `json:"seal" doc:"Its sealed record; null until it is sealed."`
	Film           *Film      `json:"film" doc:"Its film with its whole way; null where it carries no customers' film."`
	Continues      *string    `json:"continues" doc:"The id of the run whose film it took on; null where it began with its own."`
}

// Reason is one reason behind a verdict.
type Reason struct {
	Code string `json:"code"`
	Step string `json:"step,omitempty"`
	Text string `json:"text"`
}

// RunStep is what was planned and what happened in one step.
type RunStep struct {
	N                  int       `json:"n"`
	Step               string    `json:"step"`
	Fills              int       `json:"fills" doc:"How often it was filled."`
	StartedAt          *Time     `json:"started_at,omitempty"` // its first in-bath
	DrawFrom           string    `json:"draw_from,omitempty" doc:"What it drew from, where the unit said so and it is not the bottle process/step."`
	SheetS             *float64  `json:"sheet_s" doc:"The sheet's time, seconds."`
	SetS               *float64  `json:"set_s" doc:"The time the unit was set to, seconds."`
	TimeS              *float64  `json:"time_s" doc:"The time it took, seconds."`
	LowC               *float64  `json:"low_c"`
	HighC              *float64  `json:"high_c"`
	MeanC              *float64  `json:"mean_c" doc:"Mean temperature, degrees Celsius."`
	MinC               *float64  `json:"min_c" doc:"Lowest temperature, degrees Celsius."`
	MaxC               *float64  `json:"max_c" doc:"Highest temperature, degrees Celsius."`
	OutsideS           *float64  `json:"outside_s" doc:"Time outside the limits, seconds."`
	EquivalentS        *float64  `json:"equivalent_s" doc:"The time at the sheet's temperature that would have developed as much, seconds."`
	PushErrorStops     *float64  `json:"push_error_stops" doc:"What that amounts to against the push asked for, stops."`
	PushErrorLowStops  *float64  `json:"push_error_low_stops" doc:"The least it may be, by what is not known, stops."`
	PushErrorHighStops *float64  `json:"push_error_high_stops" doc:"The most it may be, by what is not known, stops."`
	UnbelievedN        int       `json:"unbelieved_n,omitempty" doc:"How many readings of the bath were not believed."`
	UnbelievedS        float64   `json:"unbelieved_s,omitempty" doc:"For how long readings were not believed in all, single ones not counted, seconds."`
	UnbelievedWhy      string    `json:"unbelieved_why,omitempty" doc:"Why the last of them was not: range, jump, flat or fahrenheit."`
	FlatS              *float64  `json:"flat_s,omitempty" doc:"The longest time at one value to the last digit, where that is remarkable, seconds."`
	MeasuredOffsetC    *float64  `json:"measured_offset_c,omitempty" doc:"What a person's thermometer added to the readings, degrees Celsius."`
	Narrower           *Narrower `json:"narrower,omitempty" doc:"What would narrow the range of the push error most, and to which part of its width."`
	// Against a house aim the push error is the house's; this is the sheet's.
	HouseAimS           *float64 `json:"house_aim_s,omitempty" doc:"The lab's own aim that it was judged by, seconds."`
	PushErrorSheetStops *float64 `json:"push_error_sheet_stops,omitempty" doc:"The push error against the sheet, where a house aim stands before it, stops."`
}

// Narrower is what would narrow a range, and to which part of its width.
type Narrower struct {
	Text string  `json:"text"`
	To   float64 `json:"to"`
}

// Outage is one loss of power in a run.
type Outage struct {
	LostAt            *Time    `json:"lost_at"`
	BackAt            *Time    `json:"back_at"`
	OutageS           *float64 `json:"outage_s" doc:"How long it lasted, seconds."`
	Kind              string   `json:"kind" enum:"battery,restart" doc:"battery: the controller ran on. restart: it went down."`
	Step              string   `json:"step,omitempty"`
	Advice            string   `json:"advice" nullable:"true" enum:"continue,shorten,extend,repeat,drain,discard" doc:"What was advised while it could be followed; null: none, somebody had to look which bath it was."`
	AdvisedRemainingS *float64 `json:"advised_remaining_s" doc:"How long the step should still take, seconds."`
	Text              string   `json:"text"`
	// ActAt is when to do what is advised. PushStops is where the push error
	// will end then, with its range; null for steps without push times.
	ActAt         *Time    `json:"act_at,omitempty"`
	PushStops     *float64 `json:"push_stops,omitempty" doc:"Where the push error will end if the advice is taken, stops."`
	PushLowStops  *float64 `json:"push_low_stops,omitempty" doc:"The least it may be then, stops."`
	PushHighStops *float64 `json:"push_high_stops,omitempty" doc:"The most it may be then, stops."`
	StoodS        *float64 `json:"stood_s,omitempty" doc:"How long the film stood still in it, seconds."` // turning by hand taken off
	// What the advice rests on.
	Measured  []string `json:"measured,omitempty"`
	Estimated []string `json:"estimated,omitempty"`
	Assumed   []string `json:"assumed,omitempty"`
	// What to ask whoever was there; answered by entries.
	Ask []string `json:"ask,omitempty"`
}

// MarshalJSON writes no advice as null.
func (o Outage) MarshalJSON() ([]byte, error) {
	type plain Outage
	var advice *string
	if o.Advice != "" {
		advice = &o.Advice
	}
	return json.Marshal(struct {
		plain
		Advice *string `json:"advice"`
	}{plain(o), advice})
}

// Gap is a hole in a boot's sequence.
type Gap struct {
	Boot    string `json:"boot"`
	FromSeq int64  `json:"from_seq"`
	ToSeq   int64  `json:"to_seq"`
}

// Roll is one roll of film.
type Roll struct {
	TwinCheck string  `json:"twin_check"`
	Process   string  `json:"process,omitempty" doc:"The process it is for; missing: that of the load."`
	Push      float64 `json:"push,omitempty" doc:"The push it is for, stops."`
	Film      string  `json:"film,omitempty" doc:"What film it is."`
	Format    string  `json:"format,omitempty" doc:"135, 120 and so on."`
	Order     string  `json:"order,omitempty" doc:"The customer's order."`
	DueAt     *Time   `json:"due_at,omitempty" doc:"When it is promised."`
	Note      string  `json:"note,omitempty" doc:"What else is to be known."`
	// PushErrorStops is what the roll got against the push it wanted itself,
	// where it was in a run of its own process.
	PushErrorStops *float64 `json:"push_error_stops,omitempty" doc:"What the roll got against the push it is for itself, stops."`
	// Decision is what a person decided about this roll; null where the run's
	// decision counts for it.
	Decision *Decision `json:"decision,omitempty"`
}

// Decision is what a person decided about a run, or about some rolls of it.
type Decision struct {
	Decision string `json:"decision" enum:"release,hold,reprocess,correct,lost" doc:"correct: in scan or print. lost: the film is lost."`
	Note     string `json:"note,omitempty" doc:"Why, and what was agreed."`
	By       string `json:"by"`
	At       Time   `json:"at" doc:"When it was decided."`
	ToldAt   *Time  `json:"customer_told_at,omitempty" doc:"When the customer was told."`
	// Rolls are the twin checks that it is about; none: the run, and with it
	// every roll that has no decision of its own.
	Rolls []string `json:"rolls,omitempty"`
}

// SealBrief points at a run's sealed record.
type SealBrief struct {
	SealedAt Time   `json:"sealed_at"`
	Index    int64  `json:"index"`
	Hash     string `json:"hash"`
}
