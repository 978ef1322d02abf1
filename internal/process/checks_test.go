package process_test

import (
	"encoding/json"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// TestCheckStates: what was never done, is due, is not, found a fault; the
// latest by its own time counts, in whatever order it was entered.
func TestCheckStates(t *testing.T) {
	now := time.Date(2026, 3, 31, 9, 0, 0, 0, time.UTC)
	entry := func(what string, daysAgo int, body any) lab.Entry {
		b, err := json.Marshal(body)
		if err != nil {
			t.Fatal(err)
		}
		return lab.Entry{What: what, At: now.AddDate(0, 0, -daysAgo), By: "Wren", Body: b}
	}
	done := func(id string, daysAgo int, ok bool) lab.Entry {
		return entry(lab.EntryCheck, daysAgo, lab.CheckDone{Check: id, OK: ok})
	}
	states := process.CheckStates([]lab.Entry{
		done("hoses", 2, true), done("hoses", 40, true), // entered later, done before
		done("float", 25, true), done("battery", 200, true), done("filters", 1, false),
		entry(lab.EntryProbe, 10, lab.ProbeCheck{OffsetC: 0.1}),
		entry(lab.EntryNote, 1, lab.Note{Text: "hoses look fine"}),
	}, process.CheckEvery{Days: map[string]int{"strip": 0, "filters": 14}}, now)
	want := map[string]string{"hoses": process.CheckFine, "float": process.CheckDueSoon, "battery": process.CheckOverdue,
		"filters": process.CheckFault, "probe": process.CheckFine, "pump-volumes": process.CheckNever}
	if len(states) != len(want) {
		t.Errorf("%d checks; want %d, without the one that was taken out", len(states), len(want))
	}
	for _, s := range states {
		if s.State != want[s.ID] {
			t.Errorf("%s is %s; want %s", s.ID, s.State, want[s.ID])
		}
		if s.ID == "hoses" && !s.DueAt.Equal(now.AddDate(0, 0, 28)) {
			t.Errorf("hoses are due at %s", s.DueAt)
		}
		if s.How == "" || s.Label == "" {
			t.Errorf("%s does not say how", s.ID)
		}
	}
}

// A check is due by the runs since it was done where that comes before its days,
// and somebody is sent only where the lab does it at all.
func TestCheckDueByRuns(t *testing.T) {
	now := time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)
	body, _ := json.Marshal(lab.CheckDone{Check: "hoses", OK: true})
	done := lab.Entry{What: lab.EntryCheck, At: now.AddDate(0, 0, -2), By: "Wren", Body: body}
	for _, c := range []struct {
		ran   int
		state string
		toDo  bool
	}{{89, process.CheckFine, false}, {90, process.CheckDueSoon, false}, {99, process.CheckDueSoon, false}, {100, process.CheckOverdue, true}, {101, process.CheckOverdue, true}} {
		ran := func(since time.Time, most int) int {
			if !since.Equal(done.At) || most != 101 {
				t.Errorf("asked for %d runs since %s", most, since)
			}
			return c.ran
		}
		for _, s := range process.CheckStates([]lab.Entry{done}, process.CheckEvery{Runs: map[string]int{"hoses": 100}, Ran: ran}, now) {
			switch {
			case s.ID == "hoses" && (s.State != c.state || s.ToDo() != c.toDo || s.Ran != c.ran):
				t.Errorf("after %d of 100 runs: %s, to do %v", c.ran, s.State, s.ToDo())
			case s.ID != "hoses" && s.ToDo():
				t.Errorf("%s was never done here nor set, and somebody is sent", s.ID)
			}
		}
	}
	for _, s := range process.CheckStates(nil, process.CheckEvery{Days: map[string]int{"filters": 14}}, now) {
		if s.ToDo() != (s.ID == "filters") {
			t.Errorf("%s: to do %v; only filters are set", s.ID, s.ToDo())
		}
	}
}
