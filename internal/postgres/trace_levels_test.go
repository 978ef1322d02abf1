package postgres_test

import (
	"fmt"
	"testing"
	"time"

	"wetside/ingest"
	"wetside/internal/lab"
	"wetside/internal/postgres"
	"wetside/internal/postgres/pgtest"
)

// TestLevelsAreThinnedOut: the last of each stretch stays, within the span
// asked for, and no more than asked for.
func TestLevelsAreThinnedOut(t *testing.T) {
	store, ctx := pgtest.Store(t, postgres.Config{URL: pgtest.New(t), Decode: ingest.Decode}), t.Context()
	unit := lab.UnitID{Lab: "tern-street", Unit: "plover"}
	from := time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)
	var msgs []lab.Message
	for i := range 120 {
		at := from.Add(time.Duration(i) * 30 * time.Second)
		m, err := ingest.Decode(lab.Raw{Topic: lab.Topic(unit, lab.ChannelTank), Received: at,
			Payload: fmt.Appendf(nil, `{"at":%q,"boot":"b1","seq":%d,"levels_l":{"waste":%d}}`, at.Format(time.RFC3339), i+1, i)})
		if err != nil {
			t.Fatal(err)
		}
		msgs = append(msgs, m)
	}
	if _, err := store.Import(ctx, msgs, nil); err != nil {
		t.Fatal(err)
	}
	got, err := store.Levels(ctx, unit, from, from.Add(time.Hour), 10)
	if err != nil || len(got) != 10 || got[0].LevelsL["waste"] != 11 || got[9].LevelsL["waste"] != 119 {
		t.Errorf("%d points, %+v, %v; want 10, each the last of six minutes", len(got), got, err)
	}
	if got, err = store.Levels(ctx, unit, from.Add(10*time.Minute), from.Add(11*time.Minute), 2000); err != nil || len(got) != 2 {
		t.Errorf("a minute: %+v, %v", got, err)
	}
}

// What a unit said with a clock that is wrong is in its trace at the time of
// arrival, wherever its clock said that it was (contract, section 1, Clocks).
func TestTraceOfAWrongClock(t *testing.T) {
	store, ctx := pgtest.Store(t, postgres.Config{URL: pgtest.New(t), Decode: ingest.Decode}), t.Context()
	unit := lab.UnitID{Lab: "tern-street", Unit: "plover"}
	from := time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)
	if err := store.EnsurePartitions(ctx, from.AddDate(0, 0, -2), from.AddDate(0, 0, 7)); err != nil {
		t.Fatal(err)
	}
	var msgs []lab.Message
	for i, said := range []time.Time{
		time.Unix(60, 0), time.Date(2019, 12, 31, 23, 59, 59, 0, time.UTC), // before 2020
		from.Add(24*time.Hour + 2*time.Minute + 1*time.Millisecond), from.AddDate(0, 0, 3), from.AddDate(1, 0, 0), time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC), // over a day ahead
		from.Add(6 * time.Minute), // right
	} {
		m, err := ingest.Decode(lab.Raw{Topic: lab.Topic(unit, lab.ChannelTemp), Received: from.Add(time.Duration(i) * time.Minute),
			Payload: fmt.Appendf(nil, `{"at":%q,"boot":"b1","seq":%d,"bath_c":38}`, said.UTC().Format("2006-01-02T15:04:05.000Z"), i+1)})
		if err != nil {
			t.Fatal(err)
		}
		if m.AtReplaced != (i < 6) {
			t.Fatalf("%v: replaced %v", said, m.AtReplaced)
		}
		msgs = append(msgs, m)
	}
	if _, err := store.Import(ctx, msgs, nil); err != nil {
		t.Fatal(err)
	}
	got, err := store.Trace(ctx, unit, from, from.Add(7*time.Minute))
	if err != nil || len(got) != len(msgs) {
		t.Fatalf("%d points, %v; want %d", len(got), err, len(msgs))
	}
	for i, p := range got {
		if !p.At.Equal(from.Add(time.Duration(i) * time.Minute)) {
			t.Errorf("point %d is at %v", i, p.At)
		}
	}
	if got, err = store.Trace(ctx, unit, from.Add(time.Minute), from.Add(3*time.Minute)); err != nil || len(got) != 2 {
		t.Errorf("two minutes of it: %d points, %v", len(got), err)
	}
}
