package report

import (
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
	"wetside/rules"
)

// A report says of limits that a lab widened that they are its own, beside the
// published ones (Kodak Z-131, table 4-1: 37.8 +/- 0.15 °C), and why.
func TestWidenedLimitsInTheReport(t *testing.T) {
	lib, err := process.NewLibrary(nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	lib, err = lib.With(process.SheetChange{ID: "c41", From: at,
		Body: []byte("id: c41\nsteps:\n  - {id: developer, limits_c: [37.4, 38.2], sources: [{figure: limits_c, from: strips in control}]}\n")})
	if err != nil {
		t.Fatal(err)
	}
	sp := stepsJudgedBy(rules.Config{Book: lib.At(at)}, "c41", nil)
	r := lab.Report{JudgedBy: lab.JudgedBy{Figures: figuresOf(sp)}}
	all := strings.Join(provenanceLines(r), "\n")
	if want := "the lab's own limit; published: 37.65 to 37.95 °C; why: strips in control"; strings.Count(all, want) != 1 {
		t.Errorf("the report says %s; want once %q", all, want)
	}
}
