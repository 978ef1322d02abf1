package delivery_test

import (
	"context"
	"fmt"
	"sync"
	"testing"
	"time"

	"wetside/alerts"
	"wetside/alerts/delivery"
	"wetside/alerts/oncall"
	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/postgres"
	"wetside/internal/postgres/pgtest"
)

// post is a contact method that notes what it was given, and does what it is told.
type post struct {
	mu   sync.Mutex
	got  []lab.PageMessage
	news chan lab.PageMessage
	do   func(ctx context.Context, c lab.Contacts, m lab.PageMessage) error
}

func newPost() *post { return &post{news: make(chan lab.PageMessage, 10_000)} }

func (p *post) Send(ctx context.Context, c lab.Contacts, m lab.PageMessage) error {
	p.mu.Lock()
	do := p.do
	p.mu.Unlock()
	if do != nil {
		if err := do(ctx, c, m); err != nil {
			return err
		}
	}
	p.mu.Lock()
	p.got = append(p.got, m)
	p.mu.Unlock()
	p.news <- m
	return nil
}

func (p *post) answer(do func(ctx context.Context, c lab.Contacts, m lab.PageMessage) error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.do = do
}

// lot is a lab with a store, people and a running worker.
type lot struct {
	*testing.T
	store  *postgres.Store
	url    string
	term   int64
	worker *delivery.Worker
	roster *delivery.Roster
	alerts *alerts.Actions
	mail   *post
	push   *post
	n      int
}

var lotKey = []byte("0123456789abcdef0123456789abcdef")

// newLot makes a lab where Wren and Robin are on duty day and night, in this
// order, and Heron can be called too.
func newLot(t *testing.T, edit func(*lab.DutyPlan), cfg func(*delivery.Config)) *lot {
	t.Helper()
	l := lotWithoutPlan(t)
	plan := oncall.Default()
	plan.Hours = []lab.DutyHours{{Days: oncall.Days, From: "00:00", To: "24:00", People: []string{"Wren", "Robin"}}}
	plan.Address = "https://board.tern-street.example"
	plan.Flood.Pages = 0
	if edit != nil {
		edit(&plan)
	}
	l.must(l.store.SetDutyPlan(t.Context(), plan, 0, "test"))
	l.start(cfg)
	return l
}

// lotWithoutPlan is a lab whose worker is not started and where nobody said
// who is called: Wren, Robin and Heron are operators who can be reached.
func lotWithoutPlan(t *testing.T) *lot {
	t.Helper()
	l := &lot{T: t, url: pgtest.New(t), mail: newPost(), push: newPost()}
	l.store = pgtest.Store(t, postgres.Config{URL: l.url})
	l.term = pgtest.Lease(t, l.store)
	for _, name := range []string{"Wren", "Robin", "Heron"} {
		l.must(l.store.CreateUser(t.Context(), lab.User{Name: name, Role: lab.RoleOperator}))
		l.must(l.store.SetContacts(t.Context(), lab.Contacts{Person: name, Methods: []string{lab.MethodMail}, Mail: name + "@tern-street.example"}, "test"))
	}
	return l
}

func (l *lot) start(edit func(*delivery.Config)) {
	l.Helper()
	cfg := delivery.Config{
		Store: l.store, Term: l.term, Methods: map[string]delivery.Method{lab.MethodMail: l.mail, lab.MethodPush: l.push}, Key: lotKey,
	}
	l.alerts = alerts.NewActions(alerts.ActionsConfig{Store: l.store, Changed: func(lab.Alert) { l.worker.Wake() }})
	cfg.Actions = l.alerts
	if edit != nil {
		edit(&cfg)
	}
	w, err := delivery.New(cfg)
	l.must(err)
	l.worker, l.roster = w, w.NewRoster(nil)
	l.must(w.Start(l.Context()))
	l.Cleanup(w.Stop)
}

func (l *lot) must(err error) {
	l.Helper()
	if err != nil {
		l.Fatal(err)
	}
}

// raise makes an alert of a unit and commits it as the worker of the rules
// does; it gives its id.
func (l *lot) raise(unit string, p lab.Priority, edit ...func(*alerts.Change)) string {
	l.Helper()
	l.n++
	now := time.Now().UTC()
	c := alerts.Change{Noticed: now, Occurrence: lab.Occurrence{
		Key: fmt.Sprintf("tern-street/%s|r1|rule-%d", unit, l.n), ID: fmt.Sprintf("alert-%d", l.n), Rule: "bath-temperature",
		Unit: lab.UnitID{Lab: "tern-street", Unit: unit}, RunID: "run-" + unit, Priority: p, RaisedAt: lab.At(now).Time,
		Message: fmt.Sprintf("Developer 0.%d °C too warm", l.n), Consequence: "The film is pushed.", Response: "Check heater and preheat.",
	}}
	for _, f := range edit {
		f(&c)
	}
	l.apply(c)
	return c.ID
}

func (l *lot) apply(changes ...alerts.Change) {
	l.Helper()
	c := lab.Commit{}
	c.AlertKeys, c.AlertIDs = alerts.Refs(changes)
	c.Apply = func(cur []lab.StoredAlert, now time.Time) ([]lab.StoredAlert, []lab.AlertEvent, []lab.Page) {
		return alerts.Apply(cur, changes, now, alerts.Policy{})
	}
	l.must(l.store.Commit(l.Context(), l.term, c))
	l.worker.Wake()
}

// next waits for the next message.
func (p *post) next(t testing.TB, what string) lab.PageMessage {
	t.Helper()
	return labtest.Receive(t, p.news, what)
}

func (l *lot) to(m lab.PageMessage, person string) lab.PageMessage {
	l.Helper()
	if m.Person != person {
		l.Fatalf("the message went to %s; want %s", m.Person, person)
	}
	return m
}
