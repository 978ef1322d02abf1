package records

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"slices"

	"wetside/internal/lab"
	"wetside/internal/records/seal"
	"wetside/internal/report"
)

// Reports gives reports of runs. Make it with NewReports. It is safe for
// concurrent use.
type Reports struct{ make maker }

// NewReports makes Reports of what store holds.
func NewReports(store Reader, m Making) (*Reports, error) {
	if err := m.complete(); err != nil {
		return nil, err
	}
	return &Reports{maker{Making: m, store: store}}, nil
}

// Report gives the report of a run: that of its sealed record with what was
// entered since, or one made now where it has no record yet.
func (r *Reports) Report(ctx context.Context, runID string) (lab.Report, error) {
	b, brief, err := r.sealed(ctx, runID)
	if err != nil {
		return lab.Report{}, err
	}
	if brief == nil {
		made, err := r.now(ctx, runID)
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
	if laidOver(entries, since) {
		return withEntries(b, brief, entries, since)
	}
	made, err := r.again(ctx, b, brief.Report.Run.Seal.Index, since)
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

// now makes the report of a run that has no record yet.
func (r *Reports) now(ctx context.Context, runID string) (report.Made, error) {
	row, err := r.make.store.RunRow(ctx, runID)
	if err != nil {
		return report.Made{}, err
	}
	before, err := r.make.before(ctx, row)
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
	return r.make.judge(ev)
}

// again makes the report anew from a record, with entries that came later.
func (r *Reports) again(ctx context.Context, b []byte, leaf int64, later []lab.Entry) (report.Made, error) {
	rec, err := seal.Parse(b)
	if err != nil {
		return report.Made{}, err
	}
	return r.make.again(rec, r.make.storedParts(ctx, rec.RunID, leaf), later)
}

func (m *maker) again(rec *seal.Record, read partReader, later []lab.Entry) (report.Made, error) {
	ev, err := m.evidenceOf(rec, read)
	if err != nil {
		return report.Made{}, err
	}
	ev.Entries = append(ev.Entries, later...)
	return m.judge(ev)
}

// whole gives report and trace of a run.
func (r *Reports) whole(ctx context.Context, runID string) (report.Made, error) {
	b, brief, err := r.sealed(ctx, runID)
	if err != nil {
		return report.Made{}, err
	}
	if brief == nil {
		return r.now(ctx, runID)
	}
	return r.again(ctx, b, brief.Report.Run.Seal.Index, nil)
}

// laidOver tells whether all that was entered since only adds to what was
// judged, and changes nothing of it.
func laidOver(all, since []lab.Entry) bool {
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

// withEntries adds to a sealed report what was entered since.
func withEntries(b []byte, rec *seal.Record, all, since []lab.Entry) (lab.Report, error) {
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
