package delivery

import (
	"context"
	"slices"
	"sync"
	"time"

	"wetside/alerts/escalate"
	"wetside/alerts/notify"
	"wetside/alerts/oncall"
	"wetside/internal/lab"
	"wetside/internal/service"
)

// inFlight is how many messages to one person are on their way at once: one
// that gets no answer holds up none that comes after it.
const inFlight = 4

// sender brings one person what waits for them.
type sender struct {
	w      *Worker
	person string
	poked  chan struct{}

	mu     sync.Mutex
	flying map[string]bool // messages on their way
	took   time.Time       // when the last of them set out
	failed error           // what ended the term
	wg     sync.WaitGroup
}

// serve works until ctx ends.
func (w *Worker) serve(ctx context.Context, person string, poked chan struct{}) {
	s := &sender{w: w, person: person, poked: poked, flying: map[string]bool{}}
	defer s.wg.Wait()
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
		at, err := s.all(ctx)
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

// all sends off all that is due and gives when to look again; zero where only
// something new, or the end of a try, can change that.
func (s *sender) all(ctx context.Context) (time.Time, error) {
	for ctx.Err() == nil {
		s.mu.Lock()
		n, err, beside := len(s.flying), s.failed, s.took.Add(headStart)
		s.mu.Unlock()
		if err != nil || n >= inFlight {
			return time.Time{}, err
		}
		if n > 0 && s.w.cfg.Clock.Now().Before(beside) { // one after the other, as long as there are answers
			return beside, nil
		}
		m, at, err := s.claim(ctx)
		if err != nil || m == nil {
			return at, err
		}
		s.fly(ctx, *m)
	}
	return time.Time{}, ctx.Err()
}

// fly tries a message beside whatever else is on its way.
func (s *sender) fly(ctx context.Context, m lab.PageMessage) {
	s.mu.Lock()
	s.flying[m.ID], s.took = true, s.w.cfg.Clock.Now()
	s.mu.Unlock()
	s.wg.Go(func() {
		err := s.w.try(ctx, m)
		s.mu.Lock()
		delete(s.flying, m.ID)
		if err != nil && ctx.Err() == nil && s.failed == nil && stale(err) {
			s.failed = err
		}
		s.mu.Unlock()
		select {
		case s.poked <- struct{}{}:
		default:
		}
	})
}

func (s *sender) claim(ctx context.Context) (*lab.PageMessage, time.Time, error) {
	w, person := s.w, s.person
	ctx, cancel := context.WithTimeout(ctx, storeWithin)
	defer cancel()
	now := w.now()
	held := false
	m, at, err := w.cfg.Store.ClaimMessage(ctx, w.cfg.Term, person, now.Add(-recentFor), func(q lab.PersonQueue) lab.QueueDecision {
		s.mu.Lock()
		q.Messages = slices.DeleteFunc(q.Messages, func(m lab.PageMessage) bool { return s.flying[m.ID] })
		s.mu.Unlock()
		d := escalate.Queue(q, w.duty(now), person, now, func(pages []lab.CasePage, cases []lab.PageCase) lab.PageMessage {
			return w.compose(person, pages, cases, now)
		}, func(m lab.PageMessage, cases []lab.PageCase) lab.PageBody { return w.reword(m, cases, now) })
		held = len(d.HoldPages) > 0
		return d
	})
	if held {
		w.Wake() // the next step may be due now
	}
	return m, at, err
}

// headStart is how long a contact method has before the next is tried beside it.
const headStart = 2 * time.Second

// try tries a message by the contact methods of the person, in their order,
// until one takes it, and writes down how it went. A contact method that fails
// is followed by the next at once; one that gives no answer has the next beside
// it after a moment. What was taken by one contact method goes out by no
// further one.
func (w *Worker) try(ctx context.Context, m lab.PageMessage) error {
	// What is being sent when the worker is stopped has a moment to end: a
	// message that is broken off is sent again.
	send, cancel := context.WithCancel(context.WithoutCancel(ctx))
	defer cancel()
	defer context.AfterFunc(ctx, func() {
		timer := time.AfterFunc(lastTry, cancel)
		context.AfterFunc(send, func() { timer.Stop() })
	})()
	if err := w.cfg.Sure(ctx); err != nil {
		return err
	}
	c := w.contactsOf(m.Person)
	t := &trying{w: w, m: m, c: c, results: make(chan tried, 16), next: m.NextTry}
	list := w.usable(c)
	if m.OnlyMethod != "" {
		list = []string{m.OnlyMethod}
	}
	if len(list) == 0 {
		w.cfg.Log.Error("a page has no way to a person", "person", m.Person, "message", m.ID)
	}
	t.list = t.awake(list)
	t.run(send)
	if err := w.note(ctx, m.ID, t.done, t.sentBy, t.next); err != nil {
		return err
	}
	// a contact method that is still at it tells how it goes, and holds up nobody
	t.done = nil
	for t.open > 0 {
		t.take(send, <-t.results)
	}
	if len(t.done) > 0 {
		if err := w.note(ctx, m.ID, t.done, t.sentBy, t.next); err != nil {
			return err
		}
	}
	if t.changed {
		if err := w.Reload(send); err != nil {
			w.cfg.Log.Warn("who can be reached was not read anew", "error", err)
		}
	}
	return nil
}

// one tries one contact method.
func (w *Worker) one(ctx context.Context, method string, c lab.Contacts, m lab.PageMessage) (lab.Delivery, *notify.Error) {
	d := lab.Delivery{MessageID: m.ID, Person: m.Person, Try: m.Tries, At: w.now(), Method: method}
	began := time.Now()
	var err error
	switch why := w.cfg.Unavailable[method]; {
	case why != "":
		err = notify.Unavailable("%s", why)
	case w.cfg.Methods[method] == nil:
		err = notify.Unavailable("%s is not set up", method)
	case !slices.Contains(c.Usable(), method):
		err = notify.Unavailable("%s has no %s, or it is switched off", m.Person, method)
	default:
		err = w.cfg.Methods[method].Send(ctx, c, m)
	}
	d.Took = time.Since(began)
	if err == nil {
		d.Outcome = lab.OutcomeSent
		return d, nil
	}
	e := notify.Of(err)
	d.Outcome, d.Detail = e.Outcome, e.Text
	return d, e
}

// tidy takes away what the other end says is gone.
func (w *Worker) tidy(ctx context.Context, c lab.Contacts, method string, e *notify.Error) (changed bool) {
	ctx, cancel := context.WithTimeout(ctx, storeWithin)
	defer cancel()
	for _, s := range e.Gone {
		err := w.cfg.Store.RemoveSubscription(ctx, s.ID, "", "wetside", e.Text)
		if err != nil && lab.KindOf(err) != lab.KindNotFound {
			w.cfg.Log.Warn("a browser that is gone was not forgotten", "person", c.Person, "error", err)
		}
		changed = true
	}
	if method == lab.MethodWebhook && e.Outcome == lab.OutcomeGone {
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
		if !service.Pause(ctx, pause) {
			w.cfg.Log.Error("how a page went was not written down; it will be sent again", "message", id, "error", err)
			return ctx.Err()
		}
	}
}

// duty is who can be called at a moment.
func (w *Worker) duty(now time.Time) escalate.Duty {
	st := w.state.Load()
	d := escalate.Duty{Plan: planOf(st), Dark: map[string]time.Time{}, Film: w.cfg.Film}
	if st == nil {
		return d
	}
	d.On = oncall.On(d.Plan, st.Swaps, now)
	for _, c := range st.Contacts {
		// who may do nothing about an alert is called only where a lead put
		// them into the plan by name
		if len(w.usable(c)) > 0 && (lab.MayAct(c.Role) || oncall.Names(d.Plan, st.Swaps, c.Person)) {
			d.Reachable = append(d.Reachable, c.Person)
			if failing := w.failingNow.Load(); failing != nil && w.unreachable(c, *failing) != "" {
				d.Failing = append(d.Failing, c.Person)
			}
		}
	}
	for _, p := range st.Dark {
		d.Dark[p.Person] = p.Until.Time
	}
	if until, quiet := oncall.Quiet(d.Plan, now); quiet {
		d.Quiet = until
	}
	return d
}

func planOf(st *lab.DutyState) lab.DutyPlan {
	if st == nil || st.Plan == nil {
		return oncall.Default()
	}
	return *st.Plan
}

// usable lists the contact methods by which a person can be reached now, in order.
func (w *Worker) usable(c lab.Contacts) []string {
	return slices.DeleteFunc(c.Usable(), func(method string) bool {
		return w.cfg.Unavailable[method] != "" || w.cfg.Methods[method] == nil
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
