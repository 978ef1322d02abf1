package postgres_test

import (
	"testing"

	"wetside/internal/lab"
	"wetside/internal/postgres"
	"wetside/internal/postgres/pgtest"
)

// TestPreferences are a person's own, and those of nobody are not kept.
func TestPreferences(t *testing.T) {
	store, ctx := pgtest.Store(t, postgres.Config{URL: pgtest.New(t)}), t.Context()
	if err := store.CreateUser(ctx, lab.User{Name: "Wren", Role: lab.RoleOperator, PasswordHash: "x"}); err != nil {
		t.Fatal(err)
	}
	if p, err := store.Preferences(ctx, "Wren"); err != nil || p != lab.DefaultPreferences {
		t.Errorf("never chosen: %+v, %v", p, err)
	}
	if err := store.SetLabSettings(ctx, lab.LabSettings{TimeZone: "UTC", Units: &lab.Units{Temperature: "f", Volume: "gal"}}, "Ana"); err != nil {
		t.Fatal(err)
	}
	if p, err := store.Preferences(ctx, "Wren"); err != nil || p.Temperature != "f" || p.Volume != "gal" || p.Theme != lab.DefaultPreferences.Theme {
		t.Errorf("never chosen, in a lab that reads degrees Fahrenheit and gallons: %+v, %v", p, err)
	}
	want := lab.Preferences{Theme: "dark", Temperature: "f", Volume: "gal", Sound: "urgent", Spoken: true}
	if err := store.SetPreferences(ctx, "Wren", want); err != nil {
		t.Fatal(err)
	}
	if p, err := store.Preferences(ctx, "Wren"); err != nil || p != want {
		t.Errorf("got %+v, %v", p, err)
	}
	if err := store.SetPreferences(ctx, "nobody", want); err == nil {
		t.Error("preferences of nobody were kept")
	}
	want.Volume = "bucket"
	if err := store.SetPreferences(ctx, "Wren", want); lab.KindOf(err) != lab.KindInvalid {
		t.Errorf("an unknown measure: %v", err)
	}
}
