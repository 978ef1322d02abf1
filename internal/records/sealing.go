package records

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"wetside/internal/lab"
	"wetside/internal/records/seal"
	"wetside/internal/report"
	"wetside/rules"
)

// sealEntries takes what people entered into the log.
func (w *Worker) sealEntries(ctx context.Context) (did bool, err error) {
	entries, err := w.cfg.Store.EntriesToSeal(ctx, entriesAtOnce)
	if err != nil || len(entries) == 0 {
		return false, err
	}
	now := w.now()
	items := make([]newLeaf, len(entries))
	for i, e := range entries {
		b, err := seal.SealedEntry{SealedAt: now, Entry: e}.Encode()
		if err != nil {
			return true, fmt.Errorf("entry %q: %w", e.ID, err)
		}
		items[i] = newLeaf{kind: seal.KindEntry, subject: e.ID, content: b,
			entry: &lab.StoredEntry{Entry: e.ID, Arrival: e.Arrival, Body: b}}
	}
	return true, w.append(ctx, now, items)
}

func (w *Worker) now() time.Time { return w.cfg.Clock.Now().UTC().Truncate(time.Millisecond) }

// sealRun makes the record of a run, or finds that it needs none.
func (w *Worker) sealRun(ctx context.Context, d lab.RecordDue) error {
	row, err := w.cfg.Store.RunRow(ctx, d.RunID)
	if err != nil && lab.KindOf(err) == lab.KindNotFound || err == nil && row.Outcome == lab.OutcomeRunning {
		return w.cfg.Store.RecordNotNeeded(ctx, d)
	}
	if err != nil {
		return err
	}
	old, err := w.present(ctx, d.RunID)
	if err != nil {
		return err
	}
	draft, err := w.draft(ctx, row, d, old)
	if err != nil {
		return err
	}
	if draft == nil {
		return w.cfg.Store.RecordNotNeeded(ctx, d)
	}
	return w.write(ctx, d, draft)
}

// presentRecord is the record that a run has.
type presentRecord struct {
	*seal.Record
	leaf int64
	hash string
}

// present reads the record that a run has, nil where it has none.
func (w *Worker) present(ctx context.Context, run string) (*presentRecord, error) {
	stored, err := w.cfg.Store.Record(ctx, run)
	if err != nil && lab.KindOf(err) == lab.KindNotFound {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	b, err := Unpack(stored)
	if err != nil {
		return nil, fmt.Errorf("its record was changed, run wetside verify: %w", err)
	}
	rec, err := seal.Parse(b)
	if err != nil {
		return nil, fmt.Errorf("its record was changed, run wetside verify: %w", err)
	}
	return &presentRecord{rec, stored.Leaf, seal.LeafHash(b).String()}, nil
}

// draft is a record before it has its bytes.
type draft struct {
	seal.Record
	features report.Features
}

// draft gathers and judges. It gives nil where no new record is needed.
func (w *Worker) draft(ctx context.Context, row lab.RunRow, d lab.RecordDue, old *presentRecord) (*draft, error) {
	var before *report.State
	switch {
	case d.BeforeState != nil:
		before = &report.State{Version: d.BeforeVersion, Blob: d.BeforeState}
	case old != nil:
		before = stateBeforeIn(old.Record)
	}
	heard := &messageCollector{w: w, ctx: ctx, run: row.ID}
	if err := heard.collect(row, old); err != nil {
		return nil, err
	}
	ev, err := w.make.gather(ctx, row, before, heard.last)
	if err != nil {
		return nil, err
	}
	out := &draft{Record: seal.Record{Head: w.head(row, ev.Entries), Run: row.Run, Entries: ev.Entries, Messages: heard.pending}}
	out.Parts = heard.parts
	read := &pacedReader{w: w, ctx: ctx, read: w.make.storedParts(ctx, row.ID, -1)}
	if err := w.make.fill(&ev, &out.Record, read.part); err != nil {
		return nil, err
	}
	made, err := w.make.makeReport(ev)
	var fault *panicked
	switch {
	case read.err != nil: // it is not the evidence that is to blame
		return nil, read.err
	case err == nil:
	case errors.As(err, &fault), !errors.Is(err, report.ErrTooLong) && w.now().Sub(endOf(row)) < w.cfg.Waits.Gap:
		return nil, fmt.Errorf("its report cannot be made: %w", err)
	default:
		w.cfg.Log.Warn("a run is sealed without a report: none can be made", "run", row.ID, "error", err)
		made = withoutReport(row, err)
	}
	out.Report, out.features = made.Report, made.Features
	if old != nil {
		why := w.whySealAgain(row, out, old)
		if why == "" {
			return nil, heard.dropParts()
		}
		out.Supersedes = &seal.Superseded{Leaf: old.leaf, Hash: old.hash, Why: why}
	}
	return out, out.freeze(ev)
}

func (w *Worker) head(row lab.RunRow, entries []lab.Entry) seal.Head {
	h := seal.Head{RunID: row.ID, SealedAt: w.now(), Program: w.cfg.Program, Judgement: rules.JudgementVersion, Loaded: row.Loaded, FoldedKind: row.FoldedKind, Imported: row.Imported}
	for _, e := range entries {
		h.EntriesTo = max(h.EntriesTo, e.Arrival)
	}
	return h
}

// freeze puts evidence and features into the record.
func (d *draft) freeze(ev report.Evidence) (err error) {
	ev.Messages, ev.Entries = nil, nil
	if d.Evidence, err = json.Marshal(ev); err != nil {
		return fmt.Errorf("evidence of run %s: %w", d.RunID, err)
	}
	if d.Features, err = json.Marshal(d.features); err != nil {
		return fmt.Errorf("figures of run %s: %w", d.RunID, err)
	}
	return nil
}

// withoutReport stands for a report that cannot be made: what was recorded is
// sealed all the same.
func withoutReport(row lab.RunRow, err error) report.Made {
	why := err.Error()
	return report.Made{Report: lab.Report{Run: row.Run, Notes: []string{"No report can be made of the evidence: " + why}}}
}

func endOf(row lab.RunRow) time.Time {
	if row.EndedAt != nil {
		return row.EndedAt.Time
	}
	return row.StartedAt.Time
}

// write seals a draft.
func (w *Worker) write(ctx context.Context, d lab.RecordDue, out *draft) error {
	b, err := out.Encode()
	if err != nil {
		return err
	}
	packed := pack(b)
	sum := sha256.Sum256(packed)
	rec := &lab.StoredRecord{RunID: out.RunID, Unit: out.Run.Unit, Process: out.Run.Process, Push: out.Run.Push,
		StartedAt: out.Run.StartedAt.Time, SealedAt: out.SealedAt, Good: isGood(out.features, out.Run),
		Features: out.Features, Size: len(b), PackedHash: sum[:], Packed: packed}
	if out.Supersedes != nil {
		rec.Supersedes = &out.Supersedes.Leaf
	}
	return w.append(ctx, out.SealedAt, []newLeaf{{kind: seal.KindRun, subject: out.RunID, content: b, record: rec, parts: len(out.Parts),
		sealed: &lab.SealedRun{RunID: d.RunID, Changes: d.Changes}}})
}
