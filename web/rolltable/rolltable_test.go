package rolltable

import (
	"testing"
	"time"

	"wetside/internal/process"
)

func TestReadPush(t *testing.T) {
	for said, want := range map[string]float64{"0": 0, "normal": 0, "+1": 1, "1": 1, "\u22121": -1, "-1/3": -1.0 / 3, "1 1/3": 4.0 / 3, "push 2": 2, "Pull 1": -1, "0,5": 0.5, "+1 stop": 1} {
		if got, err := readPush(said); err != nil || got < want-1e-9 || got > want+1e-9 {
			t.Errorf("%q: %g, %v; want %g", said, got, err, want)
		}
	}
	for _, said := range []string{"", "seven", "7", "-6.5", "1/0", "1/-3", "--1", "1 2 3", "NaN", "Inf"} {
		if got, err := readPush(said); err == nil {
			t.Errorf("%q was taken as %g", said, got)
		}
	}
}

// Whatever is pasted, reading it ends in rows or in an error.
func FuzzReadRolls(f *testing.F) {
	for _, s := range []string{"", "48213\n", "twin check,push\n1,+1\n", "a\tb\n\"", "\ufeffroll;due\n1;2026-01-01"} {
		f.Add(s)
	}
	x := Reader{Book: process.Builtin(), Zone: time.UTC}
	f.Fuzz(func(t *testing.T, text string) {
		rows, _, err := Read(text)
		if err != nil {
			return
		}
		for _, row := range rows {
			if k, err := x.Roll(row); err == nil && k.Check() != nil {
				t.Errorf("%q gave %+v", text, k)
			}
		}
	})
}
