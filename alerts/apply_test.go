package alerts

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/labtest"
)

var nine = time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)

// scene is a table of alerts and the people at it.
type scene struct {
	*testing.T
	store   labtest.AlertTable
	actions *Actions
	clock   *labtest.Clock
	told    []string // alerts they told of

	policy Policy
}

func newScene(t *testing.T) *scene {
	s := &scene{T: t, clock: labtest.NewClock(nine)}
	s.actions = NewActions(ActionsConfig{Store: &s.store, Clock: s.clock, Changed: func(a lab.Alert) { s.told = append(s.told, a.ID) }})
	return s
}

// occ is an occurrence that began at a minute past nine and, where to is not
// 0, ended at another.
func occ(id string, from, to int, more ...func(*Change)) Change {
	c := Change{Occurrence: lab.Occurrence{
		Key: key, ID: id, Rule: "bath-temperature", Unit: lab.UnitID{Lab: "tern-street", Unit: "plover"},
		Priority: lab.High, RaisedAt: nine.Add(time.Duration(from) * time.Minute),
	}, Noticed: nine.Add(time.Duration(from) * time.Minute)}
	if to > 0 {
		c.ClearedAt = nine.Add(time.Duration(to) * time.Minute)
	}
	for _, f := range more {
		f(&c)
	}
	return c
}

func withdrawn(c *Change)             { c.Withdrawn = true }
func was(id string) func(*Change)     { return func(c *Change) { c.Was = id } }
func at(p lab.Priority) func(*Change) { return func(c *Change) { c.Priority = p } }

func (s *scene) apply(changes ...Change) {
	s.Helper()
	keys, ids := Refs(changes)
	if err := s.store.Commit(keys, ids, s.clock.Now(), func(cur []lab.StoredAlert, now time.Time) ([]lab.StoredAlert, []lab.AlertEvent, []lab.Page) {
		return Apply(cur, changes, now, s.policy)
	}); err != nil {
		s.Fatal(err)
	}
}

func (s *scene) ack(id, by string) lab.Alert {
	s.Helper()
	a, err := s.actions.Acknowledge(s.Context(), id, by, "seen")
	if err != nil {
		s.Fatal(err)
	}
	return a
}

// want compares "id state occurrence" of each alert, and the number of pages.
func (s *scene) want(pages int, alerts ...string) {
	s.Helper()
	rows, _, made := s.store.Stored()
	var got []string
	for _, a := range rows {
		got = append(got, fmt.Sprintf("%s %s %d", a.ID, a.State, a.Alert.Occurrence))
	}
	if !slices.Equal(got, alerts) || len(made) != pages {
		s.Errorf("got %q and %d pages; want %q and %d", got, len(made), alerts, pages)
	}
}

func TestClearingTakenBack(t *testing.T) {
	s := newScene(t)
	s.apply(occ("a", 1, 2))
	s.want(1, "a cleared-unacknowledged 1")
	s.apply(occ("a", 1, 0))
	s.want(1, "a unacknowledged 1") // the same occurrence: no second page
	s.ack("a", "ada")
	s.apply(occ("a", 1, 3))
	s.want(1, "a closed 1")
	s.apply(occ("a", 1, 0))
	s.want(1, "a acknowledged 1")
}

// Late evidence joins two excursions to one: the second is taken back and the
// first, which was closed, goes on.
func TestTwoBecomeOne(t *testing.T) {
	s := newScene(t)
	s.apply(occ("a", 1, 2))
	s.ack("a", "ada")
	s.apply(occ("b", 5, 0))
	s.want(2, "a closed 1", "b unacknowledged 1")
	s.apply(occ("a", 1, 0), occ("b", 5, 0, withdrawn))
	s.want(2, "a acknowledged 1", "b closed 1")
}

// The clearing of a closed alert is taken back while its condition has
// another, open one: there is never more than one to look at.
func TestNeverTwoOpen(t *testing.T) {
	s := newScene(t)
	s.apply(occ("a", 1, 2))
	s.ack("a", "ada")
	s.apply(occ("b", 5, 0))
	s.apply(occ("a", 1, 0))
	s.want(2, "a closed 1", "b unacknowledged 1")
}

func TestTakenBackAndAfterAllTrue(t *testing.T) {
	s := newScene(t)
	s.apply(occ("a", 1, 0))
	s.apply(occ("a", 1, 0, withdrawn))
	s.want(1, "a closed 1")
	s.apply(occ("a", 1, 0))
	s.want(1, "a unacknowledged 1")
	_, events, _ := s.store.Stored()
	var what []string
	for _, e := range events {
		what = append(what, e.What)
	}
	if got := strings.Join(what, " "); got != "raised withdrawn returned" {
		t.Errorf("history is %q", got)
	}

	// With another alert open meanwhile it is an occurrence of that one.
	s.apply(occ("a", 1, 0, withdrawn), occ("b", 3, 4))
	s.apply(occ("a", 1, 2))
	s.want(3, "a closed 1", "b cleared-unacknowledged 1")
	s.apply(occ("b", 3, 4, withdrawn)) // its id cannot become that of the other
	s.want(3, "a closed 1", "b cleared-unacknowledged 2")
}

func TestMovedBeginning(t *testing.T) {
	s := newScene(t)
	s.apply(occ("a", 5, 0))
	s.ack("a", "ada")
	s.apply(occ("b", 4, 0, was("a")))
	s.want(1, "b acknowledged 1")
	if a, err := s.store.Alert(t.Context(), "a"); err != nil || a.ID != "b" || a.AcknowledgedBy != "ada" {
		t.Errorf("the old link leads to %+v, %v", a, err)
	}
	s.apply(occ("a", 5, 0)) // told once more from before it was moved
	s.apply(occ("b", 4, 0, was("a")))
	s.want(1, "b acknowledged 1")
	s.apply(occ("a", 5, 0, was("b"))) // and back
	s.want(1, "a acknowledged 1")
}

// An excursion that late evidence shows before the known one becomes neither
// what the alert stands at nor what it is called.
func TestEarlierOneFoundLater(t *testing.T) {
	s := newScene(t)
	s.apply(occ("b", 5, 0))
	s.ack("b", "ada")
	s.apply(occ("a", 1, 2, func(c *Change) { c.FoundAfterwards = true }))
	s.want(1, "b acknowledged 1")
	rows, _, _ := s.store.Stored()
	if rows[0].LastOccID != "b" || !rows[0].RaisedAt.Equal(nine.Add(5*time.Minute)) {
		t.Errorf("stands at %s raised %s", rows[0].LastOccID, rows[0].RaisedAt)
	}
}

// What was noticed while it lasted was not found afterwards, also where a unit
// is folded again from its telemetry when all is over.
func TestNoticedWhileItLasted(t *testing.T) {
	s := newScene(t)
	s.apply(occ("a", 1, 0))
	s.apply(occ("a", 1, 2, func(c *Change) { c.Noticed, c.FoundAfterwards = nine.Add(time.Hour), true }))
	s.want(1, "a cleared-unacknowledged 1")
	rows, _, _ := s.store.Stored()
	if rows[0].FoundAfterwards || !rows[0].NoticedAt.Equal(nine.Add(time.Minute)) {
		t.Errorf("found afterwards: %v, noticed %s; it was noticed as it began", rows[0].FoundAfterwards, rows[0].NoticedAt)
	}
}

func TestNewOccurrenceIsNobodysYet(t *testing.T) {
	s := newScene(t)
	s.apply(occ("a", 1, 0))
	s.ack("a", "ada")
	s.apply(occ("b", 5, 0)) // the clearing of a was never heard
	s.want(2, "a unacknowledged 2")
	rows, _, _ := s.store.Stored()
	if rows[0].AcknowledgedAt != nil || rows[0].AcknowledgedBy != "" || rows[0].ClearedAt != nil {
		t.Errorf("acknowledged %v by %q, cleared %v; want nobody and never", rows[0].AcknowledgedAt, rows[0].AcknowledgedBy, rows[0].ClearedAt)
	}
}

func TestPagesByPriority(t *testing.T) {
	s := newScene(t)
	s.apply(occ("a", 1, 0, at(lab.Low)))
	s.want(0, "a unacknowledged 1")
	s.apply(occ("a", 1, 0, at(lab.High)))
	s.want(1, "a unacknowledged 1")
	s.ack("a", "ada")
	s.apply(occ("a", 1, 0, at(lab.Urgent)))
	s.apply(occ("a", 1, 0, at(lab.High)))
	s.apply(occ("a", 1, 0, at(lab.Urgent)))
	s.want(2, "a acknowledged 1")
	_, _, pages := s.store.Stored()
	if pages[0].Step != 0 || pages[1].Step != 1 || pages[1].Priority != lab.Urgent {
		t.Errorf("pages are %+v", pages)
	}
	s.apply(occ("b", 3, 4, at(lab.High), func(c *Change) { c.Key, c.FoundAfterwards = "other", true }))
	s.want(2, "a acknowledged 1", "b cleared-unacknowledged 1")
}

// Somebody who acknowledged a shelved alert has been told, page or no page.
func TestAcknowledgedOnTheShelf(t *testing.T) {
	s := newScene(t)
	s.apply(occ("a", 1, 0, at(lab.Low)))
	if _, err := s.actions.Shelve(t.Context(), "a", "ada", 10, "probe"); err != nil {
		t.Fatal(err)
	}
	s.apply(occ("a", 1, 0, at(lab.Urgent)))
	s.ack("a", "ada")
	s.clock.Advance(time.Hour)
	s.apply(occ("a", 1, 0, at(lab.Urgent)))
	s.want(0, "a acknowledged 1")
}

func TestFlappingStaysInBounds(t *testing.T) {
	s := newScene(t)
	var all []Change
	for i := range 3 * maxEpisodes {
		c := occ(fmt.Sprint("o", i), 2*i, 2*i+1)
		all = append(all, c)
		s.apply(c)
	}
	rows, events, pages := s.store.Stored()
	if len(rows) != 1 || len(rows[0].Episodes) != maxEpisodes || rows[0].ID != "o0" || rows[0].Alert.Occurrence != 3*maxEpisodes {
		t.Fatalf("%d alerts, the first %s at occurrence %d with %d episodes", len(rows), rows[0].ID, rows[0].Alert.Occurrence, len(rows[0].Episodes))
	}
	s.apply(all...)
	if _, e, p := s.store.Stored(); len(e) != len(events) || len(p) != len(pages) {
		t.Errorf("told again, the history grew by %d and pages by %d", len(e)-len(events), len(p)-len(pages))
	}
}

// An alert that was stored without its episodes goes on from where it stands.
func TestWithoutEpisodes(t *testing.T) {
	a, _, _ := Apply(nil, []Change{occ("a", 1, 0)}, nine, Policy{})
	a[0].Episodes = nil
	got, events, pages := Apply(a, []Change{occ("a", 1, 2), occ("b", 3, 0)}, nine, Policy{})
	if len(got) != 1 || got[0].ID != "a" || got[0].Alert.Occurrence != 2 || got[0].State != lab.Unacknowledged || len(events) != 2 || len(pages) != 1 {
		t.Errorf("alerts %+v, history %+v, pages %+v", got, events, pages)
	}
}

// What such an alert was told already counts: a low one has had no page yet,
// a high one has had its first. Its occurrence keeps its number.
func TestWithoutEpisodesPagesGoOn(t *testing.T) {
	for was, step := range map[lab.Priority]int{lab.Low: 0, lab.High: 1} {
		a, _, _ := Apply(nil, []Change{occ("a", 1, 0, at(was))}, nine, Policy{})
		a[0].Episodes = nil
		_, _, pages := Apply(a, []Change{occ("a", 1, 0, at(lab.Urgent))}, nine, Policy{})
		if len(pages) != 1 || pages[0].Step != step {
			t.Errorf("from %s to urgent: pages %+v; want one of step %d", was, pages, step)
		}
	}
	a, _, _ := Apply(nil, []Change{occ("a", 1, 2), occ("b", 3, 4), occ("c", 5, 0)}, nine, Policy{})
	a[0].Episodes = nil
	if got, _, pages := Apply(a, []Change{occ("c", 5, 0, at(lab.Urgent))}, nine, Policy{}); len(pages) != 1 || pages[0].Occurrence != 3 {
		t.Errorf("the third occurrence turns urgent: %+v, pages %+v", got, pages)
	}
}
