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
	Run            string     `json:"run"`
	Process        string     `json:"process"`
	Push           float64    `json:"push"`
	Kind           string     `json:"kind"`
	StartedAt      Time       `json:"started_at"`
	EndedAt        *Time      `json:"ended_at"`
	Outcome        string     `json:"outcome"`
	Verdict        *string    `json:"verdict"`
	PushErrorStops *float64   `json:"push_error_stops"`
	Reasons        []Reason   `json:"reasons"`
	Steps          []RunStep  `json:"steps"`
	Outages        []Outage   `json:"outages"`
	Gaps           []Gap      `json:"gaps"`
	Alerts         []string   `json:"alerts"`
	Rolls          []Roll     `json:"rolls"`
	Decision       *Decision  `json:"decision"`
	Seal           *SealBrief `json:"seal"`
	// Film is the run's film with its whole way; null where the run carries no
	// customers' film. Continues is the id of the run whose film this one took
	// on, null where it began with its own.
	Film      *Film   `json:"film"`
	Continues *string `json:"continues"`
}

// Reason is one reason behind a verdict.
type Reason struct {
	Code string `json:"code"`
	Step string `json:"step,omitempty"`
	Text string `json:"text"`
}

// RunStep is what was planned and what happened in one step.
type RunStep struct {
	N                  int      `json:"n"`
	Step               string   `json:"step"`
	Fills              int      `json:"fills"`
	StartedAt          *Time    `json:"started_at,omitempty"` // its first in-bath
	SheetS             *float64 `json:"sheet_s"`
	SetS               *float64 `json:"set_s"`
	TimeS              *float64 `json:"time_s"`
	LowC               *float64 `json:"low_c"`
	HighC              *float64 `json:"high_c"`
	MeanC              *float64 `json:"mean_c"`
	MinC               *float64 `json:"min_c"`
	MaxC               *float64 `json:"max_c"`
	OutsideS           *float64 `json:"outside_s"`
	EquivalentS        *float64 `json:"equivalent_s"`
	PushErrorStops     *float64 `json:"push_error_stops"`
	PushErrorLowStops  *float64 `json:"push_error_low_stops"`
	PushErrorHighStops *float64 `json:"push_error_high_stops"`
	// Readings of the bath that were not believed: how many, for how long in
	// all (single ones left out), and why the last. FlatS is the longest time
	// at one value to the last digit, where that is remarkable.
	UnbelievedN   int      `json:"unbelieved_n,omitempty"`
	UnbelievedS   float64  `json:"unbelieved_s,omitempty"`
	UnbelievedWhy string   `json:"unbelieved_why,omitempty"`
	FlatS         *float64 `json:"flat_s,omitempty"`
	// MeasuredOffsetC is what a person's thermometer added to the readings.
	MeasuredOffsetC *float64 `json:"measured_offset_c,omitempty"`
	// Narrower is what would narrow the range of the push error most.
	Narrower *Narrower `json:"narrower,omitempty"`
	// Against a house aim the push error is the house's; this is the sheet's.
	HouseAimS           *float64 `json:"house_aim_s,omitempty"`
	PushErrorSheetStops *float64 `json:"push_error_sheet_stops,omitempty"`
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
	OutageS           *float64 `json:"outage_s"`
	Kind              string   `json:"kind"` // battery or restart
	Step              string   `json:"step,omitempty"`
	Advice            string   `json:"advice" nullable:"true"` // "" (null): none, somebody has to look
	AdvisedRemainingS *float64 `json:"advised_remaining_s"`
	Text              string   `json:"text"`
	// ActAt is when to do what is advised. PushStops is where the push error
	// will end then, with its range; null for steps without push times.
	ActAt         *Time    `json:"act_at,omitempty"`
	PushStops     *float64 `json:"push_stops,omitempty"`
	PushLowStops  *float64 `json:"push_low_stops,omitempty"`
	PushHighStops *float64 `json:"push_high_stops,omitempty"`
	StoodS        *float64 `json:"stood_s,omitempty"` // the tank stood still, turning by hand taken off
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
	Process   string  `json:"process,omitempty"`
	Push      float64 `json:"push,omitempty"`
	Film      string  `json:"film,omitempty"`
	Format    string  `json:"format,omitempty"`
	Order     string  `json:"order,omitempty"`
	DueAt     *Time   `json:"due_at,omitempty"`
	Note      string  `json:"note,omitempty"`
	// PushErrorStops is what the roll got against the push it wanted itself,
	// where it was in a run of its own process.
	PushErrorStops *float64 `json:"push_error_stops,omitempty"`
	// Decision is what a person decided about this roll; null where the run's
	// decision counts for it.
	Decision *Decision `json:"decision,omitempty"`
}

// Decision is what a person decided about a run, or about some rolls of it.
type Decision struct {
	Decision string `json:"decision"`
	Note     string `json:"note,omitempty"`
	By       string `json:"by"`
	At       Time   `json:"at"`
	ToldAt   *Time  `json:"customer_told_at,omitempty"`
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
