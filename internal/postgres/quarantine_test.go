package postgres_test

import (
	"fmt"
	"testing"
	"time"

	"wetside/internal/lab"
)

// A unit that is refused for months keeps its newest messages only, and pushes
// out none of another's.
func TestTrimQuarantine(t *testing.T) {
	t.Parallel()
	store, term, conn := held(t)
	ctx := t.Context()
	refuse := func(u lab.UnitID, n int) {
		t.Helper()
		var list []lab.Quarantined
		for i := range n {
			list = append(list, lab.Quarantined{Received: time.Date(2026, 3, 1, 9, 0, i, 0, time.UTC), Unit: u,
				Topic: "wetside/v1/" + u.String() + "/humidity", Reason: "topic: no such channel", Payload: fmt.Append(nil, i)})
		}
		if _, err := store.Append(ctx, term, nil, list); err != nil {
			t.Fatal(err)
		}
	}
	kept := func(u lab.UnitID) string {
		t.Helper()
		return one[string](t, conn, `SELECT string_agg(convert_from(payload, 'UTF8'), ' ' ORDER BY arrival) FROM quarantine WHERE unit = $1`, u.String())
	}
	refuse(heron, 3)
	refuse(plover, 8)
	refuse(plover, 1) // the first once more: counted beside it
	for _, c := range []struct {
		ofUnit, ofAll int
		dropped       int64
		heron, plover string
	}{
		{8, 11, 0, "0 1 2", "0 1 2 3 4 5 6 7"},
		{5, 11, 3, "0 1 2", "3 4 5 6 7"},
		{5, 6, 2, "2", "3 4 5 6 7"},
	} {
		dropped, err := store.TrimQuarantine(ctx, c.ofUnit, c.ofAll)
		if err != nil || dropped != c.dropped {
			t.Errorf("%d of a unit, %d of all: %d dropped, %v; want %d", c.ofUnit, c.ofAll, dropped, err, c.dropped)
		}
		if h, p := kept(heron), kept(plover); h != c.heron || p != c.plover {
			t.Errorf("%d of a unit, %d of all: kept %s and %s; want %s and %s", c.ofUnit, c.ofAll, h, p, c.heron, c.plover)
		}
	}
	if n := one[int](t, conn, `SELECT count(*) FROM quarantine_again a WHERE NOT EXISTS (SELECT FROM quarantine q WHERE q.arrival = a.first)`); n != 0 {
		t.Errorf("%d notes of messages that are gone", n)
	}
}

// Alike refusals are one row with a count; a unit that makes up ever new ones
// keeps the newest 20, and takes none of another unit's.
func TestRefusals(t *testing.T) {
	t.Parallel()
	store, term, _ := held(t)
	ctx := t.Context()
	at := func(s int) lab.Time { return lab.At(time.Date(2026, 3, 1, 9, 0, s, 0, time.UTC)) }
	add := func(u lab.UnitID, reason string, s int) {
		t.Helper()
		r := lab.Refusal{Unit: u, What: lab.RefusalConnection, Reason: reason, From: "192.168.1.9", FirstAt: at(s), LastAt: at(s), Count: 1}
		if err := store.AddRefusals(ctx, []lab.Refusal{r}); err != nil {
			t.Fatal(err)
		}
	}
	add(heron, "wrong key\x00", 1)
	add(heron, "wrong key\x00", 2)
	for i := range 30 {
		add(plover, fmt.Sprint("made up ", i), i)
	}
	got, _, err := store.Refusals(ctx, heron)
	if err != nil || len(got) != 1 || got[0].Count != 2 || !got[0].FirstAt.Equal(at(1).Time) || !got[0].LastAt.Equal(at(2).Time) {
		t.Errorf("heron: %+v, %v", got, err)
	}
	got, _, err = store.Refusals(ctx, plover)
	if err != nil || len(got) != 20 || got[0].Reason != "made up 29" || got[19].Reason != "made up 10" {
		t.Errorf("plover: %d %+v, %v", len(got), got, err)
	}
	bad := lab.Quarantined{Received: at(5).Time, Topic: "wetside/v1/tern-street/plover/humidity", Reason: "topic: no such channel", Unit: plover, Payload: []byte("{}")}
	if _, err := store.Append(ctx, term, nil, []lab.Quarantined{bad}); err != nil {
		t.Fatal(err)
	}
	if _, refused, err := store.Refusals(ctx, plover); err != nil || len(refused) != 1 || refused[0].Topic != bad.Topic {
		t.Errorf("quarantine of plover: %+v, %v", refused, err)
	}
	if _, refused, err := store.Refusals(ctx, heron); err != nil || len(refused) != 0 {
		t.Errorf("quarantine of heron: %+v, %v", refused, err)
	}
}
