package rules

import (
	"encoding/json"
	"slices"
	"time"

	"wetside/internal/lab"
)

// film is film that a run left wet, in a bath or out of it, and that no run goes
// on with. It stays known, whatever the unit does next, until a run takes it on
// or a person says what was done with it.
type film struct {
	Runs    []filmRun    `json:"runs"` // oldest first; the last left it
	Process string       `json:"process"`
	Push    float64      `json:"push"`
	Steps   []filmStep   `json:"steps"`
	Missed  []string     `json:"missed,omitempty"`
	Reasons []filmReason `json:"whys,omitempty"` // of its earlier runs, for the verdict on the last
	Cuts    []filmCut    `json:"cuts,omitempty"`
	FixedT  time.Time    `json:"fixed_t,omitzero"`
	Fixed   bool         `json:"fixed,omitempty"`
	Load    *loaded      `json:"load,omitempty"`
	PushErr *float64     `json:"push_err,omitempty"`
	Verdict *string      `json:"verdict,omitempty"`

	State   string    `json:"state"`
	Step    string    `json:"step,omitempty"`
	N       int       `json:"n,omitempty"`
	Dev     bool      `json:"dev,omitempty"`      // a developer was on it
	Waited  bool      `json:"waited,omitempty"`   // fixed, it waited for a person to take it to the dryer
	Aborted bool      `json:"aborted,omitempty"`  // run-aborted was raised for it: film-stranded would be a second alert
	EndT    time.Time `json:"end_t"`              // when its run was heard last
	LeftT   time.Time `json:"left_t,omitzero"`    // the first message that shows that no run goes on with it
	ActT    time.Time `json:"act_t,omitzero"`     // by when to drain a developer by hand
	TooLate bool      `json:"too_late,omitempty"` // said that this time has passed
	Said    *filmSaid `json:"said,omitempty"`
	Open    []string  `json:"open,omitempty"` // keys of the conditions that tell of it
}

// filmSaid is what a person says was done with the film.
type filmSaid struct {
	What string    `json:"what"`
	T    time.Time `json:"t"`
	By   string    `json:"by,omitempty"`
}

// filmRun is one run of a film. Record is the run's record: when a later run
// changes what became of the film, it is given out again with that.
type filmRun struct {
	lab.FilmRun
	Record json.RawMessage `json:"record,omitempty"`
}

// filmStep is a step that the film has begun; Had, that it was in its bath.
type filmStep struct {
	Index int    `json:"index"`
	ID    string `json:"id"`
	Had   bool   `json:"had,omitempty"`
}

// filmReason is a reason that an earlier run of the film gives.
type filmReason struct {
	lab.Reason
	Level int     `json:"level"`
	Share float64 `json:"share"`
	Also  string  `json:"also,omitempty"`
}

// filmCut is a step that was cut short by the end of its run. A later run of the
// film may give it again.
type filmCut struct {
	Index int     `json:"index"`
	ID    string  `json:"id"`
	TimeS float64 `json:"time_s"`
	WantS float64 `json:"want_s"`
}

// Caps of what is kept of film that was left behind.
const (
	filmsKept      = 3
	filmRunsKept   = 6
	filmRecordMost = 48 << 10 // bytes of an earlier run's record
)

// takesOnS is how long after film was left a run that begins at a later step is
// taken to go on with it, seconds, unless a person says otherwise.
const takesOnS = 3600

// strandedS is how long a unit must be idle before film left in it is told,
// seconds: some say idle for a moment between two phases.
const strandedS = 10

// settled tells whether a person has seen to the film. One that was drained by
// hand is still wet in its tank, but needs no alert.
func (fl *film) settled() bool { return fl.Said != nil }

// away tells whether the film is out of the unit, by what a person said.
func (fl *film) away() bool { return fl.Said != nil && fl.Said.What != lab.FilmDrained }

func (fl *film) last() *filmRun { return &fl.Runs[len(fl.Runs)-1] }

func (fl *film) holds(runID string) bool {
	return slices.ContainsFunc(fl.Runs, func(r filmRun) bool { return r.ID == runID })
}

// had tells whether the film has been in the bath of the sheet's step i.
func (fl *film) had(i int) bool {
	return fl != nil && slices.ContainsFunc(fl.Steps, func(x filmStep) bool { return x.Index == i && x.Had })
}

func (fl *film) begun(i int) bool {
	return fl != nil && slices.ContainsFunc(fl.Steps, func(x filmStep) bool { return x.Index == i })
}

// reached is the highest sheet step that the film had begun, -1 for none.
func (fl *film) reached(inBath bool) int {
	top := -1
	if fl != nil {
		for _, x := range fl.Steps {
			if x.Had || !inBath {
				top = max(top, x.Index)
			}
		}
	}
	return top
}
