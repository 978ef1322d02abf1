package records

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"runtime/debug"
	"slices"

	"wetside/internal/lab"
	"wetside/internal/records/seal"
	"wetside/internal/report"
)

// Reports gives reports of runs. Make it with NewReports. It is safe for
// concurrent use.
type Reports struct{ make reportMaker }

// NewReports makes Reports of what store holds.
func NewReports(store Reader, m Making) (*Reports, error) {
	if err := m.complete(); err != nil {
		return nil, err
	}
	return &Reports{reportMaker{Making: m, store: store}}, nil
}

// Report gives the report of a run: that of its sealed record with what was
// entered since, or one made now where it has no record yet.
func (r *Reports) Report(ctx context.Context, runID string) (lab.Report, error) {
	b, brief, err := r.sealed(ctx, runID)
	if err != nil {
		return lab.Report{}, err
	}
	if brief == nil {
		made, err := r.makeNow(ctx, runID)
		return made.Report, err
	}
	entries, err := r.make.store.EntriesOfRun(ctx, runID)
	if err != nil {
		return lab.Report{}, err
	}
	since := slices.DeleteFunc(slices.Clone(entries), func(e lab.Entry) bool { return e.Arrival <= brief.EntriesTo })
	if len(since) == 0 {
		return brief.Report, nil
	}
	if onlyAdds(entries, since) {
		return withLaterEntries(b, brief, entries, since)
	}
	made, err := r.makeAgain(ctx, b, brief.Report.Run.Seal.Index, since)
	made.Report.Run.Seal = brief.Report.Run.Seal
	return made.Report, err
}

// sealed reads the beginning of a run's record, nil where it has none.
func (r *Reports) sealed(ctx context.Context, runID string) ([]byte, *seal.Record, error) {
	stored, err := r.make.store.Record(ctx, runID)
	if err != nil && lab.KindOf(err) == lab.KindNotFound {
		return nil, nil, nil
	}
	if err != nil {
		return nil, nil, err
	}
	b, err := Unpack(stored)
	if err != nil {
		return nil, nil, err
	}
	brief, err := seal.Brief(b)
	if err != nil {
		return nil, nil, err
	}
	brief.Report.Run.Seal = &lab.SealBrief{SealedAt: lab.At(brief.SealedAt), Index: stored.Leaf, Hash: seal.LeafHash(b).String()}
	return b, brief, nil
}

// makeNow makes the report of a run that has no record yet.
func (r *Reports) makeNow(ctx context.Context, runID string) (report.Made, error) {
	row, err := r.make.store.RunRow(ctx, runID)
	if err != nil {
		return report.Made{}, err
	}
	before, err := r.make.stateBefore(ctx, row)
	if err != nil {
		return report.Made{}, err
	}
	var held []lab.Message
	last, count := int64(0), 0
	err = r.make.store.RunMessages(ctx, row, func(msg lab.Message) error {
		last = max(last, msg.Arrival)
		if count++; count <= partMessages {
			held = append(held, msg)
		}
		return nil
	})
	if err != nil {
		return report.Made{}, err
	}
	if count == 0 {
		return report.Made{}, lab.Errorf(lab.KindNotFound, "run %s: %w, so there is no report of it", runID, errNoTelemetry)
	}
	ev, err := r.make.gather(ctx, row, before, last)
	if err != nil {
		return report.Made{}, err
	}
	if ev.Messages = held; count > partMessages { // too many to hold at once: they are read again
		ev.Messages, ev.Stream = nil, func(each func(lab.Message) error) error {
			return r.make.store.RunMessages(ctx, row, func(msg lab.Message) error {
				if msg.Arrival > last {
					return nil
				}
				return each(msg)
			})
		}
	}
	return r.make.makeReport(ev)
}

// makeAgain makes the report anew from a record, with entries that came later.
func (r *Reports) makeAgain(ctx context.Context, b []byte, leaf int64, later []lab.Entry) (report.Made, error) {
	rec, err := seal.Parse(b)
	if err != nil {
		return report.Made{}, err
	}
	return r.make.makeAgain(rec, r.make.storedParts(ctx, rec.RunID, leaf), later)
}

func (m *reportMaker) makeAgain(rec *seal.Record, read partReader, later []lab.Entry) (report.Made, error) {
	ev, err := m.evidenceOf(rec, read)
	if err != nil {
		return report.Made{}, err
	}
	ev.Entries = append(ev.Entries, later...)
	return m.makeReport(ev)
}

// made gives report and trace of a run.
func (r *Reports) made(ctx context.Context, runID string) (report.Made, error) {
	b, brief, err := r.sealed(ctx, runID)
	if err != nil {
		return report.Made{}, err
	}
	if brief == nil {
		return r.makeNow(ctx, runID)
	}
	return r.makeAgain(ctx, b, brief.Report.Run.Seal.Index, nil)
}

// onlyAdds tells whether what was entered since only adds to what was judged and
// changes nothing of it.
func onlyAdds(all, since []lab.Entry) bool {
	kind := map[string]*lab.EntryKind{}
	for _, e := range all {
		kind[e.ID] = e.Kind()
	}
	return !slices.ContainsFunc(since, func(e lab.Entry) bool {
		k := e.Kind()
		if e.What == lab.EntryTakesBack {
			k = kind[e.Target()]
		}
		return k == nil || !k.LaidOver
	})
}

// withLaterEntries adds to a sealed report what was entered since.
func withLaterEntries(b []byte, rec *seal.Record, all, since []lab.Entry) (lab.Report, error) {
	rep := rec.Report
	row := rowOf(rec)
	row.Run, row.FoldedKind = rep.Run, cmp.Or(rec.FoldedKind, rep.Run.Kind)
	row.Decision = nil // it came from entries, and comes from them again
	rep.Run = row.Stated(all)
	if rep.Run.Rolls == nil {
		rep.Run.Rolls = []lab.Roll{}
	}
	gone := map[string]bool{}
	for _, e := range all {
		gone[e.Target()] = true
	}
	rep.Entries = slices.DeleteFunc(slices.Clone(rep.Entries), func(e lab.Entry) bool { return gone[e.ID] })
	for _, e := range lab.InForce(since) {
		if !gone[e.ID] {
			rep.Entries = append(rep.Entries, e)
		}
	}
	if !slices.ContainsFunc(all, func(e lab.Entry) bool { return e.What == lab.EntrySymptom }) {
		return rep, nil
	}
	evidence, err := seal.EvidenceOf(b)
	if err != nil {
		return rep, fmt.Errorf("record of run %s: %w", rec.RunID, err)
	}
	var ev struct {
		Judging report.Criteria `json:"judging"`
	}
	if err := json.Unmarshal(evidence, &ev); err != nil {
		return rep, fmt.Errorf("record of run %s: %w", rec.RunID, err)
	}
	rep.Seen = ev.Judging.Causes(rep)
	return rep, nil
}

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
	made, err := r.made(ctx, runID)
	if err != nil {
		return err
	}
	if err := report.CSV(w, made.Trace); err != nil {
		return fmt.Errorf("trace of run %s: %w", runID, err)
	}
	return nil
}

// makeReport makes the report. A panic fails this report alone.
func (m *reportMaker) makeReport(ev report.Evidence) (made report.Made, err error) {
	defer func() {
		if r := recover(); r != nil {
			m.Log.Error("making a report failed by a fault of wetside's own", "run", ev.RunName, "unit", ev.Unit, "fault", r, "stack", string(debug.Stack()))
			err = &panicked{fmt.Sprint(r)}
		}
	}()
	if m.beforeJudging != nil {
		m.beforeJudging(ev)
	}
	return report.Make(ev)
}

// panicked is a panic while a report was made: a fault of wetside's own.
type panicked struct{ what string }

func (p *panicked) Error() string { return "a fault of wetside's own: " + p.what }
