package alerts

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"wetside/internal/lab"
)

// held gives what holds the only alert, and what its history says of that.
func (s *scene) held() (now string, history []string) {
	rows, events, _ := s.store.Stored()
	for _, e := range events {
		if e.What == lab.EventHeld || e.What == lab.EventReleased {
			history = append(history, e.What+" "+e.Note)
		}
	}
	return rows[0].Held, history
}

// look is the worker's look at an alert of which nothing new was found.
func (s *scene) look(id string) {
	s.Helper()
	if err := s.store.Commit(nil, []string{id}, s.clock.Now(), func(cur []lab.StoredAlert, now time.Time) ([]lab.StoredAlert, []lab.AlertEvent, []lab.Page) {
		return Apply(cur, nil, now, s.policy)
	}); err != nil {
		s.Fatal(err)
	}
}

// seconds moves an occurrence to seconds past nine.
func seconds(from, to int) func(*Change) {
	return func(c *Change) {
		c.RaisedAt = nine.Add(time.Duration(from) * time.Second)
		c.Noticed, c.ClearedAt = c.RaisedAt, time.Time{}
		if to > 0 {
			c.ClearedAt = nine.Add(time.Duration(to) * time.Second)
		}
	}
}

// TestChattering: three a minute from one point is chattering (source: HSE
// CHIS 6 as read in alarm practice). People hear of the first two; of the rest
// only when it has come to rest and still lasts.
func TestChattering(t *testing.T) {
	s := newScene(t)
	var c Change
	for i := range 10 {
		c = occ(fmt.Sprint("o", i), 0, 0, seconds(15*i, 0))
		s.clock.Set(c.Noticed)
		s.apply(c)
		if i < 9 {
			c = occ(fmt.Sprint("o", i), 0, 0, seconds(15*i, 15*i+5))
			s.apply(c)
		}
	}
	s.want(2, "o0 unacknowledged 10")
	if now, _ := s.held(); now != lab.HeldChattering {
		t.Errorf("held for %q; want %q", now, lab.HeldChattering)
	}
	rows, _, _ := s.store.Stored()
	if s.policy.Outdated(rows[0].Alert, c.Noticed.Add(4*time.Minute)) || !s.policy.Outdated(rows[0].Alert, c.Noticed.Add(5*time.Minute)) {
		t.Error("the worker does not look again after five quiet minutes, and not before")
	}
	s.clock.Set(c.Noticed.Add(5 * time.Minute))
	s.look("o0")
	s.want(3, "o0 unacknowledged 10")
	if now, history := s.held(); now != "" || !slices.Equal(history, []string{"held chattering", "released chattering"}) {
		t.Errorf("held for %q, history %q", now, history)
	}
}

// TestManyAtOnce: chattering is seen in one batch as it would be one by one.
func TestManyAtOnce(t *testing.T) {
	s := newScene(t)
	s.apply(occ("a", 0, 0, seconds(0, 5)), occ("b", 0, 0, seconds(15, 20)), occ("c", 0, 0, seconds(30, 0)))
	s.want(2, "a unacknowledged 3")
	if now, _ := s.held(); now != lab.HeldChattering {
		t.Errorf("held for %q; want %q", now, lab.HeldChattering)
	}
}

// TestHeldByState: what concerns no run waits until the unit is back or the
// lab is open; what is urgent in a run is never held.
func TestHeldByState(t *testing.T) {
	run := func(c *Change) { c.RunID = "r1" }
	out := Policy{OutOfService: map[string]bool{"tern-street/plover": true}}
	closed := Policy{LabClosed: true}
	for name, c := range map[string]struct {
		policy Policy
		change Change
		held   string
	}{
		"out of service, idle":      {out, occ("a", 0, 0), lab.HeldOutOfService},
		"out of service, in a run":  {out, occ("a", 0, 0, run), lab.HeldOutOfService},
		"out of service, urgent":    {out, occ("a", 0, 0, at(lab.Urgent)), lab.HeldOutOfService},
		"urgent with film":          {out, occ("a", 0, 0, run, at(lab.Urgent)), ""},
		"closed, idle":              {closed, occ("a", 0, 0), lab.HeldLabClosed},
		"closed, urgent, no run":    {closed, occ("a", 0, 0, at(lab.Urgent)), lab.HeldLabClosed},
		"closed, but a run goes on": {closed, occ("a", 0, 0, run), ""},
		"another unit":              {Policy{OutOfService: map[string]bool{"tern-street/heron": true}}, occ("a", 0, 0), ""},
	} {
		t.Run(name, func(t *testing.T) {
			s := newScene(t)
			s.policy = c.policy
			s.apply(c.change)
			pages := 1
			if c.held != "" {
				pages = 0
			}
			s.want(pages, "a unacknowledged 1")
			if now, _ := s.held(); now != c.held {
				t.Errorf("held for %q; want %q", now, c.held)
			}
			s.policy = Policy{}
			rows, _, _ := s.store.Stored()
			if s.policy.Outdated(rows[0].Alert, s.clock.Now()) != (c.held != "") {
				t.Errorf("the worker looks again: %v", c.held == "")
			}
			s.look("a")
			s.want(1, "a unacknowledged 1")
		})
	}
}

// TestARuleOnTrial: shown, not paged, whatever its priority; a lab that is not
// named has every rule on trial; other rules page.
func TestARuleOnTrial(t *testing.T) {
	p := Policy{OnTrial: map[string]map[string]bool{"": {"fill-slow": true}, "tern-street": {"fill-slow": false, "strip-out": true}}}
	for _, c := range []struct{ unit, rule, want string }{
		{"tern-street/plover", "strip-out", lab.HeldNewRule},
		{"tern-street/plover", "fill-slow", ""},
		{"tern-street/plover", "film-stranded", ""},
		{"quay-lane/plover", "fill-slow", lab.HeldNewRule},
		{"quay-lane/plover", "power-lost", ""},
	} {
		a := lab.Alert{Unit: c.unit, Rule: c.rule, Run: "r", Priority: lab.Urgent, State: lab.Unacknowledged}
		if got := p.Holds(a); got != c.want {
			t.Errorf("%s of %s is held %q; want %q", c.rule, c.unit, got, c.want)
		}
		if a.Held = lab.HeldNewRule; p.Outdated(a, time.Time{}) != (c.want == "") {
			t.Errorf("%s of %s: whether its hold is over is told wrong", c.rule, c.unit)
		}
	}
	if (Policy{}).Holds(lab.Alert{Unit: "a/b", Rule: "fill-slow"}) != "" {
		t.Error("without a trial a rule is held")
	}
}
