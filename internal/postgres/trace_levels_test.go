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
