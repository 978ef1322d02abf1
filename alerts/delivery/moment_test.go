package delivery_test

import (
	"context"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"wetside/alerts"
	"wetside/alerts/delivery"
	"wetside/alerts/notify"
	"wetside/internal/lab"
	"wetside/internal/labtest"
)

// ordered gives an alert an order for a moment from now.
func ordered(after time.Duration) func(*alerts.Change) {
	return func(c *alerts.Change) {
		at := time.Now().Add(after)
		c.Response = "Press the button to drain at " + at.UTC().Format("15:04:05") + "."
		c.Facts = map[string]any{"act_at": lab.At(at).String()}
	}
}

// A page says what holds as it is sent: an order with its end, or that its
// moment has passed; what has cleared stands last and orders nothing. A link
// opened later says what holds then.
func TestPagesTellWhatHoldsNow(t *testing.T) {
	t.Parallel()
	l := newLot(t, nil, nil)
	l.raise("plover", lab.Urgent, ordered(time.Hour))
	m := l.mail.next(t, "the page in time")
	if !strings.Contains(m.Body.Text, "Press the button") || !strings.Contains(m.Body.Text, "(Good until ") || m.Body.Until.IsZero() {
		t.Errorf("in time it says %q, until %v", m.Body.Text, m.Body.Until)
	}
	l.raise("heron", lab.Urgent, ordered(-time.Minute))
	m = l.mail.next(t, "the page too late")
	if strings.Contains(m.Body.Text, "Press") || !strings.Contains(m.Body.Text, "has passed") || !m.Body.Until.IsZero() {
		t.Errorf("too late it says %q, until %v", m.Body.Text, m.Body.Until)
	}

	var first alerts.Change
	l.raise("wagtail", lab.Urgent, ordered(time.Hour), func(c *alerts.Change) {
		c.Rule, c.Message = "power-lost", "Mains power lost in developer: turn the tank by hand"
		first = *c
	})
	token := tokenOf(l.mail.next(t, "the page about the mains"))
	first.ClearedAt = time.Now().UTC()
	l.apply(first)
	l.raise("wagtail", lab.Urgent, func(c *alerts.Change) {
		c.Rule, c.Message, c.Response = "power-resumed", "Mains power is back after 1:00", "Extend the developer by 0:20."
	})
	m = l.mail.next(t, "the good news")
	if !strings.HasPrefix(m.Body.Title, "Urgent. Wagtail: Mains power is back") || !strings.HasPrefix(m.Body.Text, "Extend the developer") ||
		strings.Contains(m.Body.Title+m.Body.Text, "turn the tank") || strings.Contains(m.Body.Text, "Press") {
		t.Errorf("with the mains back it says %q: %q", m.Body.Title, m.Body.Text)
	}
	v, err := l.worker.OpenLink(t.Context(), token)
	l.must(err)
	if got := v.Items[0].Alert; !strings.HasPrefix(got.Response, "Cleared at ") || strings.Contains(got.Message, "turn the tank") {
		t.Errorf("the first link says %q: %q", got.Message, got.Response)
	}
}

// When nothing can be done any more, whoever is on the ladder is called once
// and nobody again.
func TestSpentPagesStop(t *testing.T) {
	t.Parallel()
	l := newLot(t, func(p *lab.DutyPlan) {
		p.Urgent, p.RepeatUrgentS = []lab.DutyStep{{Who: lab.WhoFirst}, {Who: lab.WhoSecond, AfterS: 1}}, 10
	}, nil)
	id := l.raise("plover", lab.Urgent, ordered(-time.Minute))
	l.to(l.mail.next(t, "the first page"), "Wren")
	l.to(l.mail.next(t, "the second page"), "Robin")
	labtest.Poll(t, "the case rests", func() bool {
		pages, err := l.roster.AlertPages(t.Context(), id)
		return err == nil && len(pages.Pages) == 2 && pages.Next != nil && time.Until(pages.Next.At.Time) > 30*time.Second
	})
}

// A page that could not be sent says at its next try what holds then, under
// its old id; and once the film has left the bath, nobody further is called.
func TestATryLaterSaysWhatHoldsThen(t *testing.T) {
	t.Parallel()
	var film atomic.Pointer[lab.FilmAt]
	film.Store(&lab.FilmAt{Run: "run-plover", Step: "developer", Label: "Developer"})
	l := newLot(t, func(p *lab.DutyPlan) {
		p.Urgent, p.RetriesS, p.RepeatUrgentS = []lab.DutyStep{{Who: lab.WhoFirst}}, []int{0, 1}, 10
	}, func(c *delivery.Config) {
		c.Film = func(string) lab.FilmAt { return *film.Load() }
	})
	var tried atomic.Pointer[lab.PageMessage]
	l.mail.answer(func(_ context.Context, _ lab.Contacts, m lab.PageMessage) error {
		if tried.CompareAndSwap(nil, &m) { // the film goes on before the next try
			film.Store(&lab.FilmAt{Run: "run-plover", Step: "bleach", Label: "Bleach", Behind: []string{"developer"}})
			return &notify.Error{Outcome: lab.OutcomeFailed, Text: "the mail server is away"}
		}
		return nil
	})
	id := l.raise("plover", lab.Urgent, ordered(time.Hour), func(c *alerts.Change) { c.Step = "developer" })
	m := l.mail.next(t, "the page at its second try")
	first := tried.Load()
	if first.ID != m.ID || !strings.HasPrefix(first.Body.Text, "Press the button") || first.Body.After == "" {
		t.Errorf("first %s said %q, afterwards %q; then %s came", first.ID, first.Body.Text, first.Body.After, m.ID)
	}
	if want := "That bath has ended: the film is in the bleach. Hold the rolls for inspection."; m.Body.Text != want || !m.Body.Until.IsZero() {
		t.Errorf("later it says %q until %v; want %q", m.Body.Text, m.Body.Until, want)
	}
	if m.Body.Link != first.Body.Link || m.Body.Topic != first.Body.Topic {
		t.Errorf("link %q and topic %q; want those of the first try", m.Body.Link, m.Body.Topic)
	}
	labtest.Poll(t, "the case rests", func() bool {
		pages, err := l.roster.AlertPages(t.Context(), id)
		return err == nil && len(pages.Pages) == 1 && pages.Next != nil && time.Until(pages.Next.At.Time) > 30*time.Second
	})
}
