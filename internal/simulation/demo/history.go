// Package demo is the invented lab of the demonstration: what its six units do
// live, two weeks of past runs and control strips, and the phone of the one
// person on call. The lab does not exist; all that watches it is real.
//
//	phone, err := demo.NewPhone(out)
//	err = phone.Furnish(ctx, store, "demo", boardURL)
//	go demo.Publish(ctx, brokerURL)
//	demo.BringHistory(ctx, open, out)
//
// Publish, BringHistory and the phone may work at the same time.
package demo

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"time"

	"wetside/internal/lab"
	"wetside/internal/postgres"
	"wetside/internal/replay/history"
	"wetside/internal/service"
	"wetside/internal/simulation/sim"
	"wetside/rules"
)

const (
	seed = 7
	days = 14 // of history
)

// Publish lets the units of the lab work, live, until ctx ends.
func Publish(ctx context.Context, broker string) error {
	start := time.Now()
	l, err := sim.New(sim.Config{Lab: sim.DemoLab, Seed: seed ^ uint64(start.UnixNano()), Start: start, Schedule: sim.DemoPlan(seed, start)})
	if err == nil {
		err = sim.Publish(ctx, sim.PublishConfig{Broker: broker, Log: slog.New(slog.DiscardHandler)}, l)
	}
	if err != nil {
		return fmt.Errorf("the simulated lab: %w", err)
	}
	return nil
}

// The pace of the history: small transactions with a rest after each, so that
// the board feels nothing of it.
const (
	historyBatch = 250
	historyRest  = 60 * time.Millisecond
	historyAfter = 4 * time.Second // the board comes first
)

// BringHistory imports what the lab did in the last two weeks, the newest day
// first. What goes wrong with it is said on out and ends nothing else. Open
// opens the database once the board had its first moments.
func BringHistory(ctx context.Context, open func(context.Context) (*postgres.Store, error), out io.Writer) {
	if !service.Pause(ctx, historyAfter) {
		return
	}
	store, err := open(ctx)
	if err != nil {
		fmt.Fprintln(out, "The past runs do not come in:", err)
		return
	}
	defer store.Close()
	im := history.NewImporter(store, rules.Config{})
	im.Batch = historyBatch
	im.Rest = func(ctx context.Context) error {
		service.Pause(ctx, historyRest)
		return ctx.Err()
	}
	began := time.Now()
	y, m, d := began.Date()
	midnight := time.Date(y, m, d, 0, 0, 0, 0, began.Location())
	for back := range days {
		day := midnight.AddDate(0, 0, -back)
		to := day.AddDate(0, 0, 1)
		if to.After(began) {
			to = began
		}
		before := im.Done()
		if err := importDay(ctx, im, day, to, stripFaults(day, back)...); err != nil {
			if ctx.Err() == nil {
				fmt.Fprintf(out, "The past runs of %s do not come in: %v\n", day.Format(time.DateOnly), err)
			}
			return
		}
		if err := bringStrips(ctx, store, day, back, began); err != nil && ctx.Err() == nil {
			fmt.Fprintf(out, "The control strips of %s do not come in: %v\n", day.Format(time.DateOnly), err)
		}
		fmt.Fprintf(out, "Past runs: %s, %s (%d of %d days)\n", day.Format("Monday 2 January"), runsOf(im.Done().Runs-before.Runs), back+1, days)
	}
	fmt.Fprintf(out, "Past runs: all in, %d runs and %d alerts of two weeks in %s.\n", im.Done().Runs, im.Done().Alerts, time.Since(began).Round(time.Second))
}

func runsOf(n int) string {
	if n == 0 {
		return "no work"
	}
	return fmt.Sprintf("%d runs", n)
}

// importDay imports one day's work of the lab. Each day is a simulation of
// its own, so that the newest need not wait for the others.
func importDay(ctx context.Context, im *history.Importer, day, to time.Time, faults ...sim.Fault) error {
	l, err := sim.History(seed+uint64(day.Unix()/86400), day, to, faults...)
	if err != nil {
		return err
	}
	return im.Group(ctx, func(each func(lab.Raw) error) error {
		for at := day; at.Before(to); {
			if at = at.Add(10 * time.Minute); at.After(to) {
				at = to
			}
			for _, raw := range l.Advance(at) {
				if err := each(raw); err != nil {
					return err
				}
			}
		}
		return nil
	})
}
