package postgres_test

import (
	"encoding/json"
	"testing"

	"wetside/internal/lab"
)

func mixLine(id string, version int, lot, why string) lab.BookLine {
	b, _ := json.Marshal(lab.Mix{Solution: "c41/developer", Lot: lot, VolumeL: 5, MixedBy: "Mina"})
	return lab.BookLine{Book: lab.BookMixes, ID: id, Version: version, At: lab.At(noon), By: "Mina", Why: why, Body: b}
}

// A line is corrected by a later version, with the reason; every version stays,
// and nobody overwrites what another wrote meanwhile.
func TestBookKeepsEveryVersion(t *testing.T) {
	t.Parallel()
	store, _, conn := held(t)
	write := func(l lab.BookLine) error {
		_, err := store.WriteLine(t.Context(), l)
		return err
	}
	for _, l := range []lab.BookLine{mixLine("MIX-A", 1, "L1", ""), mixLine("MIX-B", 1, "", ""), mixLine("MIX-A", 2, "L2", "misread"), mixLine("MIX-A", 2, "L2", "misread")} {
		if err := write(l); err != nil {
			t.Fatal(err)
		}
	}
	if err := write(mixLine("MIX-A", 2, "L9", "other")); lab.KindOf(err) != lab.KindConflict {
		t.Errorf("version 2 written twice: %v; want a conflict", err)
	}
	if err := write(mixLine("MIX-A", 3, "L9", "")); lab.KindOf(err) != lab.KindInvalid {
		t.Errorf("corrected without a reason: %v", err)
	}
	lines, err := store.Lines(t.Context(), lab.BookMixes)
	if err != nil {
		t.Fatal(err)
	}
	if len(lines) != 2 || len(lines[0]) != 2 || lab.LineBody[lab.Mix](lines[0][1]).Lot != "L2" || lab.LineBody[lab.Mix](lines[0][0]).Lot != "L1" {
		t.Errorf("the book has %+v", lines)
	}
	if other, err := store.Lines(t.Context(), lab.BookWaste); err != nil || len(other) != 0 {
		t.Errorf("the other book has %d lines: %v", len(other), err)
	}
	for _, q := range []string{`UPDATE book_lines SET by = 'x'`, `DELETE FROM book_lines`, `TRUNCATE book_lines`} {
		if _, err := conn.Exec(t.Context(), q); err == nil {
			t.Errorf("%s went through", q)
		}
	}
}

func TestChemistrySettingsAreKept(t *testing.T) {
	t.Parallel()
	store, _, _ := held(t)
	if s, err := store.ChemistrySettings(t.Context()); err != nil || len(s.Limits) != 0 {
		t.Errorf("nothing set: %+v %v", s, err)
	}
	days := 30.0
	want := lab.ChemistrySettings{Limits: []lab.MixLimit{{Solution: "c41/developer", Days: &days, Source: "leaflet"}}}
	if err := store.SetChemistrySettings(t.Context(), want, "Mina"); err != nil {
		t.Fatal(err)
	}
	if s, err := store.ChemistrySettings(t.Context()); err != nil || *s.Limits[0].Days != 30 {
		t.Errorf("%+v %v", s, err)
	}
	if err := store.SetChemistrySettings(t.Context(), lab.ChemistrySettings{Limits: []lab.MixLimit{{Solution: "x"}}}, "Mina"); lab.KindOf(err) != lab.KindInvalid {
		t.Errorf("a solution without a step: %v", err)
	}
}
