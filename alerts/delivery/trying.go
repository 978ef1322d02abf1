package delivery

import (
	"context"
	"fmt"
	"sync"
	"time"

	"wetside/alerts/notify"
	"wetside/internal/lab"
)

// trying is one try of one message under way.
type trying struct {
	w       *Worker
	m       lab.PageMessage
	c       lab.Contacts
	list    []string // contact methods not tried yet, in order
	results chan tried
	open    int // contact methods that are at it

	done    []lab.Delivery
	sentBy  string
	next    time.Time
	changed bool // who can be reached
}

// tried is how one contact method went.
type tried struct {
	d lab.Delivery
	e *notify.Error
}

// run tries the contact methods until one takes the message or all have failed.
func (t *trying) run(ctx context.Context) {
	timer := time.NewTimer(headStart)
	defer timer.Stop()
	for t.sentBy == "" && (t.open > 0 || len(t.list) > 0) {
		if t.open == 0 {
			t.start(ctx)
			timer.Reset(headStart)
		}
		select {
		case r := <-t.results:
			t.take(ctx, r)
		case <-timer.C:
			t.start(ctx)
			timer.Reset(headStart)
		}
	}
}

// start sets the next contact method to work.
func (t *trying) start(ctx context.Context) {
	if len(t.list) == 0 {
		return
	}
	method := t.list[0]
	t.list = t.list[1:]
	t.open++
	go func() { // ends with its own timeout, and is waited for by who took the message
		d, e := t.w.one(ctx, method, t.c, t.m)
		t.results <- tried{d, e}
	}()
}

// take notes how a contact method went.
func (t *trying) take(ctx context.Context, r tried) {
	w, method := t.w, r.d.Method
	t.open--
	t.done = append(t.done, r.d)
	if r.e != nil {
		t.changed = w.tidy(ctx, t.c, method, r.e) || t.changed
		if r.e.After > 0 {
			until := w.now().Add(r.e.After)
			w.rests.until(endpointOf(method, t.c), until)
			if until.After(t.next) {
				t.next = until
			}
		}
	}
	if r.d.Outcome == lab.OutcomeSent {
		if t.sentBy == "" {
			t.sentBy = method
		}
		return
	}
	w.cfg.Log.Warn("a page was not taken", "person", t.m.Person, "way", method, "message", t.m.ID, "try", t.m.Tries, "outcome", r.d.Outcome, "why", r.d.Detail)
}

// awake leaves out contact methods whose other end asked to be left alone for a
// while. It asked for all messages, not only for the one that it answered.
func (t *trying) awake(list []string) (out []string) {
	now := t.w.now()
	var first time.Time
	for _, method := range list {
		until := t.w.rests.of(endpointOf(method, t.c))
		if !until.After(now) {
			out = append(out, method)
			continue
		}
		if first.IsZero() || until.Before(first) {
			first = until
		}
		t.done = append(t.done, lab.Delivery{MessageID: t.m.ID, Person: t.m.Person, Try: t.m.Tries, At: now, Method: method, Outcome: lab.OutcomeUnavailable,
			Detail: fmt.Sprintf("the other end asked to be left alone until %s", until.UTC().Format("15:04:05 MST"))})
	}
	if len(out) == 0 && first.After(t.next) {
		t.next = first
	}
	return out
}

// endpointOf names the other end of a contact method of a person: people may
// share one.
func endpointOf(method string, c lab.Contacts) string {
	if method == lab.MethodWebhook {
		return method + " " + c.Webhook
	}
	return method + " to " + c.Person
}

// rests keeps until when other ends asked to be left alone. The zero value is
// ready.
type rests struct {
	mu sync.Mutex
	at map[string]time.Time
}

func (r *rests) until(endpoint string, at time.Time) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.at == nil {
		r.at = map[string]time.Time{}
	}
	for e, t := range r.at { // as many as there are ends that asked lately
		if t.Before(at.Add(-time.Hour)) {
			delete(r.at, e)
		}
	}
	r.at[endpoint] = at
}

func (r *rests) of(endpoint string) time.Time {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.at[endpoint]
}
