package monitor

import (
	"context"
	"fmt"
	"time"

	"wetside/alerts/delivery"
	"wetside/internal/lab"
	"wetside/internal/postgres"
)

// AskTests asks the running wetside to send a person a test by each of their
// contact methods, and gives the ids of the tests.
func AskTests(ctx context.Context, store *postgres.Store, name string) ([]string, error) {
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
	key, err := pageLinkKey(ctx, store)
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

// testsEvery is how often it is looked whether a test went out.
const testsEvery = 200 * time.Millisecond

// AwaitTests waits until each test went out or was given up.
func AwaitTests(ctx context.Context, store *postgres.Store, name string, ids []string, within time.Duration) ([]lab.PageRecord, error) {
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
		select {
		case <-time.After(testsEvery):
		case <-ctx.Done():
			return nil, ctx.Err()
		}
	}
}
