package delivery

import (
	"context"
	"slices"
	"time"

	"wetside/alerts/duty"
	"wetside/alerts/escalate"
	"wetside/alerts/ways"
	"wetside/internal/lab"
)

// serve brings one person what waits for them, until ctx ends.
func (w *Worker) serve(ctx context.Context, person string, poked <-chan struct{}) {
	timer := time.NewTimer(0)
	defer timer.Stop()
	pause := firstPause
	for {
		select {
		case <-ctx.Done():
			return
		case <-poked:
		case <-timer.C:
		}
		at, err := w.serveAll(ctx, person)
		switch {
		case ctx.Err() != nil:
			return
		case err != nil && stale(err):
			w.fail(err)
			return
		case err != nil:
			w.cfg.Log.Error("what waits for a person cannot be read; trying again", "person", person, "error", err, "after", pause)
			timer.Reset(pause)
			pause = min(2*pause, longPause)
		default:
			pause = firstPause
			timer.Stop()
			if !at.IsZero() {
				timer.Reset(max(at.Sub(w.cfg.Clock.Now()), time.Millisecond))
			}
		}
	}
}

// serveAll tries all that is due, one after the other, and gives when to look
// again; zero where only something new can change that.
func (w *Worker) serveAll(ctx context.Context, person string) (time.Time, error) {
	for ctx.Err() == nil {
		m, at, err := w.claim(ctx, person)
		if err != nil || m == nil {
			return at, err
		}
		if err := w.try(ctx, *m); err != nil {
			return time.Time{}, err
		}
	}
	return time.Time{}, ctx.Err()
}

func (w *Worker) claim(ctx context.Context, person string) (*lab.PageMessage, time.Time, error) {
	ctx, cancel := context.WithTimeout(ctx, storeWithin)
	defer cancel()
	now := w.now()
	return w.cfg.Store.ClaimMessage(ctx, w.cfg.Term, person, now.Add(-recentFor), func(q lab.PersonQueue) lab.QueueDecision {
		return escalate.Queue(q, w.duty(now), person, now, func(pages []lab.CasePage, cases []lab.PageCase) lab.PageMessage {
			return w.compose(person, pages, cases, now)
		})
	})
}

// try tries a message by each way of the person until one takes it, and
// writes down how it went.
func (w *Worker) try(ctx context.Context, m lab.PageMessage) error {
	// What is being sent when the worker is stopped has a moment to end: a
	// message that is broken off is sent again.
	send, cancel := context.WithCancel(context.WithoutCancel(ctx))
	defer cancel()
	defer context.AfterFunc(ctx, func() {
		timer := time.AfterFunc(lastTry, cancel)
		context.AfterFunc(send, func() { timer.Stop() })
	})()
	c := w.contactsOf(m.Person)
	list := w.usable(c)
	if m.OnlyWay != "" {
		list = []string{m.OnlyWay}
	}
	var tries []lab.Delivery
	sentBy, next, changed := "", m.NextTry, false
	for _, way := range list {
		d, e := w.one(send, way, c, m)
		tries = append(tries, d)
		if e != nil {
			changed = w.tidy(send, c, way, e) || changed
			if at := w.now().Add(e.After); e.After > 0 && at.After(next) {
				next = at
			}
		}
		if d.Outcome == lab.OutcomeSent {
			sentBy = way
			break
		}
		w.cfg.Log.Warn("a page was not taken", "person", m.Person, "way", way, "message", m.ID, "try", m.Tries, "outcome", d.Outcome, "why", d.Detail)
	}
	if len(list) == 0 {
		w.cfg.Log.Error("a page has no way to a person", "person", m.Person, "message", m.ID)
	}
	if changed {
		if err := w.Reload(send); err != nil {
			w.cfg.Log.Warn("who can be reached was not read anew", "error", err)
		}
	}
	return w.note(ctx, m.ID, tries, sentBy, next)
}

// one tries one way.
func (w *Worker) one(ctx context.Context, way string, c lab.Contacts, m lab.PageMessage) (lab.Delivery, *ways.Error) {
	d := lab.Delivery{MessageID: m.ID, Person: m.Person, Try: m.Tries, At: w.now(), Way: way}
	began := time.Now()
	var err error
	switch why := w.cfg.Unavailable[way]; {
	case why != "":
		err = ways.Unavailable("%s", why)
	case w.cfg.Ways[way] == nil:
		err = ways.Unavailable("%s is not set up", way)
	case !slices.Contains(c.Usable(), way):
		err = ways.Unavailable("%s has no %s, or it is switched off", m.Person, way)
	default:
		err = w.cfg.Ways[way].Send(ctx, c, m)
	}
	d.Took = time.Since(began)
	if err == nil {
		d.Outcome = lab.OutcomeSent
		return d, nil
	}
	e := ways.Of(err)
	d.Outcome, d.Detail = e.Outcome, e.Text
	return d, e
}

// tidy takes away what the other end says is gone.
func (w *Worker) tidy(ctx context.Context, c lab.Contacts, way string, e *ways.Error) (changed bool) {
	ctx, cancel := context.WithTimeout(ctx, storeWithin)
	defer cancel()
	for _, s := range e.Gone {
		err := w.cfg.Store.RemoveSubscription(ctx, s.ID, "", "wetside", e.Text)
		if err != nil && lab.KindOf(err) != lab.KindNotFound {
			w.cfg.Log.Warn("a browser that is gone was not forgotten", "person", c.Person, "error", err)
		}
		changed = true
	}
	if way == lab.WayWebhook && e.Outcome == lab.OutcomeGone {
		if err := w.cfg.Store.SwitchWebhookOff(ctx, c.Person, e.Text); err != nil {
			w.cfg.Log.Warn("a webhook that is gone was not switched off", "person", c.Person, "error", err)
		}
		changed = true
	}
	return changed
}

// note writes down how a try went. It does not give up while the worker
// lives: what was taken and not noted would be sent again.
func (w *Worker) note(ctx context.Context, id string, tries []lab.Delivery, sentBy string, next time.Time) error {
	for pause := firstPause; ; pause = min(2*pause, longPause) {
		call, cancel := context.WithTimeout(context.WithoutCancel(ctx), storeWithin)
		err := w.cfg.Store.MessageTried(call, id, tries, sentBy, next)
		cancel()
		if err == nil || stale(err) {
			return err
		}
		if !wait(ctx, pause) {
			w.cfg.Log.Error("how a page went was not written down; it will be sent again", "message", id, "error", err)
			return ctx.Err()
		}
	}
}

// duty is who can be called at a moment.
func (w *Worker) duty(now time.Time) escalate.Duty {
	st := w.state.Load()
	d := escalate.Duty{Plan: planOf(st), Dark: map[string]time.Time{}}
	if st == nil {
		return d
	}
	d.On = duty.On(d.Plan, st.Swaps, now)
	for _, c := range st.Contacts {
		if len(w.usable(c)) > 0 {
			d.Reachable = append(d.Reachable, c.Person)
		}
	}
	for _, p := range st.Dark {
		d.Dark[p.Person] = p.Until.Time
	}
	if until, quiet := duty.Quiet(d.Plan, now); quiet {
		d.Quiet = until
	}
	return d
}

func planOf(st *lab.DutyState) lab.DutyPlan {
	if st == nil || st.Plan == nil {
		return duty.Default()
	}
	return *st.Plan
}

// usable lists the ways by which a person can be reached now, in order.
func (w *Worker) usable(c lab.Contacts) []string {
	return slices.DeleteFunc(c.Usable(), func(way string) bool {
		return w.cfg.Unavailable[way] != "" || w.cfg.Ways[way] == nil
	})
}

func (w *Worker) contactsOf(person string) lab.Contacts {
	if st := w.state.Load(); st != nil {
		for _, c := range st.Contacts {
			if c.Person == person {
				return c
			}
		}
	}
	return lab.Contacts{Person: person}
}
