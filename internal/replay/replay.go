// Package replay folds captures by the rules with no service at all: what the
// live monitor would have found of the same telemetry, it finds, for it is
// the same decoder and the same fold. The store is memory, and the clock
// knows no time but the arrival times that it is shown.
//
//	groups, lines, err := replay.Survey(ctx, names) // captures that share a unit
//	r := replay.New(cfg)
//	err = replay.Merge(names, func(raw lab.Raw) error { _, _, err := r.Take(ctx, raw); return err })
//	err = r.Finish(ctx)
//	alerts, runs := r.Alerts(), r.Runs()
//
// A Replay and a Telemetry belong to one goroutine each.
package replay

import (
	"cmp"
	"context"
	"maps"
	"slices"
	"time"

	"wetside/alerts"
	"wetside/internal/lab"
	"wetside/rules"
	"wetside/rules/timeline"
)

// Replay folds telemetry in the order it is given and keeps what comes of it.
type Replay struct {
	engine *timeline.Engine
	kept   *Telemetry
	found  map[string]alerts.Change // by occurrence id
	runs   map[string]lab.Run
	clock  time.Time // the latest arrival
}

// New makes one that knows of nothing yet.
func New(cfg rules.Config) *Replay {
	return &Replay{
		engine: timeline.NewEngine(cfg), kept: NewTelemetry(),
		found: map[string]alerts.Change{}, runs: map[string]lab.Run{},
	}
}

// Take folds one message and gives it as it arrived; false for a copy.
func (r *Replay) Take(ctx context.Context, raw lab.Raw) (lab.Arrival, bool, error) {
	if r.clock.IsZero() {
		r.engine.Monitoring(raw.Received)
	} else if err := r.pass(ctx, raw.Received); err != nil {
		return lab.Arrival{}, false, err
	}
	if raw.Received.After(r.clock) {
		r.clock = raw.Received
	}
	a, ok := r.kept.Take(raw)
	if !ok {
		return a, false, nil
	}
	return a, true, r.note(r.engine.Feed(ctx, []lab.Arrival{a}, r.kept))
}

// How the clock goes through a time in which nothing arrives: as often as the
// live worker looks at first, then seldom, and not at all beyond a day, when
// all that silence can prove is proved.
const (
	lookOften  = time.Second
	lookSeldom = time.Minute
	oftenFor   = 10 * time.Minute
	seldomFor  = 24 * time.Hour
)

// pass lets arrival time pass to the arrival of the next message.
func (r *Replay) pass(ctx context.Context, to time.Time) error {
	every := lookOften
	for at := r.clock.Add(every); at.Before(to); at = at.Add(every) {
		if err := r.note(r.engine.Tick(ctx, at, r.kept)); err != nil {
			return err
		}
		switch quiet := at.Sub(r.clock); {
		case quiet >= seldomFor:
			at = to
		case quiet >= oftenFor:
			every = lookSeldom
		}
	}
	if !to.After(r.clock) {
		return nil
	}
	return r.note(r.engine.Tick(ctx, to, r.kept))
}

// Finish folds what still waits behind a hole. No time passes for it: nothing
// is said of the time after the last line.
func (r *Replay) Finish(ctx context.Context) error {
	r.engine.Paused(r.clock)
	return r.note(r.engine.Flush(ctx, r.kept))
}

func (r *Replay) note(ch timeline.Changes, err error) error {
	if err != nil {
		return err
	}
	for _, o := range ch.Occurrences {
		if o.Was != "" && o.Was != o.ID {
			delete(r.found, o.Was)
		}
		if o.Withdrawn {
			delete(r.found, o.ID)
			continue
		}
		r.found[o.ID] = alertChange(o)
	}
	for _, run := range ch.Runs {
		r.runs[run.ID] = run
	}
	return nil
}

func alertChange(o timeline.OccurrenceChange) alerts.Change {
	return alerts.Change{
		Occurrence: o.Occurrence, Noticed: o.Noticed, FoundAfterwards: o.FoundAfterwards,
		Was: o.Was, Withdrawn: o.Withdrawn,
	}
}

// Found are the occurrences that were found and not withdrawn, by raised_at.
func (r *Replay) Found() []alerts.Change {
	return slices.SortedFunc(maps.Values(r.found), func(a, b alerts.Change) int {
		return cmp.Or(a.RaisedAt.Compare(b.RaisedAt), cmp.Compare(a.ID, b.ID))
	})
}

// Folded are the runs as the fold has them, by started_at, without what people
// decided of them: a database lays that over them by itself.
func (r *Replay) Folded() []lab.Run {
	return slices.SortedFunc(maps.Values(r.runs), func(a, b lab.Run) int {
		return cmp.Or(a.StartedAt.Compare(b.StartedAt.Time), cmp.Compare(a.ID, b.ID))
	})
}

// Runs are the runs with what people decided of them.
func (r *Replay) Runs() []lab.Run {
	out := r.Folded()
	for i := range out {
		out[i] = r.kept.decide(out[i])
	}
	return out
}
