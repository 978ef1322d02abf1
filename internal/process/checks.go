package process

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"sync"
	"time"

	"github.com/goccy/go-yaml"

	"wetside/internal/lab"
)

//go:embed checks.yaml
var checksYAML []byte

// Check is one thing to look after on a unit.
type Check struct {
	ID    string `yaml:"id"`
	Label string `yaml:"label"`
	How   string `yaml:"how"`
	Days  int    `yaml:"days"` // how often
	// Source says where the interval is from.
	Source Source `yaml:"source"`
}

// Checks lists what is looked after on each unit.
var Checks = sync.OnceValue(func() []Check {
	var list []Check
	if err := yaml.UnmarshalWithOptions(checksYAML, &list, yaml.Strict()); err != nil {
		panic(fmt.Sprintf("process: the built-in checks do not load: %v", err))
	}
	return list
})

// DueSoon is how long before it is due a check is named: a week, or a quarter
// of its interval where that is less, so that what is done every day is not
// always due soon.
func (c Check) DueSoon() time.Duration {
	return min(7*24*time.Hour, time.Duration(c.Days)*6*time.Hour)
}

// States of a check.
const (
	CheckNever   = "never"    // not done yet
	CheckFine    = "fine"     // done, and not due for a while
	CheckDueSoon = "due-soon" // see Check.DueSoon
	CheckOverdue = "overdue"
	CheckFault   = "fault" // the last one found a fault
)

// CheckState is where one check of a unit stands.
type CheckState struct {
	Check
	Last  *lab.Entry // nil: never
	Done  lab.CheckDone
	DueAt time.Time // zero: never done, so due now
	State string
	// Runs is after how many runs it is due, 0: by days alone. Ran is how many
	// there were since it was done last.
	Runs, Ran int
	// Set: the lab named it in its settings.
	Set bool
}

// CheckEvery is how often a lab does its checks, by their ids: in days, 0 takes
// one out; and after so many runs, whichever comes first. Ran counts the runs of
// the unit since a moment, up to a number; nil: they are not counted.
type CheckEvery struct {
	Days, Runs map[string]int
	Ran        func(since time.Time, most int) int
}

// ToDo tells whether somebody should be sent: the check is overdue or found a
// fault, and the lab does it at all: it was done here before, or is set.
func (s CheckState) ToDo() bool {
	return (s.State == CheckOverdue || s.State == CheckFault || s.State == CheckNever) && (s.Last != nil || s.Set)
}

// CheckStates works out where the checks of a unit stand, from its entries in
// force, oldest first.
func CheckStates(entries []lab.Entry, every CheckEvery, now time.Time) []CheckState {
	var out []CheckState
	for _, c := range Checks() {
		d, set := every.Days[c.ID]
		if set && d != c.Days {
			c.Days, c.Source = d, Source{From: ownWords, Mark: markOwn}
		}
		if c.Days > 0 {
			s := checkStateOf(c, entries, now)
			s.Set, s.Runs = set || every.Runs[c.ID] > 0, every.Runs[c.ID]
			s.countRuns(every.Ran)
			out = append(out, s)
		}
	}
	return out
}

func checkStateOf(c Check, entries []lab.Entry, now time.Time) CheckState {
	s := CheckState{Check: c, State: CheckNever}
	for i := range entries {
		e := &entries[i]
		if done, ok := doneBy(e); ok && done.Check == c.ID && (s.Last == nil || !e.At.Before(s.Last.At)) {
			s.Last, s.Done = e, done
		}
	}
	if s.Last == nil {
		return s
	}
	s.DueAt = s.Last.At.AddDate(0, 0, c.Days)
	switch {
	case !s.Done.OK:
		s.State = CheckFault
	case !s.DueAt.After(now):
		s.State = CheckOverdue
	case s.DueAt.Sub(now) <= c.DueSoon():
		s.State = CheckDueSoon
	default:
		s.State = CheckFine
	}
	return s
}

// countRuns makes a check due by the runs since it was done, where it is not by
// its days.
func (s *CheckState) countRuns(ran func(time.Time, int) int) {
	if s.Runs == 0 || s.Last == nil || ran == nil {
		return
	}
	s.Ran = ran(s.Last.At, s.Runs+1)
	switch {
	case s.State == CheckFault || s.State == CheckOverdue:
	case s.Ran >= s.Runs:
		s.State = CheckOverdue
	case 10*s.Ran >= 9*s.Runs:
		s.State = CheckDueSoon
	}
}

// doneBy reads which check an entry says was done. The offset of a probe is
// itself a check of it.
func doneBy(e *lab.Entry) (lab.CheckDone, bool) {
	switch e.What {
	case lab.EntryCheck:
		var done lab.CheckDone
		return done, json.Unmarshal(e.Body, &done) == nil
	case lab.EntryProbe:
		var p lab.ProbeCheck
		if json.Unmarshal(e.Body, &p) != nil {
			return lab.CheckDone{}, false
		}
		return lab.CheckDone{Check: "probe", OK: true, Value: &p.OffsetC, Note: p.Reference}, true
	}
	return lab.CheckDone{}, false
}
