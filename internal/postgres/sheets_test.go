package postgres_test

import (
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/postgres"
	"wetside/internal/postgres/pgtest"
)

// TestSheetChanges are kept in their order, with who made them.
func TestSheetChanges(t *testing.T) {
	store, ctx := pgtest.Store(t, postgres.Config{URL: pgtest.New(t)}), t.Context()
	at := time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)
	for i, text := range []string{"id: c41\nname: ours", ""} {
		if err := store.AddSheetChange(ctx, lab.SheetChange{Process: "c41", Text: text, By: "Wren", At: lab.At(at.Add(time.Duration(i) * time.Hour))}); err != nil {
			t.Fatal(err)
		}
	}
	if err := store.AddSheetChange(ctx, lab.SheetChange{Process: "c41", Text: "a\x00b", By: "Wren", At: lab.At(at)}); lab.KindOf(err) != lab.KindInvalid {
		t.Errorf("NUL in a sheet: %v", err)
	}
	got, err := store.SheetChanges(ctx)
	if err != nil || len(got) != 2 || got[0].Text == "" || got[1].Text != "" || got[0].By != "Wren" || !got[1].At.Equal(at.Add(time.Hour)) {
		t.Errorf("got %+v, %v", got, err)
	}
}
