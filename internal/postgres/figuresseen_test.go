package postgres_test

import (
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/postgres"
	"wetside/internal/postgres/pgtest"
)

// TestFiguresSeen: what was read stays read, by whoever read it first, and is
// in the record of who changed what; an older lot never takes a newer back.
func TestFiguresSeen(t *testing.T) {
	store, ctx := pgtest.Store(t, postgres.Config{URL: pgtest.New(t)}), t.Context()
	if v, err := store.FiguresSeen(ctx); err != nil || v.Lot != 0 {
		t.Fatalf("never: %+v, %v", v, err)
	}
	at := lab.At(time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC))
	for _, v := range []lab.FiguresSeen{{Lot: 1, By: "Wren", At: at}, {Lot: 1, By: "Robin", At: at}, {Lot: 2, By: "Robin", At: at}, {Lot: 1, By: "Wren", At: at}} {
		if err := store.SetFiguresSeen(ctx, v); err != nil {
			t.Fatal(err)
		}
	}
	if v, err := store.FiguresSeen(ctx); err != nil || v.Lot != 2 || v.By != "Robin" || !v.At.Equal(at.Time) {
		t.Errorf("%+v, %v", v, err)
	}
	changes, err := store.SettingChanges(ctx, lab.FiguresSeenKey, 10)
	if err != nil || len(changes) != 2 || changes[0].By != "Robin" || changes[1].By != "Wren" {
		t.Errorf("changes %+v, %v", changes, err)
	}
}
