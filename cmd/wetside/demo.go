package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"os"
	"strings"
	"sync"
	"time"

	"wetside/internal/lab"
	"wetside/internal/postgres"
	"wetside/internal/simulation/sim"
	"wetside/rules"
	"wetside/web/access"
)

type demoCmd struct {
	Listen string `env:"WETSIDE_LISTEN" placeholder:"ADDR" help:"Where the board is; of this machine only. Default: 127.0.0.1:8080, or a free port where that is taken."`
	Data   string `placeholder:"DIR" help:"Folder to keep the demonstration in. Default: a temporary one, removed at the end."`
}

// Help implements kong.HelpProvider.
func (*demoCmd) Help() string {
	return `Starts a private PostgreSQL, a broker and six simulated processors of an invented lab, and shows them on the board. Two weeks of past runs and control strips come in behind it. Within three minutes a developer drifts out of its limits, a waste tank will not take its run, and a unit comes back from a power cut. Interrupt to end.`
}

const (
	demoSeed = 7
	demoDays = 14 // of history
)

// Run implements the command.
func (c *demoCmd) Run(ctx context.Context, s streams) error {
	if c.Listen == "" {
		c.Listen = usualOrFree(ctx, usualBoard)
	}
	if err := onlyHere(c.Listen); err != nil {
		return usageError{err}
	}
	data, cleanUp, err := c.folder()
	if err != nil {
		return err
	}
	defer cleanUp()
	var who signIn
	p := newProgram(programConfig{
		Broker: embedded, Database: embedded, Listen: c.Listen, MQTTListen: "127.0.0.1:0", Data: data,
		Log: quiet(s), EndWithProcess: true,
		NoTrials: true, // nobody waits a week to see what it does
		Prepare:  func(ctx context.Context, store *postgres.Store) error { return who.prepare(ctx, store) },
	})
	phone, err := newDemoPhone(s.out)
	if err != nil {
		return err
	}
	defer phone.close()
	fmt.Fprintln(s.out, "wetside demo: a lab that does not exist, with all the rest real.")
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	var parts sync.WaitGroup
	parts.Go(func() { cancel(p.Run(ctx)) })
	select {
	case <-p.Up():
		if err := phone.furnish(ctx, p, who.name); err != nil {
			cancel(err)
			break
		}
		parts.Go(func() { simulateLab(ctx, p, cancel) })
		who.print(s.out, p.URL())
		parts.Go(func() { bringHistory(ctx, p, s.out) })
	case <-ctx.Done():
	}
	<-ctx.Done()
	parts.Wait()
	if err := context.Cause(ctx); err != nil && !errors.Is(err, context.Canceled) {
		return asUsage(err)
	}
	return nil
}

// usualBoard is where the demonstration's board is unless that is taken.
const usualBoard = "127.0.0.1:8080"

// usualOrFree gives addr, or any free port of this machine where another
// program listens there.
func usualOrFree(ctx context.Context, addr string) string {
	var lc net.ListenConfig
	l, err := lc.Listen(ctx, "tcp", addr)
	if err != nil {
		return "127.0.0.1:0"
	}
	l.Close()
	return addr
}

// onlyHere refuses addresses that other machines reach: the demonstration's
// broker takes units without keys.
func onlyHere(addr string) error {
	host := addr
	if i := strings.LastIndex(addr, ":"); i >= 0 {
		host = strings.Trim(addr[:i], "[]")
	}
	if host == "localhost" || host == "127.0.0.1" || host == "::1" {
		return nil
	}
	return fmt.Errorf("--listen %s: the demonstration is for this machine only; give 127.0.0.1 and a port, such as 127.0.0.1:8080", addr)
}

func (c *demoCmd) folder() (dir string, cleanUp func(), err error) {
	if c.Data != "" {
		return c.Data, func() {}, nil
	}
	if dir, err = os.MkdirTemp("", "wetside-demo-"); err != nil {
		return "", nil, err
	}
	// The database's own user passes through to folders that only it can enter.
	if err := os.Chmod(dir, 0o711); err != nil {
		return "", nil, err
	}
	return dir, func() { os.RemoveAll(dir) }, nil
}

// signIn is how to sign in to the demonstration.
type signIn struct{ name, password string }

// prepare sets the password and accepts the units: they are not new to this lab.
func (w *signIn) prepare(ctx context.Context, store *postgres.Store) (err error) {
	if w.name, w.password, err = access.DemoPassword(ctx, store); err != nil {
		return err
	}
	known, err := store.UnitSettings(ctx)
	if err != nil {
		return err
	}
	for _, name := range sim.UnitNames(6) {
		unit := lab.UnitID{Lab: sim.DemoLab, Unit: name}.String()
		if _, ok := known[unit]; ok {
			continue
		}
		set := lab.UnitSetting{Unit: unit, Name: strings.ToUpper(name[:1]) + name[1:], Standing: "accepted"}
		if err := store.SetUnit(ctx, set, "demo"); err != nil {
			return err
		}
	}
	return nil
}

func (w *signIn) print(out io.Writer, url string) {
	fmt.Fprintf(out, "\n  The board:  %s\n  Sign in:    %s\n  Password:   %s\n\n", url, w.name, w.password)
	fmt.Fprintln(out, "Six simulated units are at work. Watch plover's developer, avocet's waste tank and dunlin's power in the next three minutes.")
	fmt.Fprintln(out, "Pages to the one person on call are printed here, each with the link that a phone would open.")
	fmt.Fprintln(out, "Interrupt (Ctrl-C) to end.")
}

func simulateLab(ctx context.Context, p *program, end context.CancelCauseFunc) {
	start := time.Now()
	l, err := sim.New(sim.Config{Lab: sim.DemoLab, Seed: demoSeed ^ uint64(start.UnixNano()), Start: start, Schedule: sim.DemoPlan(demoSeed, start)})
	if err == nil {
		err = sim.Publish(ctx, sim.PublishConfig{Broker: p.BrokerURL(), Log: slog.New(slog.DiscardHandler)}, l)
	}
	if err != nil {
		end(fmt.Errorf("the simulated lab: %w", err))
	}
}

// The pace of the history: small transactions with a rest after each, so that
// the board feels nothing of it.
const (
	historyBatch = 250
	historyRest  = 60 * time.Millisecond
	historyAfter = 4 * time.Second // the board comes first
)

// bringHistory imports what the lab did in the last two weeks, the newest day
// first. What goes wrong with it is said and does not end the demonstration.
func bringHistory(ctx context.Context, p *program, out io.Writer) {
	if !pause(ctx, historyAfter) {
		return
	}
	store, err := openStore(ctx, p.DatabaseURL(), slog.New(slog.DiscardHandler), "wetside history")
	if err != nil {
		fmt.Fprintln(out, "The past runs do not come in:", err)
		return
	}
	defer store.Close()
	im := newImporter(store, rules.Config{})
	im.batch = historyBatch
	im.rest = func(ctx context.Context) error {
		pause(ctx, historyRest)
		return ctx.Err()
	}
	began := time.Now()
	y, m, d := began.Date()
	midnight := time.Date(y, m, d, 0, 0, 0, 0, began.Location())
	for back := range demoDays {
		day := midnight.AddDate(0, 0, -back)
		to := day.AddDate(0, 0, 1)
		if to.After(began) {
			to = began
		}
		before := im.done
		if err := importDay(ctx, im, day, to, stripFaults(day, back)...); err != nil {
			if ctx.Err() == nil {
				fmt.Fprintf(out, "The past runs of %s do not come in: %v\n", day.Format(time.DateOnly), err)
			}
			return
		}
		if err := bringStrips(ctx, store, day, back, began); err != nil && ctx.Err() == nil {
			fmt.Fprintf(out, "The control strips of %s do not come in: %v\n", day.Format(time.DateOnly), err)
		}
		fmt.Fprintf(out, "Past runs: %s, %s (%d of %d days)\n", day.Format("Monday 2 January"), runsOf(im.done.Runs-before.Runs), back+1, demoDays)
	}
	fmt.Fprintf(out, "Past runs: all in, %d runs and %d alerts of two weeks in %s.\n", im.done.Runs, im.done.Alerts, time.Since(began).Round(time.Second))
}

func runsOf(n int) string {
	if n == 0 {
		return "no work"
	}
	return fmt.Sprintf("%d runs", n)
}

// importDay imports one day's work of the lab. Each day is a simulation of
// its own, so that the newest need not wait for the others.
func importDay(ctx context.Context, im *importer, day, to time.Time, faults ...sim.Fault) error {
	l, err := sim.History(demoSeed+uint64(day.Unix()/86400), day, to, faults...)
	if err != nil {
		return err
	}
	return im.group(ctx, func(each func(lab.Raw) error) error {
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

// pause waits for d and tells whether ctx is still alive.
func pause(ctx context.Context, d time.Duration) bool {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-timer.C:
		return true
	case <-ctx.Done():
		return false
	}
}
