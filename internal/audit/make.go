package audit

import (
	"context"
	"fmt"

	"wetside/internal/lab"
)

// Made is what the evidence of one run gives.
type Made struct {
	Report   lab.Report
	Trace    []Row    // every reading, for CSV
	Features Features // for later comparisons
}

// Make makes the report of a run.
func Make(ev Evidence) (lab.Report, error) {
	m, err := MakeWhole(ev)
	return m.Report, err
}

// MakeWhole makes the report of a run, its trace and its features.
func MakeWhole(ev Evidence) (made Made, err error) {
	if err := ev.check(); err != nil {
		return Made{}, err
	}
	run, err := fold(context.Background(), &ev)
	if err != nil {
		return Made{}, fmt.Errorf("report of run %s of %s: %w", ev.RunName, ev.Unit, err)
	}
	made.Report.Run = run
	return made, nil
}
