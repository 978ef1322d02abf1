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

	"wetside/internal/monitor"
	"wetside/internal/postgres"
	"wetside/internal/simulation/demo"
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
	p := monitor.New(monitor.Config{
		Broker: monitor.Embedded, Database: monitor.Embedded, Listen: c.Listen, MQTTListen: "127.0.0.1:0", Data: data,
		Version: version(), ExampleRun: demo.ExampleRun, Log: quiet(s), EndWithProcess: true,
		NoTrials: true, // nobody waits a week to see what it does
		Prepare:  func(ctx context.Context, store *postgres.Store) error { return who.prepare(ctx, store) },
	})
	phone, err := demo.NewPhone(s.out)
	if err != nil {
		return err
	}
	defer phone.Close()
	fmt.Fprintln(s.out, "wetside demo: a lab that does not exist, with all the rest real.")
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	var parts sync.WaitGroup
	parts.Go(func() { cancel(p.Run(ctx)) })
	select {
	case <-p.Up():
		open := func(ctx context.Context) (*postgres.Store, error) {
			return monitor.OpenStore(ctx, p.DatabaseURL(), slog.New(slog.DiscardHandler), "wetside demo")
		}
		if err := furnish(ctx, open, phone, who.name, p.URL()); err != nil {
			cancel(err)
			break
		}
		parts.Go(func() {
			if err := demo.Publish(ctx, p.BrokerURL()); err != nil {
				cancel(err)
			}
		})
		who.print(s.out, p.URL())
		parts.Go(func() { demo.BringHistory(ctx, open, s.out) })
	case <-ctx.Done():
	}
	<-ctx.Done()
	parts.Wait()
	if err := context.Cause(ctx); err != nil && !errors.Is(err, context.Canceled) {
		return asUsage(err)
	}
	return nil
}

// furnish sets the lab up, with its phone.
func furnish(ctx context.Context, open func(context.Context) (*postgres.Store, error), phone *demo.Phone, person, board string) error {
	store, err := open(ctx)
	if err != nil {
		return err
	}
	defer store.Close()
	return phone.Furnish(ctx, store, person, board)
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
	return demo.AcceptUnits(ctx, store)
}

func (w *signIn) print(out io.Writer, url string) {
	fmt.Fprintf(out, "\n  The board:  %s\n  Sign in:    %s\n  Password:   %s\n\n", url, w.name, w.password)
	fmt.Fprintln(out, "Six simulated units are at work. Watch plover's developer, avocet's waste tank and dunlin's power in the next three minutes.")
	fmt.Fprintln(out, "Pages to the one person on call are printed here, each with the link that a phone would open.")
	fmt.Fprintln(out, "Interrupt (Ctrl-C) to end.")
}
