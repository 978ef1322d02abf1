package postgres_test

import (
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/postgres"
	"wetside/internal/postgres/pgtest"
)

// TestHouseIsKeptWithWhoChangedIt: what does not check is not stored, and the
// record of changes cannot be altered.
func TestHouseIsKeptWithWhoChangedIt(t *testing.T) {
	store, ctx := pgtest.Store(t, postgres.Config{URL: pgtest.New(t)}), t.Context()
	if h, err := store.LabSettings(ctx); err != nil || h.TimeZone != "" {
		t.Fatalf("a new lab has %+v, %v", h, err)
	}
	if err := store.SetLabSettings(ctx, lab.LabSettings{TimeZone: "Nowhere"}, "Wren"); lab.KindOf(err) != lab.KindInvalid {
		t.Fatalf("an unknown time zone: %v", err)
	}
	want := lab.LabSettings{TimeZone: "Europe/Dublin", Closed: true, ClosedUntil: lab.AtPtr(time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)), ClosedBy: "Wren"}
	if err := store.SetLabSettings(ctx, want, "Wren"); err != nil {
		t.Fatal(err)
	}
	if err := store.SetUnit(ctx, lab.UnitSetting{Unit: "tern-street/plover", Name: "Plover", Standing: lab.UnitAccepted}, "Robin"); err != nil {
		t.Fatal(err)
	}
	got, err := store.LabSettings(ctx)
	if err != nil || !got.Closed || got.ClosedUntil == nil || !got.ClosedUntil.Equal(want.ClosedUntil.Time) {
		t.Errorf("got %+v, %v", got, err)
	}
	for key, by := range map[string]string{lab.LabSettingsKey: "Wren", lab.UnitKey("tern-street/plover"): "Robin"} {
		changes, err := store.SettingChanges(ctx, key, 10)
		if err != nil || len(changes) != 1 || changes[0].By != by || changes[0].Key != key {
			t.Errorf("changes of %s: %+v, %v", key, changes, err)
		}
	}
	if all, err := store.SettingChanges(ctx, "", 10); err != nil || len(all) != 2 || all[0].By != "Robin" {
		t.Errorf("all changes: %+v, %v", all, err)
	}
}

// TestAlertsForAPeriod: what was noticed in it or stood open in it, and no
// other.
func TestAlertsForAPeriod(t *testing.T) {
	store, ctx := pgtest.Store(t, postgres.Config{URL: pgtest.New(t)}), t.Context()
	from := time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)
	add := func(id string, raised time.Duration, state lab.AlertState, held string) {
		a := lab.StoredAlert{Alert: lab.Alert{ID: id, Rule: "clock-off", Unit: "tern-street/plover", Priority: lab.Low, State: state, Occurrence: 1,
			RaisedAt: lab.At(from.Add(raised)), NoticedAt: lab.At(from.Add(raised)), Held: held}, Key: id, FirstID: id, LastOccID: id}
		if err := store.CommitImported(ctx, lab.Commit{AlertKeys: []string{id}, Apply: func([]lab.StoredAlert, time.Time) ([]lab.StoredAlert, []lab.AlertEvent, []lab.Page) {
			return []lab.StoredAlert{a}, nil, nil
		}}); err != nil {
			t.Fatal(err)
		}
	}
	add("before", -time.Hour, lab.Closed, "")
	add("open since before", -time.Hour, lab.Unacknowledged, lab.HeldChattering)
	add("within", time.Minute, lab.Closed, "")
	add("after", 2*time.Hour, lab.Unacknowledged, "")
	got, err := store.AlertsFor(ctx, from, from.Add(time.Hour))
	if err != nil || len(got) != 2 || got[0].ID != "open since before" || got[1].ID != "within" || got[0].Held != lab.HeldChattering {
		t.Errorf("got %+v, %v", got, err)
	}
	if pages, err := store.SentPages(ctx, from, from.Add(time.Hour)); err != nil || len(pages) != 0 {
		t.Errorf("pages: %v, %v", pages, err)
	}
}

// TestRulesInUse: the first time stands, through a new start too; another lab
// and another rule begin by themselves.
func TestRulesInUse(t *testing.T) {
	url, clock := pgtest.New(t), labtest.NewClock(time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC))
	began := clock.Now()
	store, ctx := pgtest.Store(t, postgres.Config{URL: url, Clock: clock}), t.Context()
	if u, err := store.RulesInUse(ctx, nil, []string{"fill-slow"}); err != nil || len(u) != 0 {
		t.Fatalf("no lab: %v, %v", u, err)
	}
	if u, err := store.RulesInUse(ctx, []string{"tern-street"}, []string{"fill-slow"}); err != nil || !u["tern-street"]["fill-slow"].Equal(began) {
		t.Fatalf("its first day: %v, %v", u, err)
	}
	clock.Advance(24 * time.Hour)
	again := pgtest.Store(t, postgres.Config{URL: url, Clock: clock})
	u, err := again.RulesInUse(ctx, []string{"tern-street", "quay-lane"}, []string{"fill-slow", "strip-out"})
	if err != nil || !u["tern-street"]["fill-slow"].Equal(began) || !u["tern-street"]["strip-out"].Equal(clock.Now()) || !u["quay-lane"]["fill-slow"].Equal(clock.Now()) {
		t.Errorf("a day later: %v, %v", u, err)
	}
}

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
