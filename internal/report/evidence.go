package report

import (
	"encoding/json"
	"time"

	"wetside/internal/lab"
)

// Evidence is everything that the report of one run rests on. Its JSON is
// whole: what was marshalled and read again makes the same report.
type Evidence struct {
	Unit     lab.UnitID `json:"unit"`
	UnitName string     `json:"unit_name,omitempty"`
	// RunName is the run as the unit calls it (lab.Run.Run, not its id).
	RunName string `json:"run_name"`
	// Before is the rules' state of the unit before the run. Where it is nil, or
	// of another version than the rules have now, the replay starts without one.
	Before *State `json:"before,omitempty"`
	// Messages are the unit's from Before (or from a little before the run) to
	// the one that ended the run or later, in any order: they are replayed by
	// arrival number.
	Messages []lab.Message `json:"messages"`
	// Stream gives the messages instead, where they are too many to hold at
	// once: in the order of their arrival numbers, from the first each time it
	// is called. It ends at the first error of each.
	Stream func(each func(lab.Message) error) error `json:"-"`
	// Entries are what people stated of the unit and the run, with their
	// arrival numbers, in any order.
	Entries []lab.Entry `json:"-"`
	// Until is the arrival time at which the record was closed: holes were
	// waited for and a run was given up as lost until then. Zero: no time
	// passes after the last message.
	Until time.Time `json:"until,omitzero"`
	// Criteria is what the run is judged by.
	Criteria Criteria `json:"judging"`
	// GoodRuns are the features of earlier good runs of the unit, as they were
	// frozen; those of another process, push or unit are not compared with,
	// nor is this run itself.
	GoodRuns []Features `json:"good_runs,omitempty"`
	// Alerts are those of the run as they stood when the record was made.
	Alerts []lab.Alert `json:"alerts"` // nil: not known, and the report shows those that the replay gives
	// MadeBy names the program and its version.
	MadeBy string `json:"made_by,omitempty"`
}

// State is a stored state of one unit in the rules, as timeline.Engine gives
// it.
type State struct {
	Version int    `json:"version"`
	Blob    []byte `json:"blob"`
}

// numberedEntry is an entry with its arrival number, which its own JSON leaves out.
type numberedEntry struct {
	Arrival int64 `json:"arrival,omitempty"`
	lab.Entry
}

type evidenceFields Evidence

type evidenceWithEntries struct {
	evidenceFields
	Numbered []numberedEntry `json:"entries,omitempty"`
}

// MarshalJSON writes the evidence with the arrival numbers of its entries.
func (e Evidence) MarshalJSON() ([]byte, error) {
	out := evidenceWithEntries{evidenceFields: evidenceFields(e)}
	for _, x := range e.Entries {
		out.Numbered = append(out.Numbered, numberedEntry{x.Arrival, x})
	}
	return json.Marshal(out)
}

// UnmarshalJSON reads what MarshalJSON wrote.
func (e *Evidence) UnmarshalJSON(b []byte) error {
	var in evidenceWithEntries
	if err := json.Unmarshal(b, &in); err != nil {
		return err
	}
	*e = Evidence(in.evidenceFields)
	e.Entries = nil
	for _, x := range in.Numbered {
		x.Entry.Arrival = x.Arrival
		e.Entries = append(e.Entries, x.Entry)
	}
	return nil
}

// check says what is missing for a report.
func (e *Evidence) check() error {
	switch {
	case !e.Unit.Valid():
		return lab.Errorf(lab.KindInvalid, "evidence names no unit; give lab/unit")
	case e.RunName == "":
		return lab.Errorf(lab.KindInvalid, "evidence of %s names no run; give the run's name on the unit", e.Unit)
	case len(e.Messages) == 0 && e.Stream == nil:
		return lab.Errorf(lab.KindInvalid, "evidence of run %s of %s has no messages; give those of the run", e.RunName, e.Unit)
	}
	for i := range e.Messages {
		if m := &e.Messages[i]; m.Unit != e.Unit {
			return lab.Errorf(lab.KindInvalid, "evidence of %s: message %d is of %s", e.Unit, i+1, m.Unit)
		}
	}
	return nil
}
