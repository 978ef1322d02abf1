package main

import (
	"context"
	"time"

	"wetside/alerts"
	"wetside/internal/lab"
	"wetside/rules"
	"wetside/rules/timeline"
)

// judge folds telemetry in the order it is given, with a clock that knows no
// time but the arrival times it is shown, and keeps what comes of it.
type judge struct {
	engine *timeline.Engine
	kept   *telemetry
	found  map[string]alerts.Change // by occurrence id
	runs   map[string]lab.Run
	clock  time.Time // the latest arrival
}

func newJudge(cfg rules.Config) *judge {
	return &judge{
		engine: timeline.NewEngine(cfg), kept: newTelemetry(),
		found: map[string]alerts.Change{}, runs: map[string]lab.Run{},
	}
}

// take folds one message and gives it as it arrived; false for a copy.
func (j *judge) take(ctx context.Context, raw lab.Raw) (lab.Arrival, bool, error) {
	if j.clock.IsZero() {
		j.engine.Monitoring(raw.Received)
	} else if err := j.pass(ctx, raw.Received); err != nil {
		return lab.Arrival{}, false, err
	}
	if raw.Received.After(j.clock) {
		j.clock = raw.Received
	}
	a, ok := j.kept.take(raw)
	if !ok {
		return a, false, nil
	}
	return a, true, j.note(j.engine.Feed(ctx, []lab.Arrival{a}, j.kept))
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
func (j *judge) pass(ctx context.Context, to time.Time) error {
	every := lookOften
	for at := j.clock.Add(every); at.Before(to); at = at.Add(every) {
		if err := j.note(j.engine.Tick(ctx, at, j.kept)); err != nil {
			return err
		}
		switch quiet := at.Sub(j.clock); {
		case quiet >= seldomFor:
			at = to
		case quiet >= oftenFor:
			every = lookSeldom
		}
	}
	if !to.After(j.clock) {
		return nil
	}
	return j.note(j.engine.Tick(ctx, to, j.kept))
}

// finish folds what still waits behind a hole. No time passes for it: nothing
// is said of the time after the last line.
func (j *judge) finish(ctx context.Context) error {
	j.engine.Paused(j.clock)
	return j.note(j.engine.Flush(ctx, j.kept))
}

func (j *judge) note(ch timeline.Changes, err error) error {
	if err != nil {
		return err
	}
	for _, o := range ch.Occurrences {
		if o.Was != "" && o.Was != o.ID {
			delete(j.found, o.Was)
		}
		if o.Withdrawn {
			delete(j.found, o.ID)
			continue
		}
		j.found[o.ID] = alertChange(o)
	}
	for _, r := range ch.Runs {
		j.runs[r.ID] = r
	}
	return nil
}

func alertChange(o timeline.OccurrenceChange) alerts.Change {
	return alerts.Change{
		Occurrence: o.Occurrence, Noticed: o.Noticed, FoundAfterwards: o.FoundAfterwards,
		Was: o.Was, Withdrawn: o.Withdrawn,
	}
}
