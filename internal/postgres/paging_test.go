package postgres_test

import (
	"testing"
	"time"

	"wetside/internal/lab"
)

// paged is an alert's page as the outbox has it, taken into a case.
func paged(at time.Time, alert string, occurrence int) lab.CaseChange {
	return lab.CaseChange{
		Case:  lab.PageCase{Group: alert, Priority: lab.Urgent, OpenedAt: at, DueAt: at.Add(time.Hour)},
		Join:  []lab.PageMember{{AlertID: alert, Occurrence: occurrence, Priority: lab.Urgent, Since: at}},
		Pages: []lab.CasePage{{Person: "Wren", Priority: lab.Urgent, NotBefore: at, CreatedAt: at}},
	}
}

// An answer is of what had been paged when it was given: not of a page that
// came after it, nor of a later occurrence.
func TestAnswerIsOfEarlierPages(t *testing.T) {
	t.Parallel()
	store, term, conn := held(t)
	ctx, at := t.Context(), time.Now().UTC().Truncate(time.Millisecond)
	if _, err := conn.Exec(ctx, `SET session_replication_role = replica`); err != nil {
		t.Fatal(err)
	}
	for _, id := range []string{"a", "b", "c"} {
		a := lab.StoredAlert{Alert: lab.Alert{ID: id, Rule: "r", Unit: plover.String(), Priority: lab.Urgent, State: lab.Unacknowledged, Occurrence: 1, RaisedAt: lab.At(at), NoticedAt: lab.At(at)}, Key: id}
		c := lab.Commit{AlertKeys: []string{id}, AlertIDs: []string{id}}
		c.Apply = func([]lab.StoredAlert, time.Time) ([]lab.StoredAlert, []lab.AlertEvent, []lab.Page) {
			return []lab.StoredAlert{a}, nil, nil
		}
		if err := store.Commit(ctx, term, c); err != nil {
			t.Fatal(err)
		}
	}
	_, _, err := store.TakePages(ctx, term, func([]lab.NewPage, []lab.PageCase) []lab.CaseChange {
		return []lab.CaseChange{paged(at, "a", 1), paged(at.Add(time.Minute), "b", 1), paged(at, "c", 2)}
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, id := range []string{"a", "b", "c"} {
		if err := store.AnswerPages(ctx, id, 1, "Robin", at.Add(30*time.Second)); err != nil {
			t.Fatal(err)
		}
	}
	for id, want := range map[string]bool{"a": true, "b": false, "c": false} {
		if got := one[bool](t, conn, `SELECT answered_at IS NOT NULL FROM page_members WHERE alert_id = $1`, id); got != want {
			t.Errorf("%s is answered: %t; want %t", id, got, want)
		}
	}
}

// Tests do not count among the messages that bound a flood: a page after a
// test rings at once.
func TestTestPagesAreNoFlood(t *testing.T) {
	t.Parallel()
	store, term, _ := held(t)
	now := time.Now().UTC()
	test := lab.PageMessage{ID: "t1", Person: "Wren", Priority: lab.High, CreatedAt: now, NextTry: now, OnlyMethod: lab.MethodMail, Body: lab.PageBody{Test: true, Items: []lab.PageItem{}}}
	real := lab.PageMessage{ID: "m1", Person: "Wren", Priority: lab.High, CreatedAt: now, NextTry: now, Body: lab.PageBody{Items: []lab.PageItem{}}}
	if err := store.TestMessages(t.Context(), []lab.PageMessage{test}, "Wren", "page-test"); err != nil {
		t.Fatal(err)
	}
	recent := func() int {
		t.Helper()
		n := -1
		_, _, err := store.ClaimMessage(t.Context(), term, "Wren", now.Add(-time.Hour), func(q lab.PersonQueue) lab.QueueDecision {
			n = len(q.Recent)
			if n == 0 {
				return lab.QueueDecision{New: &real}
			}
			return lab.QueueDecision{}
		})
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	if n := recent(); n != 0 {
		t.Errorf("%d recent pages after a test; want none", n)
	}
	if n := recent(); n != 1 {
		t.Errorf("%d recent pages after a page; want 1", n)
	}
}
