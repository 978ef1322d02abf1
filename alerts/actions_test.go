package alerts

import (
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
)

func TestAcknowledgingTwice(t *testing.T) {
	s := newScene(t)
	s.apply(occ("a", 1, 0))
	s.ack("a", "ada")
	if a := s.ack("a", "ben"); a.AcknowledgedBy != "ada" {
		t.Errorf("acknowledged by %q; want the first, ada", a.AcknowledgedBy)
	}
	if len(s.told) != 1 {
		t.Errorf("told of %v; want one change", s.told)
	}
	s.apply(occ("a", 1, 2))
	s.ack("a", "ada") // the same person again: no failure
	_, err := s.actions.Acknowledge(t.Context(), "a", "ben", "")
	if lab.KindOf(err) != lab.KindConflict || !strings.Contains(err.Error(), "ada acknowledged it at 2026-03-01T09:00:00.000Z") {
		t.Errorf("a closed alert: %v", err)
	}
	_, events, _ := s.store.Stored()
	for _, e := range events {
		if e.What == lab.EventAcknowledged && (e.By != "ada" || e.Note != "seen" || !e.At.Equal(nine)) {
			t.Errorf("history says %+v", e)
		}
	}
}

func TestDeskRefuses(t *testing.T) {
	s := newScene(t)
	s.apply(occ("a", 1, 0), occ("gone", 1, 0, func(c *Change) { c.Key = "other" }))
	s.apply(occ("gone", 1, 0, func(c *Change) { c.Key, c.Withdrawn = "other", true }))
	ctx := t.Context()
	long := strings.Repeat("x", maxText+1)
	for _, c := range []struct {
		name string
		do   func() (lab.Alert, error)
		kind lab.Kind
		text string
	}{
		{"no time", func() (lab.Alert, error) { return s.actions.Shelve(ctx, "a", "ada", 0, "probe") }, lab.KindInvalid, "must be 1 to 480"},
		{"over a shift", func() (lab.Alert, error) { return s.actions.Shelve(ctx, "a", "ada", 481, "probe") }, lab.KindInvalid, "481"},
		{"no reason", func() (lab.Alert, error) { return s.actions.Shelve(ctx, "a", "ada", 5, " ") }, lab.KindInvalid, "reason is missing"},
		{"long reason", func() (lab.Alert, error) { return s.actions.Shelve(ctx, "a", "ada", 5, long) }, lab.KindInvalid, "reason must"},
		{"long note", func() (lab.Alert, error) { return s.actions.Acknowledge(ctx, "a", "ada", long) }, lab.KindInvalid, "note must"},
		{"nobody", func() (lab.Alert, error) { return s.actions.Acknowledge(ctx, "a", "", "") }, lab.KindInvalid, "sign in"},
		{"no such", func() (lab.Alert, error) { return s.actions.Acknowledge(ctx, "z", "ada", "") }, lab.KindNotFound, `"z"`},
		{"withdrawn", func() (lab.Alert, error) { return s.actions.Acknowledge(ctx, "gone", "ada", "") }, lab.KindConflict, "withdrawn"},
		{"shelve closed", func() (lab.Alert, error) { return s.actions.Shelve(ctx, "gone", "ada", 5, "probe") }, lab.KindConflict, "closed"},
		{"unshelve closed", func() (lab.Alert, error) { return s.actions.Unshelve(ctx, "gone", "ada") }, lab.KindConflict, "closed"},
	} {
		if _, err := c.do(); lab.KindOf(err) != c.kind || err == nil || !strings.Contains(err.Error(), c.text) {
			t.Errorf("%s: %v; want kind %d and %q", c.name, err, c.kind, c.text)
		}
	}
	if len(s.told) != 0 {
		t.Errorf("told of %v; want nothing", s.told)
	}
}

func TestShelving(t *testing.T) {
	s := newScene(t)
	s.apply(occ("a", 1, 0))
	a, err := s.actions.Shelve(t.Context(), "a", "ada", 480, " probe is being changed ")
	if err != nil || !a.ShelvedUntil.Equal(nine.Add(8*time.Hour)) || a.ShelvedBy != "ada" || a.ShelvedReason != "probe is being changed" {
		t.Fatalf("shelved %+v, %v", a, err)
	}
	s.apply(occ("a", 1, 2), occ("b", 3, 0)) // the states go on
	s.want(1, "a unacknowledged 2")
	if a, err = s.actions.Unshelve(t.Context(), "a", "ben"); err != nil || a.ShelvedUntil != nil || a.ShelvedBy != "" {
		t.Fatalf("unshelved %+v, %v", a, err)
	}
	if _, err = s.actions.Unshelve(t.Context(), "a", "ben"); err != nil || len(s.told) != 2 {
		t.Fatalf("once more: %v, told of %v", err, s.told)
	}
	s.apply(occ("b", 3, 0))
	s.want(2, "a unacknowledged 2")
}

// Who presses the button of a page after somebody else did changes nothing: the
// first stands.
func TestPagedAcknowledgedBySomebodyBefore(t *testing.T) {
	s := newScene(t)
	s.apply(occ("a", 1, 0, at(lab.Urgent)))
	s.ack("a", "ada")
	a, err := s.actions.AcknowledgeOccurrence(t.Context(), "a", 1, "robin", "")
	if err != nil || a.AcknowledgedBy != "ada" {
		t.Errorf("acknowledged by %q, %v; want ada, who was first", a.AcknowledgedBy, err)
	}
}
