package postgres_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"wetside/internal/lab"
)

// Late evidence moves the beginning of an alert, and with it its id: history
// and pages stay with it, and the old id still finds it.
func TestMovedAlertKeepsItsHistory(t *testing.T) {
	t.Parallel()
	store, term, _ := held(t)
	a := alert("before", "k", noon)
	a.Episodes = []lab.Episode{{Occurrence: lab.Occurrence{Key: "k", ID: "before", Unit: plover, RaisedAt: noon}, Number: 1, Noticed: noon, Pages: 1}}
	event := lab.AlertEvent{AlertID: "before", Occurrence: 1, At: noon, What: lab.EventRaised}
	commit := func(apply func([]lab.StoredAlert, time.Time) ([]lab.StoredAlert, []lab.AlertEvent, []lab.Page)) {
		t.Helper()
		if err := store.Commit(t.Context(), term, lab.Commit{AlertKeys: []string{"k"}, Apply: apply}); err != nil {
			t.Fatal(err)
		}
	}
	commit(func([]lab.StoredAlert, time.Time) ([]lab.StoredAlert, []lab.AlertEvent, []lab.Page) {
		return []lab.StoredAlert{a}, []lab.AlertEvent{event}, []lab.Page{{AlertID: "before", Occurrence: 1, Priority: lab.Urgent, CreatedAt: noon}}
	})
	commit(func(current []lab.StoredAlert, _ time.Time) ([]lab.StoredAlert, []lab.AlertEvent, []lab.Page) {
		if diff := cmp.Diff(a.Episodes, current[0].Episodes); diff != "" {
			t.Errorf("episodes (-want +got):\n%s", diff)
		}
		moved := current[0]
		moved.ID, moved.FirstID, moved.LastOccID, moved.FormerIDs = "after", "after", "after", []string{"before"}
		return []lab.StoredAlert{moved}, []lab.AlertEvent{{AlertID: "after", Occurrence: 1, At: noon, What: lab.EventMoved}}, nil
	})
	for _, id := range []string{"before", "after"} {
		if got, err := store.Alert(t.Context(), id); err != nil || got.ID != "after" {
			t.Errorf("alert by %q: %q, %v; want \"after\"", id, got.ID, err)
		}
	}
	events, err := store.AlertEvents(t.Context(), "after")
	if err != nil || len(events) != 2 {
		t.Errorf("history: %v, %v; want both entries", events, err)
	}
	if all, err := store.Alerts(t.Context(), lab.AlertFilter{}); err != nil || len(all) != 1 {
		t.Errorf("%d alerts, %v; want one", len(all), err)
	}
}
