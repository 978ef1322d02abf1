package postgres_test

import (
	"errors"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"wetside/internal/lab"
	"wetside/internal/postgres"
)

func alert(id, key string, raised time.Time) lab.StoredAlert {
	return lab.StoredAlert{Key: key, FirstID: id, LastOccID: id, FormerIDs: []string{}, Alert: lab.Alert{
		ID: id, Rule: "bath-temperature", Unit: plover.String(), Run: "run-1", Step: "developer", Subject: "bath",
		Priority: lab.Urgent, State: lab.Unacknowledged, Occurrence: 1, RaisedAt: lab.At(raised), NoticedAt: lab.At(raised.Add(time.Second)),
		Message: "m", Consequence: "c", Response: "r", Facts: map[string]any{"high_c": 38.0, "unit": "°C"},
	}}
}

// put commits alerts as they are.
func put(t *testing.T, store *postgres.Store, term int64, alerts ...lab.StoredAlert) {
	t.Helper()
	err := store.Commit(t.Context(), term, lab.Commit{Apply: func([]lab.StoredAlert, time.Time) ([]lab.StoredAlert, []lab.AlertEvent, []lab.Page) {
		return alerts, nil, nil
	}})
	if err != nil {
		t.Fatal(err)
	}
}

func TestCommitWritesAllOrNothing(t *testing.T) {
	t.Parallel()
	store, term, conn := held(t)
	a := alert("a1", "k1", noon)
	event := lab.AlertEvent{AlertID: "a1", Occurrence: 1, At: noon, What: "raised"}
	page := lab.Page{AlertID: "a1", Occurrence: 1, Step: 1, Priority: lab.Urgent, CreatedAt: noon}
	run := lab.Run{ID: "run-1", Unit: plover.String(), Run: "r", Process: "c41", Kind: "film", StartedAt: lab.At(noon), Outcome: "running"}
	c := lab.Commit{AlertKeys: []string{"k1"}, Runs: []lab.Run{run}, States: []lab.UnitState{{Unit: plover, Arrival: 7, Version: 2, Blob: []byte{1, 0, 2}}},
		Apply: func(current []lab.StoredAlert, now time.Time) ([]lab.StoredAlert, []lab.AlertEvent, []lab.Page) {
			if len(current) != 0 {
				t.Errorf("current %v; want none", current)
			}
			return []lab.StoredAlert{a}, []lab.AlertEvent{event}, []lab.Page{page, page}
		}}
	if err := store.Commit(t.Context(), term, c); err != nil {
		t.Fatal(err)
	}
	got, err := store.Alert(t.Context(), "a1")
	if diff := cmp.Diff(a.Alert, got); diff != "" || err != nil {
		t.Errorf("alert: %v (-want +got):\n%s", err, diff)
	}
	events, err := store.AlertEvents(t.Context(), "a1")
	if diff := cmp.Diff([]lab.AlertEvent{event}, events); diff != "" || err != nil {
		t.Errorf("events: %v (-want +got):\n%s", err, diff)
	}
	pages, err := store.WaitingPages(t.Context(), 0)
	if diff := cmp.Diff([]lab.Page{page}, pages); diff != "" || err != nil {
		t.Errorf("pages: %v (-want +got):\n%s", err, diff)
	}
	states, err := store.UnitStates(t.Context())
	if diff := cmp.Diff(c.States, states); diff != "" || err != nil {
		t.Errorf("states: %v (-want +got):\n%s", err, diff)
	}
	if err := store.PageDelivered(t.Context(), page, noon); err != nil {
		t.Fatal(err)
	}
	if pages, err = store.WaitingPages(t.Context(), 0); len(pages) != 0 || err != nil {
		t.Errorf("a delivered page waits: %v, %v", pages, err)
	}

	// one thing that cannot be: nothing of the transaction stays
	c.States[0].Arrival = 8
	c.Runs[0].Outcome = "nonsense"
	c.Apply = func(current []lab.StoredAlert, _ time.Time) ([]lab.StoredAlert, []lab.AlertEvent, []lab.Page) {
		current[0].State = lab.Closed
		return current, nil, nil
	}
	if err := store.Commit(t.Context(), term, c); err == nil || !strings.Contains(err.Error(), "runs_outcome_is_known") {
		t.Errorf("got %v; want the constraint's name", err)
	}
	if n := one[int](t, conn, `SELECT count(*) FROM alerts WHERE state = 'closed'`) + one[int](t, conn, `SELECT count(*) FROM unit_states WHERE arrival = 8`); n != 0 {
		t.Error("half of the transaction stays")
	}
}

// Of a key the open alert counts, else the latest; occurrence ids are found
// by what they are and what they were.
func TestCommitLoadsTheAlertsNamed(t *testing.T) {
	t.Parallel()
	store, term, _ := held(t)
	closed := func(a lab.StoredAlert) lab.StoredAlert { a.State = lab.Closed; return a }
	moved := alert("moved", "k3", noon)
	moved.LastOccID, moved.FormerIDs = "occ-3", []string{"occ-1", "occ-2"}
	put(t, store, term, closed(alert("old", "k1", noon)), closed(alert("older", "k1", noon.Add(-time.Hour))),
		alert("open", "k2", noon), closed(alert("later", "k2", noon.Add(time.Hour))), moved, alert("other", "k4", noon))
	for name, c := range map[string]struct {
		keys, ids []string
		want      string
	}{
		"latest of closed":   {keys: []string{"k1"}, want: "old"},
		"open before later":  {keys: []string{"k2"}, want: "open"},
		"both":               {keys: []string{"k2", "k1", "none"}, want: "old open"},
		"present occurrence": {ids: []string{"occ-3"}, want: "moved"},
		"former occurrence":  {ids: []string{"occ-1"}, want: "moved"},
		"an alert's id":      {ids: []string{"older"}, want: "older"},
		"key and id":         {keys: []string{"k3"}, ids: []string{"occ-2"}, want: "moved"},
		"none":               {want: ""},
	} {
		var got []string
		err := store.Commit(t.Context(), term, lab.Commit{AlertKeys: c.keys, AlertIDs: c.ids,
			Apply: func(current []lab.StoredAlert, _ time.Time) ([]lab.StoredAlert, []lab.AlertEvent, []lab.Page) {
				for _, a := range current {
					got = append(got, a.ID)
				}
				return nil, nil, nil
			}})
		if s := strings.Join(got, " "); s != c.want || err != nil {
			t.Errorf("%s: %q, %v; want %q", name, s, err, c.want)
		}
	}
}

// One transaction may close an alert and open the next of the same condition;
// two open ones cannot be.
func TestOneOpenAlertForACondition(t *testing.T) {
	t.Parallel()
	store, term, _ := held(t)
	first, next := alert("z-first", "k", noon), alert("a-next", "k", noon.Add(time.Hour))
	put(t, store, term, first)
	first.State = lab.Closed
	put(t, store, term, next, first)
	first.State = lab.Acknowledged
	err := store.Commit(t.Context(), term, lab.Commit{Apply: func([]lab.StoredAlert, time.Time) ([]lab.StoredAlert, []lab.AlertEvent, []lab.Page) {
		return []lab.StoredAlert{first}, nil, nil
	}})
	if err == nil || !strings.Contains(err.Error(), "alerts_one_open_for_a_condition") {
		t.Errorf("got %v; want the constraint's name", err)
	}
}

// The worker and people change the same alerts at once: each sees what the
// other did, nothing is lost, nobody waits for ever.
func TestWorkerAndPeopleAtOnce(t *testing.T) {
	t.Parallel()
	store, term, _ := held(t)
	const alerts, rounds = 4, 20
	var all []lab.StoredAlert
	var keys []string
	for i := range alerts {
		all = append(all, alert(fmt.Sprint("a", i), fmt.Sprint("k", i), noon))
		keys = append(keys, fmt.Sprint("k", i))
	}
	put(t, store, term, all...)
	var wg sync.WaitGroup
	wg.Go(func() { // counts occurrences
		for range rounds {
			err := store.Commit(t.Context(), term, lab.Commit{AlertKeys: keys,
				Apply: func(current []lab.StoredAlert, _ time.Time) ([]lab.StoredAlert, []lab.AlertEvent, []lab.Page) {
					for i := range current {
						current[i].Occurrence++
					}
					return current, nil, nil
				}})
			if err != nil {
				t.Error(err)
			}
		}
	})
	for range 2 {
		wg.Go(func() { // count in the note
			for r := range rounds {
				id := fmt.Sprint("a", r%alerts)
				_, err := store.UpdateAlert(t.Context(), id, func(a *lab.StoredAlert) ([]lab.AlertEvent, error) {
					a.ShelvedReason += "x"
					return []lab.AlertEvent{{AlertID: id, Occurrence: a.Occurrence, At: noon, What: "shelved", By: "robin"}}, nil
				})
				if err != nil {
					t.Error(err)
				}
			}
		})
	}
	wg.Wait()
	events := 0
	for i := range alerts {
		a, err := store.Alert(t.Context(), fmt.Sprint("a", i))
		if err != nil || a.Occurrence != 1+rounds || len(a.ShelvedReason) != 2*rounds/alerts {
			t.Errorf("alert %d: occurrence %d, %d notes, %v; want %d, %d", i, a.Occurrence, len(a.ShelvedReason), err, 1+rounds, 2*rounds/alerts)
		}
		e, err := store.AlertEvents(t.Context(), a.ID)
		if err != nil {
			t.Error(err)
		}
		events += len(e)
	}
	if events != 2*rounds {
		t.Errorf("%d history entries; want %d", events, 2*rounds)
	}
}

func TestUpdateAlert(t *testing.T) {
	t.Parallel()
	store, term, conn := held(t)
	put(t, store, term, alert("a1", "k1", noon))
	refusal := lab.Errorf(lab.KindConflict, "it is closed")
	_, err := store.UpdateAlert(t.Context(), "a1", func(a *lab.StoredAlert) ([]lab.AlertEvent, error) {
		a.State = lab.Closed
		return nil, refusal
	})
	if !errors.Is(err, refusal) {
		t.Errorf("got %v; want the refusal", err)
	}
	if _, err := store.UpdateAlert(t.Context(), "none", func(*lab.StoredAlert) ([]lab.AlertEvent, error) { return nil, nil }); lab.KindOf(err) != lab.KindNotFound {
		t.Errorf("got %v; want not found", err)
	}
	before := one[int64](t, conn, `SELECT updated_seq FROM alerts`)
	got, err := store.UpdateAlert(t.Context(), "a1", func(a *lab.StoredAlert) ([]lab.AlertEvent, error) {
		a.State, a.AcknowledgedBy, a.AcknowledgedAt = lab.Acknowledged, "robin", lab.AtPtr(noon)
		return []lab.AlertEvent{{AlertID: "a1", Occurrence: 1, At: noon, What: "acknowledged", By: "robin", Note: "coming"}}, nil
	})
	if err != nil || got.State != lab.Acknowledged || got.UpdatedSeq <= before {
		t.Errorf("got %+v, %v", got, err)
	}
	if _, err := conn.Exec(t.Context(), `UPDATE alert_events SET note = ''`); err == nil {
		t.Error("history can be changed")
	}
	if _, err := conn.Exec(t.Context(), `DELETE FROM alert_events`); err == nil {
		t.Error("history can be deleted")
	}
}

func TestAlertFilter(t *testing.T) {
	t.Parallel()
	store, term, _ := held(t)
	b, c := alert("b", "kb", noon.Add(time.Minute)), alert("c", "kc", noon.Add(2*time.Minute))
	b.State, b.Rule = lab.Closed, "clock-off"
	c.Unit = heron.String()
	put(t, store, term, alert("a", "ka", noon), b, c)
	yes, no := true, false
	for name, f := range map[string]struct {
		lab.AlertFilter
		want string
	}{
		"all":    {lab.AlertFilter{}, "c b a"},
		"open":   {lab.AlertFilter{Open: &yes}, "c a"},
		"closed": {lab.AlertFilter{Open: &no}, "b"},
		"unit":   {lab.AlertFilter{Unit: plover.String()}, "b a"},
		"rule":   {lab.AlertFilter{Rule: "clock-off"}, "b"},
		"since":  {lab.AlertFilter{Since: noon.Add(time.Minute)}, "c b"},
		"limit":  {lab.AlertFilter{Limit: 1}, "c"},
		"capped": {lab.AlertFilter{Limit: 1 << 30}, "c b a"},
	} {
		list, err := store.Alerts(t.Context(), f.AlertFilter)
		var ids []string
		for _, a := range list {
			ids = append(ids, a.ID)
		}
		if got := strings.Join(ids, " "); got != f.want || err != nil {
			t.Errorf("%s: %q, %v; want %q", name, got, err, f.want)
		}
	}
}

// A unit that is set aside keeps its state and carries the mark until a state
// is stored of it again; one without a state begins after the arrival given.
func TestSetAsideKeepsTheState(t *testing.T) {
	t.Parallel()
	store, term, _ := held(t)
	commit := func(c lab.Commit) {
		t.Helper()
		if err := store.Commit(t.Context(), term, c); err != nil {
			t.Fatal(err)
		}
	}
	want := func(list ...lab.UnitState) {
		t.Helper()
		got, err := store.UnitStates(t.Context())
		if diff := cmp.Diff(list, got); diff != "" || err != nil {
			t.Errorf("%v (-want +got):\n%s", err, diff)
		}
	}
	mark := lab.AsideMark{At: noon, Why: "panic: index out of range", Program: "v1"}
	state := lab.UnitState{Unit: plover, Arrival: 7, Version: 2, Blob: []byte{1}}
	commit(lab.Commit{States: []lab.UnitState{state}})
	commit(lab.Commit{Aside: []lab.SetAside{{Unit: plover, From: 3, AsideMark: mark}, {Unit: heron, From: 5, AsideMark: mark}}})
	marked, fresh := state, lab.UnitState{Unit: heron, Arrival: 5, Blob: []byte{}, Aside: &mark}
	marked.Aside = &mark
	want(fresh, marked)
	commit(lab.Commit{States: []lab.UnitState{state}})
	want(fresh, state)
}
