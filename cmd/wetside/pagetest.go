package main

import (
	"context"
	"fmt"
	"log/slog"
	"time"

	"wetside/alerts/delivery"
	"wetside/internal/lab"
	"wetside/internal/postgres"
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
	ids, err := makeTests(ctx, store, c.Name)
	if err != nil {
		return asUsage(err)
	}
	tests, err := awaitTests(ctx, store, c.Name, ids, c.Within)
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
		fmt.Fprintf(s.out, "%-8s %-8s %s\n", t.Message.OnlyWay, word, detail)
	}
	if bad > 0 {
		return fmt.Errorf("%d of %d ways to %s do not work", bad, len(tests), c.Name)
	}
	return nil
}

func makeTests(ctx context.Context, store *postgres.Store, name string) ([]string, error) {
	contacts, err := store.Contacts(ctx, name)
	if err != nil {
		return nil, err
	}
	latest, err := store.Tests(ctx, name, 100)
	if err != nil {
		return nil, err
	}
	if err := delivery.MayTest(latest, name, time.Now()); err != nil {
		return nil, err
	}
	key, err := pageKey(ctx, store)
	if err != nil {
		return nil, err
	}
	st, err := store.DutyState(ctx)
	if err != nil {
		return nil, err
	}
	address := ""
	if st.Plan != nil {
		address = st.Plan.Address
	}
	var messages []lab.PageMessage
	var ids []string
	for _, way := range contacts.Usable() {
		m := delivery.TestMessage(key, address, name, way, time.Now().UTC())
		messages, ids = append(messages, m), append(ids, m.ID)
	}
	if len(ids) == 0 {
		return nil, fmt.Errorf("%s has no contact method; give one on the On call page", name)
	}
	return ids, store.TestMessages(ctx, messages, "the command line", "page-test")
}

// awaitTests waits until each test went out or was given up.
func awaitTests(ctx context.Context, store *postgres.Store, name string, ids []string, within time.Duration) ([]lab.PageRecord, error) {
	deadline := time.Now().Add(within)
	for {
		all, err := store.Tests(ctx, name, 100)
		if err != nil {
			return nil, err
		}
		var ours []lab.PageRecord
		waiting := 0
		for _, t := range all {
			for _, id := range ids {
				if t.MessageID == id {
					ours = append(ours, t)
					if t.Message.SentAt.IsZero() && t.Message.DroppedAt.IsZero() && len(t.Deliveries) < 1 {
						waiting++
					}
				}
			}
		}
		if waiting == 0 || time.Now().After(deadline) {
			return ours, nil
		}
		if !pause(ctx, 200*time.Millisecond) {
			return nil, ctx.Err()
		}
	}
}
