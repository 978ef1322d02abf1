package alerts

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"wetside/internal/lab"
	"wetside/internal/labtest"
)

// The life of an alert as a table, written by hand and apart from Apply.
// Source: the alarm states and transitions of ANSI/ISA-18.2 (IEC 62682), with
// the names of the contract: normal -> unacknowledged on occurrence;
// unacknowledged -> acknowledged or returned-to-normal unacknowledged; the
// latter -> normal on acknowledgement or back to unacknowledged; acknowledged
// -> normal on return. Latched: a return to normal does nothing, the
// acknowledgement ends it.
type input string

const (
	occur input = "occur"
	clear input = "clear"
	ack   input = "acknowledge"
)

var table = map[lab.AlertState]map[input]lab.AlertState{
	lab.Closed:                {occur: lab.Unacknowledged},
	lab.Unacknowledged:        {clear: lab.ClearedUnacknowledged, ack: lab.Acknowledged},
	lab.Acknowledged:          {clear: lab.Closed, ack: lab.Acknowledged},
	lab.ClearedUnacknowledged: {occur: lab.Unacknowledged, ack: lab.Closed},
}

var latchedTable = map[lab.AlertState]map[input]lab.AlertState{
	lab.Closed:         {occur: lab.Unacknowledged},
	lab.Unacknowledged: {clear: lab.Unacknowledged, ack: lab.Closed, occur: lab.Unacknowledged},
	// Only what was over before anybody could know it:
	lab.ClearedUnacknowledged: {occur: lab.Unacknowledged, ack: lab.Closed},
}

// modelAlert is what an alert must be; episodes is what stands of it.
type modelAlert struct {
	state     lab.AlertState
	episodes  []*Change
	numbers   []int
	last      int // the highest number given
	by        string
	shelved   time.Time
	held      string
	withdrawn bool
	firstID   string         // the id that it kept when it was withdrawn
	told      []lab.Priority // by episode, "" where nobody was
}

func (m *modelAlert) now() int { return len(m.episodes) - 1 }

// model drives Apply on a table in memory beside the hand-written one.
type model struct {
	store   labtest.AlertTable
	actions *Actions
	clock   *labtest.Clock
	latched bool
	alerts  []*modelAlert
	truth   []*Change // every occurrence that stands, as the rules see it
	pages   int
	events  map[string]int
	made    int
	last    []Change
	policy  Policy
}

const key = "tern-street/plover|r1|bath-temperature|developer"

func (m *model) latest() *modelAlert {
	if len(m.alerts) == 0 {
		return &modelAlert{state: lab.Closed}
	}
	return m.alerts[len(m.alerts)-1]
}

// next is what the table says; illegal inputs fail the test.
func (m *model) next(t *rapid.T, s lab.AlertState, in input) lab.AlertState {
	rows := table
	if m.latched {
		rows = latchedTable
	}
	to, ok := rows[s][in]
	if !ok {
		t.Fatalf("the table has no %s in %s", in, s)
	}
	return to
}

func (m *model) apply(t *rapid.T, changes ...Change) {
	m.last = changes
	m.expire()
	keys, ids := Refs(changes)
	keys = append(keys, key)
	if err := m.store.Commit(keys, ids, m.clock.Now(), func(cur []lab.StoredAlert, now time.Time) ([]lab.StoredAlert, []lab.AlertEvent, []lab.Page) {
		return Apply(cur, changes, now, m.policy)
	}); err != nil {
		t.Fatal(err)
	}
	m.hold(m.latest())
	m.page(m.latest())
}

// hold works out by hand whether pages are held back.
func (m *model) hold(a *modelAlert) {
	held := ""
	if i := a.now(); i >= 0 && a.state != lab.Closed {
		last, n, told := a.episodes[i], 0, false
		for j, ep := range a.episodes {
			if last.RaisedAt.Sub(ep.RaisedAt) < time.Minute {
				n++
			}
			told = told || a.told[j].Rank() >= last.Priority.Rank()
		}
		switch {
		case m.policy.OutOfService["tern-street/plover"]:
			held = lab.HeldOutOfService
		case (n >= 3 || a.held == lab.HeldChattering) && told && m.clock.Now().Sub(last.Noticed) < 5*time.Minute:
			held = lab.HeldChattering
		}
	}
	if a.state == lab.Closed {
		a.held = ""
		return
	}
	if held != a.held && a.held != "" {
		m.events[lab.EventReleased]++
	}
	if held != a.held && held != "" {
		m.events[lab.EventHeld]++
	}
	a.held = held
}

// repairs takes the unit out of service, or back.
func (m *model) repairs(t *rapid.T) {
	m.policy.OutOfService = map[string]bool{"tern-street/plover": !m.policy.OutOfService["tern-street/plover"]}
	m.apply(t)
}

// active is the occurrence that lasts, nil where there is none.
func (m *model) active() *Change {
	if n := len(m.truth); n > 0 && m.truth[n-1].ClearedAt.IsZero() {
		return m.truth[n-1]
	}
	return nil
}

func (m *model) occurs(t *rapid.T, found bool) {
	if m.active() != nil {
		m.clears(t)
	}
	m.made++
	c := &Change{Occurrence: lab.Occurrence{
		Key: key, ID: fmt.Sprintf("o%d", m.made), Rule: "bath-temperature", Unit: lab.UnitID{Lab: "tern-street", Unit: "plover"},
		Priority: rapid.SampledFrom([]lab.Priority{lab.Low, lab.High, lab.Urgent}).Draw(t, "priority"),
		RaisedAt: m.clock.Advance(rapid.SampledFrom([]time.Duration{10 * time.Second, time.Minute}).Draw(t, "pause")), Latched: m.latched, Facts: map[string]any{"c": 39, "n": m.made},
	}, Noticed: m.clock.Now()}
	m.truth = append(m.truth, c)
	a := m.latest()
	if a.state == lab.Closed {
		a = &modelAlert{state: lab.Closed}
		m.alerts = append(m.alerts, a)
		m.events[lab.EventRaised]++
	} else {
		m.events[lab.EventReturned]++
	}
	a.state = m.next(t, a.state, occur)
	a.last++
	a.episodes, a.numbers, a.told, a.by = append(a.episodes, c), append(a.numbers, a.last), append(a.told, ""), ""
	if found {
		c.FoundAfterwards, c.ClearedAt = true, c.RaisedAt.Add(time.Second)
		a.state = lab.ClearedUnacknowledged // shown and reported, over before it was known
		m.events[lab.EventCleared]++
	}
	m.apply(t, *c)
}

// page counts what must have been paged by now.
func (m *model) page(a *modelAlert) {
	i := a.now()
	if i < 0 || a.episodes[i].FoundAfterwards || !a.shelved.IsZero() || a.held != "" || a.state == lab.Closed {
		return
	}
	p := a.episodes[i].Priority
	pays := p == lab.Urgent && a.told[i] != lab.Urgent || p == lab.High && (a.told[i] == "" || a.told[i] == lab.Low)
	lasts := a.episodes[i].ClearedAt.IsZero() || m.latched
	if pays && lasts {
		m.pages++
		a.told[i] = p
	}
}

func (m *model) clears(t *rapid.T) {
	c := m.active()
	if c == nil {
		return
	}
	c.ClearedAt = m.clock.Advance(time.Second)
	a := m.latest()
	if a.now() >= 0 && a.episodes[a.now()] == c && a.state != lab.Closed {
		a.state = m.next(t, a.state, clear)
		if !m.latched {
			m.events[lab.EventCleared]++
		}
		if a.state == lab.Closed {
			m.events[lab.EventClosed]++
		}
	}
	m.apply(t, *c)
}

func (m *model) acknowledges(t *rapid.T) {
	a := m.latest()
	if len(m.alerts) == 0 {
		return
	}
	by := rapid.SampledFrom([]string{"ada", "ben"}).Draw(t, "by")
	got, err := m.actions.Acknowledge(t.Context(), a.id(), by, "")
	if a.state == lab.Closed {
		if again := a.by == by && !a.withdrawn; again != (err == nil) || err != nil && lab.KindOf(err) != lab.KindConflict {
			t.Fatalf("%s acknowledges an alert closed by %q: %v", by, a.by, err)
		}
		return
	}
	if err != nil {
		t.Fatal(err)
	}
	if a.by == "" {
		a.by = by
		a.state = m.next(t, a.state, ack)
		m.events[lab.EventAcknowledged]++
		if a.state == lab.Closed {
			m.events[lab.EventClosed]++
		}
		if i := a.now(); a.episodes[i].Priority.Rank() > a.told[i].Rank() {
			a.told[i] = a.episodes[i].Priority
		}
	}
	if got.AcknowledgedBy != a.by {
		t.Fatalf("acknowledged by %q; want the first, %q", got.AcknowledgedBy, a.by)
	}
}

// id is the id of its first standing occurrence.
func (a *modelAlert) id() string {
	if len(a.episodes) == 0 {
		return a.firstID
	}
	return a.episodes[0].ID
}

func (m *model) rises(t *rapid.T) {
	c := m.active()
	if c == nil || c.Priority == lab.Urgent {
		return
	}
	c.Priority = map[lab.Priority]lab.Priority{lab.Low: lab.High, lab.High: lab.Urgent}[c.Priority]
	if m.alertOf(c) != nil {
		m.events[lab.EventPriority]++
	}
	m.apply(t, *c)
}

func (m *model) alertOf(c *Change) *modelAlert {
	for _, a := range m.alerts {
		if slices.Contains(a.episodes, c) {
			return a
		}
	}
	return nil
}

// moves gives the latest occurrence another beginning.
func (m *model) moves(t *rapid.T) {
	if len(m.truth) == 0 {
		return
	}
	c := m.truth[len(m.truth)-1]
	was := c.ID
	m.made++
	c.ID, c.RaisedAt = fmt.Sprintf("o%d", m.made), c.RaisedAt.Add(-time.Second)
	if m.alertOf(c) != nil {
		m.events[lab.EventMoved]++
	}
	change := *c
	change.Was = was
	m.apply(t, change)
}

// withdraws takes the latest occurrence back.
func (m *model) withdraws(t *rapid.T) {
	n := len(m.truth)
	if n == 0 {
		return
	}
	c := m.truth[n-1]
	a := m.alertOf(c)
	m.truth = m.truth[:n-1]
	m.events[lab.EventWithdrawn]++
	wasClosed := a.state == lab.Closed
	i := a.now()
	a.firstID = a.episodes[0].ID
	a.episodes, a.numbers, a.told = a.episodes[:i], a.numbers[:i], a.told[:i]
	switch {
	case i == 0:
		a.state, a.withdrawn = lab.Closed, true
	case m.latched && a.by == "" && !a.episodes[i-1].FoundAfterwards:
		a.state = lab.Unacknowledged
	case a.by != "":
		a.state = lab.Closed // the one before had cleared, and somebody has seen the alert
		if !wasClosed {
			m.events[lab.EventClosed]++
		}
	default:
		a.state = lab.ClearedUnacknowledged
	}
	change := *c
	change.Withdrawn = true
	m.apply(t, change)
}

func (m *model) shelves(t *rapid.T) {
	a := m.latest()
	if a.state == lab.Closed {
		return
	}
	if !a.shelved.IsZero() && rapid.Bool().Draw(t, "unshelve") {
		if _, err := m.actions.Unshelve(t.Context(), a.id(), "ada"); err != nil {
			t.Fatal(err)
		}
		a.shelved = time.Time{}
		m.events[lab.EventUnshelved]++
		m.apply(t)
		return
	}
	if _, err := m.actions.Shelve(t.Context(), a.id(), "ada", 5, "the probe is being changed"); err != nil {
		t.Fatal(err)
	}
	a.shelved = m.clock.Now().Add(5 * time.Minute)
	m.events[lab.EventShelved]++
}

// passes lets shelving run out.
func (m *model) passes(t *rapid.T) {
	m.clock.Advance(6 * time.Minute)
	m.apply(t)
}

// expire ends shelving in the model as the next Apply ends it.
func (m *model) expire() {
	if a := m.latest(); a.state != lab.Closed && !a.shelved.IsZero() && !a.shelved.After(m.clock.Now()) {
		a.shelved = time.Time{}
		m.events[lab.EventUnshelved]++
	}
}

// check compares what is stored with the model.
func (m *model) check(t *rapid.T, when string) {
	rows, events, pages := m.store.Stored()
	if len(rows) != len(m.alerts) {
		t.Fatalf("%s: %d alerts; want %d", when, len(rows), len(m.alerts))
	}
	for i, want := range m.alerts {
		got := rows[i]
		if got.State != want.state || got.Withdrawn != want.withdrawn || got.AcknowledgedBy != want.by || got.ID != want.id() || got.Held != want.held {
			t.Fatalf("%s: alert %d is %s %s %q, withdrawn %v, acknowledged by %q; want %s %s %q, %v, %q", when, i,
				got.ID, got.State, got.Held, got.Withdrawn, got.AcknowledgedBy, want.id(), want.state, want.held, want.withdrawn, want.by)
		}
		n := want.now()
		if n < 0 {
			continue
		}
		c := want.episodes[n]
		if got.Alert.Occurrence != want.numbers[n] || got.LastOccID != c.ID || !got.RaisedAt.Equal(c.RaisedAt) ||
			got.Priority != c.Priority || got.FoundAfterwards != c.FoundAfterwards {
			t.Fatalf("%s: alert %d stands at occurrence %d %s raised %s; want %d %s %s", when, i,
				got.Alert.Occurrence, got.LastOccID, got.RaisedAt, want.numbers[n], c.ID, c.RaisedAt)
		}
	}
	count := map[string]int{}
	for _, e := range events {
		count[e.What]++
	}
	for _, what := range []string{lab.EventRaised, lab.EventReturned, lab.EventCleared, lab.EventAcknowledged, lab.EventClosed,
		lab.EventShelved, lab.EventUnshelved, lab.EventWithdrawn, lab.EventPriority, lab.EventMoved, lab.EventHeld, lab.EventReleased} {
		if count[what] != m.events[what] {
			t.Fatalf("%s: %d times %s in the history; want %d", when, count[what], what, m.events[what])
		}
	}
	if len(pages) != m.pages {
		t.Fatalf("%s: %d pages; want %d: %+v", when, len(pages), m.pages, pages)
	}
}

// Any life, and after each event of it: the states are the table's, nothing
// is lost from the history, each occurrence pages once and once more when it
// becomes urgent. The same change again, and all that stands told anew by an
// engine that was restarted, change nothing.
func TestFoldKeepsToTheTable(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := &model{clock: labtest.NewClock(time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)), events: map[string]int{}}
		m.latched = rapid.Bool().Draw(t, "latched")
		m.actions = NewActions(ActionsConfig{Store: &m.store, Clock: m.clock})
		acts := map[string]func(*rapid.T){
			"occurs":         func(t *rapid.T) { m.occurs(t, false) },
			"found":          func(t *rapid.T) { m.occurs(t, true) },
			"clears":         m.clears,
			"acknowledges":   m.acknowledges,
			"rises":          m.rises,
			"moves":          m.moves,
			"withdraws":      m.withdraws,
			"shelves":        m.shelves,
			"time passes":    m.passes,
			"repairs":        m.repairs,
			"the same again": func(t *rapid.T) { m.apply(t, m.last...) },
			"restart": func(t *rapid.T) {
				var all []Change
				for _, c := range m.truth {
					all = append(all, *c)
				}
				last := m.last
				m.apply(t, all...)
				m.last = last
			},
		}
		names := []string{"occurs", "clears", "acknowledges", "occurs", "clears", "found", "rises", "moves", "withdraws", "shelves", "time passes", "repairs", "the same again", "restart"}
		for range rapid.IntRange(1, 40).Draw(t, "events") {
			name := rapid.SampledFrom(names).Draw(t, "event")
			acts[name](t)
			m.check(t, name)
			m.apply(t, m.last...)
			m.check(t, name+", told twice")
		}
	})
}
