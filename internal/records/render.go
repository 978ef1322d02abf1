package records

import (
	"context"
	"fmt"
	"io"

	"wetside/internal/report"
)

// PDF writes the report of a run as PDF.
func (r *Reports) PDF(ctx context.Context, runID string, w io.Writer) error {
	rep, err := r.Report(ctx, runID)
	if err != nil {
		return err
	}
	if err := report.PDF(w, rep, report.Options{Zone: r.make.Zone, Units: r.make.Units(ctx)}); err != nil {
		return fmt.Errorf("report of run %s as PDF: %w", runID, err)
	}
	return nil
}

// TraceCSV writes every reading of a run, a line each.
func (r *Reports) TraceCSV(ctx context.Context, runID string, w io.Writer) error {
	made, err := r.whole(ctx, runID)
	if err != nil {
		return err
	}
	if err := report.CSV(w, made.Trace); err != nil {
		return fmt.Errorf("trace of run %s: %w", runID, err)
	}
	return nil
}
