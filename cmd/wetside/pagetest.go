package main

import (
	"context"
	"fmt"
	"log/slog"
	"time"

	"wetside/internal/monitor"
)

type pageTestCmd struct {
	Name   string        `arg:"" placeholder:"NAME" help:"Whom to test, by the name they sign in with."`
	Within time.Duration `default:"1m" placeholder:"TIME" help:"How long to wait for the answer. Default: ${default}"`
	databaseFlags
}

// Help implements kong.HelpProvider.
func (*pageTestCmd) Help() string {
	return `The running wetside sends a test by each contact method of the person; this command says how each went, and fails where one did not get through.`
}

// Run implements the command.
func (c *pageTestCmd) Run(ctx context.Context, s streams) error {
	store, done, err := c.open(ctx, slog.New(slog.DiscardHandler), false)
	if err != nil {
		return err
	}
	defer done()
	ids, err := monitor.AskTests(ctx, store, c.Name)
	if err != nil {
		return asUsage(err)
	}
	tests, err := monitor.AwaitTests(ctx, store, c.Name, ids, c.Within)
	if err != nil {
		return err
	}
	bad := 0
	for _, t := range tests {
		word, detail := "not sent", "no answer yet; is wetside serve at work on this database?"
		if n := len(t.Deliveries); n > 0 {
			detail = t.Deliveries[n-1].Detail
		}
		if !t.Message.SentAt.IsZero() {
			word, detail = "sent", "accepted by the other end; that is not yet read by "+c.Name
		} else {
			bad++
		}
		fmt.Fprintf(s.out, "%-8s %-8s %s\n", t.Message.OnlyMethod, word, detail)
	}
	if bad > 0 {
		return fmt.Errorf("%d of %d ways to %s do not work", bad, len(tests), c.Name)
	}
	return nil
}
