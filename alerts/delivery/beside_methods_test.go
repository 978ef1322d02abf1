package delivery_test

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"wetside/alerts/delivery"
	"wetside/alerts/notify"
	"wetside/internal/lab"
	"wetside/internal/labtest"
)

// withPhone gives Wren a browser beside the mail; the browser comes first.
func (l *lot) withPhone() {
	l.Helper()
	_, err := l.store.AddSubscription(l.Context(), lab.PushSubscription{Person: "Wren", Device: "phone", Endpoint: "https://push.example/1", P256dh: "x", Auth: "y"}, "Wren")
	l.must(err)
	l.must(l.worker.Reload(l.Context()))
}

// sent waits until the only page of an alert is sent, and gives its tries.
func (l *lot) sent(id string) []lab.Try {
	l.Helper()
	var tries []lab.Try
	labtest.Poll(l, "the page is shown as sent", func() bool {
		pages, err := l.roster.AlertPages(l.Context(), id)
		if err != nil || len(pages.Pages) == 0 || pages.Pages[0].State != lab.PageSent {
			return false
		}
		tries = pages.Pages[0].Tries
		return true
	})
	return tries
}

// What one contact method took goes out by no further one.
func TestOneWayIsEnough(t *testing.T) {
	t.Parallel()
	l := newLot(t, nil, nil)
	l.withPhone()
	id := l.raise("plover", lab.Urgent)
	l.to(l.push.next(t, "the page on the phone"), "Wren")
	tries := l.sent(id)
	// the next page to Wren comes behind whatever the first one still did
	l.raise("heron", lab.Urgent)
	l.to(l.push.next(t, "the next page on the phone"), "Wren")
	if len(tries) != 1 || tries[0].Method != lab.MethodPush || tries[0].Outcome != lab.OutcomeSent {
		t.Errorf("tried: %+v; want the phone alone", tries)
	}
	select {
	case m := <-l.mail.news:
		t.Errorf("and by mail to %s too", m.Person)
	default:
	}
}

// A contact method that gives no answer delays neither the next one nor the
// next page, and what becomes of it is noted when it is known.
func TestHangingWayDelaysNothing(t *testing.T) {
	t.Parallel()
	l := newLot(t, nil, nil)
	l.withPhone()
	hang := make(chan struct{})
	l.push.answer(func(ctx context.Context, _ lab.Contacts, _ lab.PageMessage) error {
		select {
		case <-hang:
		case <-ctx.Done():
		}
		return errors.New("no answer")
	})
	began := time.Now()
	id := l.raise("plover", lab.Urgent)
	l.to(l.mail.next(t, "the page by mail"), "Wren")
	l.raise("heron", lab.Urgent)
	l.to(l.mail.next(t, "the next page by mail"), "Wren")
	if took := time.Since(began); took > 15*time.Second {
		t.Errorf("it took %v beside a phone that hangs", took)
	}
	l.sent(id)
	close(hang)
	labtest.Poll(t, "the phone is noted as failing", func() bool {
		tries := l.sent(id)
		return len(tries) == 2 && tries[1].Method == lab.MethodPush && tries[1].Outcome == lab.OutcomeFailed
	})
}

// Where the only contact method hangs, the next page is tried beside it.
func TestHangingPageDelaysNoOther(t *testing.T) {
	t.Parallel()
	l := newLot(t, nil, nil)
	hang := make(chan struct{})
	defer close(hang)
	l.mail.answer(func(ctx context.Context, _ lab.Contacts, m lab.PageMessage) error {
		if strings.Contains(m.Body.Title, "Plover") {
			select {
			case <-hang:
			case <-ctx.Done():
			}
			return errors.New("no answer")
		}
		return nil
	})
	l.raise("plover", lab.Urgent)
	l.raise("heron", lab.Urgent)
	if m := l.to(l.mail.next(t, "the page about the other unit"), "Wren"); !strings.Contains(m.Body.Title, "Heron") {
		t.Errorf("the page is %q", m.Body.Title)
	}
}

// An other end that asks to be left alone for a while is left alone by all
// messages, not only by the one it answered.
func TestRetryAfterIsOfTheEndpoint(t *testing.T) {
	t.Parallel()
	l := newLot(t, nil, nil)
	l.withPhone()
	asked := make(chan string, 10)
	l.push.answer(func(_ context.Context, _ lab.Contacts, m lab.PageMessage) error {
		asked <- m.ID
		return &notify.Error{Outcome: lab.OutcomeFailed, Text: "too many", After: 10 * time.Minute}
	})
	l.raise("plover", lab.Urgent)
	l.to(l.mail.next(t, "the first page by mail"), "Wren")
	labtest.Receive(t, asked, "the phone asked")
	id := l.raise("heron", lab.Urgent)
	l.to(l.mail.next(t, "the second page by mail"), "Wren")
	tries := l.sent(id)
	if len(tries) != 2 || tries[0].Outcome != lab.OutcomeUnavailable || !strings.Contains(tries[0].Detail, "asked to be left alone until") || tries[1].Method != lab.MethodMail {
		t.Errorf("tried: %+v", tries)
	}
	if len(asked) != 0 {
		t.Error("the phone was tried again")
	}
}

// Who goes into the dark after the page was made and before it went out is
// not called; what is urgent goes to the next at once, not a minute later.
func TestDarkBeforeThePageWentOut(t *testing.T) {
	t.Parallel()
	l := newLot(t, func(p *lab.DutyPlan) {
		p.Urgent = []lab.DutyStep{{Who: lab.WhoFirst}, {Who: lab.WhoSecond, AfterS: 600}}
		p.Flood = lab.DutyFlood{Pages: 1, InS: 3600, GatherS: 3600} // the second page waits
	}, nil)
	l.raise("plover", lab.Urgent)
	l.to(l.mail.next(t, "the first page"), "Wren")
	id := l.raise("heron", lab.Urgent)
	labtest.Poll(t, "the second page is made", func() bool {
		pages, err := l.roster.AlertPages(t.Context(), id)
		return err == nil && len(pages.Pages) == 1
	})
	if _, err := l.roster.GoDark(t.Context(), "Wren", 10, "Wren"); err != nil {
		t.Fatal(err)
	}
	l.to(l.mail.next(t, "the page to the next"), "Robin")
}

// A new urgent alert of a unit's run whose old one nobody has answered goes
// out at once, and the page leads with it.
func TestNewUrgentLeads(t *testing.T) {
	t.Parallel()
	l := newLot(t, func(p *lab.DutyPlan) {
		p.Urgent = []lab.DutyStep{{Who: lab.WhoFirst}, {Who: lab.WhoSecond, AfterS: 600}}
	}, nil)
	l.raise("plover", lab.Urgent)
	l.to(l.mail.next(t, "the first page"), "Wren")
	second := l.raise("plover", lab.Urgent)
	if m := l.to(l.mail.next(t, "the page about the second"), "Wren"); len(m.Body.Items) != 2 || strings.Contains(m.Body.Text, "Not acknowledged for") {
		t.Errorf("the page about %s says %q, %q, %d items", second, m.Body.Title, m.Body.Text, len(m.Body.Items))
	}
}

// shifted is a clock that is off by so much.
type shifted time.Duration

func (s shifted) Now() time.Time { return time.Now().Add(time.Duration(s)) }

// The weekly test goes out at its time or shortly after, and not in the
// middle of the night when the machine was off then.
func TestWeeklyTestIsNotLate(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		late time.Duration
		goes bool
	}{{30 * time.Minute, true}, {61 * time.Minute, false}, {10 * time.Hour, false}} {
		now := time.Date(2026, 3, 4, 9, 0, 0, 0, time.UTC).Add(c.late)
		l := newLot(t, func(p *lab.DutyPlan) { p.WeeklyTest, p.TimeZone = &lab.WeeklyTest{Day: "wed", At: "09:00"}, "UTC" },
			func(cfg *delivery.Config) {
				cfg.Clock = shifted(time.Until(now))
				cfg.CheckEvery, cfg.Look = time.Millisecond, 20*time.Millisecond
			})
		if c.goes {
			if m := l.mail.next(t, "the weekly test"); !m.Body.Test {
				t.Errorf("%v late: %+v", c.late, m.Body)
			}
			continue
		}
		// a page that is made now goes out after the worker has looked at itself
		l.raise("plover", lab.Urgent)
		for {
			m := l.mail.next(t, "the page")
			if m.Body.Test {
				t.Errorf("the weekly test goes out %v late", c.late)
			} else {
				break
			}
		}
		tests, err := l.store.Tests(t.Context(), "Wren", 10)
		if err != nil || len(tests) != 0 {
			t.Errorf("%v late: %d tests, %v", c.late, len(tests), err)
		}
	}
}
