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
	}, map[string]int{"strip": 0, "filters": 14}, now)
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
