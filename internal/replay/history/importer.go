// Package history takes history into the store: telemetry through the decoder
// that the live monitor uses, what it means through the same rules in a fold
// of its own, and both into the same tables. It touches nothing of what is
// watched live: no state of a unit, no alert that is open, no page. Done again
// it changes nothing.
//
//	im := history.NewImporter(store, cfg)
//	err := im.Group(ctx, func(each func(lab.Raw) error) error { return replay.Merge(names, each) })
//	n := im.Done()
//
// An Importer belongs to one goroutine; others may use the store meanwhile.
package history

import (
	"context"
	"maps"
	"slices"
	"time"

	"wetside/alerts"
	"wetside/internal/lab"
	"wetside/internal/postgres"
	"wetside/internal/replay"
	"wetside/rules"
)

// Importer takes history into the store. Its fields may be set before the
// first Group.
type Importer struct {
	Batch int                         // messages in one transaction. Defaults to 1,000
	Rest  func(context.Context) error // called after each batch. Defaults to nothing
	Tell  func(Count)                 // told after each batch. Defaults to nobody

	store *postgres.Store
	rules rules.Config
	done  Count
}

// Count counts what an import has done.
type Count struct {
	Lines, New, Copies, Refused int
	Entries                     int // of what people entered, new
	Alerts, Runs                int
}

// NewImporter makes one that judges by cfg.
func NewImporter(store *postgres.Store, cfg rules.Config) *Importer {
	return &Importer{store: store, rules: cfg, Batch: 1000,
		Rest: func(context.Context) error { return nil }, Tell: func(Count) {}}
}

// Done is what was imported so far.
func (i *Importer) Done() Count { return i.done }

// Group imports what source gives, in that order, as one history with a clock
// of its own.
func (i *Importer) Group(ctx context.Context, source func(each func(lab.Raw) error) error) error {
	r := replay.New(i.rules)
	var waiting []lab.Arrival
	flush := func() error {
		if len(waiting) == 0 {
			return nil
		}
		if err := i.write(ctx, waiting); err != nil {
			return err
		}
		waiting = waiting[:0]
		i.Tell(i.done)
		return i.Rest(ctx)
	}
	err := source(func(raw lab.Raw) error {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		i.done.Lines++
		a, ok, err := r.Take(ctx, raw)
		if err != nil || !ok {
			return err
		}
		if waiting = append(waiting, a); len(waiting) < i.Batch {
			return nil
		}
		return flush()
	})
	if err == nil {
		err = flush()
	}
	if err == nil {
		err = r.Finish(ctx)
	}
	if err != nil {
		return err
	}
	return i.commit(ctx, r)
}

// write stores a batch of telemetry.
func (i *Importer) write(ctx context.Context, batch []lab.Arrival) error {
	var msgs []lab.Message
	var refused []lab.Quarantined
	var entries []lab.Entry
	days := map[time.Time]bool{}
	for _, a := range batch {
		if a.Refused != nil {
			refused = append(refused, *a.Refused)
			continue
		}
		if a.Entry != nil {
			entries = append(entries, *a.Entry)
			continue
		}
		msgs = append(msgs, *a.Message)
		if !a.Message.AtReplaced && !a.Message.Will {
			days[a.Message.SentAt.UTC().Truncate(24*time.Hour)] = true
		}
	}
	for _, day := range slices.SortedFunc(maps.Keys(days), time.Time.Compare) {
		if err := i.store.EnsurePartitions(ctx, day, day); err != nil {
			return err
		}
	}
	res, err := i.store.Import(ctx, msgs, refused)
	if err != nil {
		return err
	}
	i.done.New += res.New
	i.done.Copies += res.Copies
	i.done.Refused += res.Quarantined
	entered, err := i.store.ImportEntries(ctx, entries)
	i.done.Entries += entered
	return err
}

// findingsAtOnce bounds a transaction of findings.
const findingsAtOnce = 200

// commit stores what the fold found.
func (i *Importer) commit(ctx context.Context, r *replay.Replay) error {
	found := r.Found()
	for part := range slices.Chunk(found, findingsAtOnce) {
		c := lab.Commit{Apply: historyOf(part)}
		for _, f := range part {
			c.AlertIDs = append(c.AlertIDs, f.ID)
		}
		if err := i.store.CommitImported(ctx, c); err != nil {
			return err
		}
	}
	runs := r.Folded()
	for part := range slices.Chunk(runs, findingsAtOnce) {
		if err := i.store.CommitImported(ctx, lab.Commit{Runs: part}); err != nil {
			return err
		}
	}
	i.done.Alerts += len(found)
	i.done.Runs += len(runs)
	i.Tell(i.done)
	return nil
}

// historyOf makes closed alerts of what is found in history: each occurrence
// is one, noticed afterwards and paged to nobody. An occurrence that an alert
// stands for already is left to it; only an end that was not known is added.
func historyOf(found []alerts.Change) func([]lab.StoredAlert, time.Time) ([]lab.StoredAlert, []lab.AlertEvent, []lab.Page) {
	return func(current []lab.StoredAlert, now time.Time) (out []lab.StoredAlert, events []lab.AlertEvent, _ []lab.Page) {
		for _, c := range found {
			c.FoundAfterwards, c.Was = true, ""
			if at := slices.IndexFunc(current, func(a lab.StoredAlert) bool { return standsFor(a, c.ID) }); at >= 0 {
				a := current[at]
				if a.State == lab.Closed && a.FoundAfterwards && !a.Withdrawn && a.ClearedAt == nil && !c.ClearedAt.IsZero() && a.ID == c.ID {
					out = append(out, closedHistory(c, now))
					events = append(events, lab.AlertEvent{AlertID: a.ID, Occurrence: a.Alert.Occurrence, At: now, What: lab.EventCleared, Note: "imported history"})
				}
				continue
			}
			a := closedHistory(c, now)
			out = append(out, a)
			for _, what := range []string{lab.EventRaised, lab.EventClosed} {
				events = append(events, lab.AlertEvent{AlertID: a.ID, Occurrence: 1, At: now, What: what, Note: "imported history"})
			}
		}
		return out, events, nil
	}
}

func standsFor(a lab.StoredAlert, id string) bool {
	return a.ID == id || a.LastOccID == id || slices.Contains(a.FormerIDs, id)
}

// closedHistory is the alert of one occurrence, closed.
func closedHistory(c alerts.Change, now time.Time) lab.StoredAlert {
	made, _, _ := alerts.Apply(nil, []alerts.Change{c}, now, alerts.Policy{})
	a := made[0]
	a.State = lab.Closed
	return a
}
