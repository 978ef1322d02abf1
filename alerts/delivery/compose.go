package delivery

import (
	"cmp"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"slices"
	"strings"
	"time"

	"wetside/alerts/escalate"
	"wetside/internal/lab"
)

// maxItems is how many alerts a message tells of in full.
const maxItems = 20

// newID makes the id of a message.
func newID() string { return "pg-" + strings.ToLower(rand.Text()) }

// compose makes the one message of some pages to a person.
func (w *Worker) compose(person string, pages []lab.CasePage, cases []lab.PageCase, now time.Time) lab.PageMessage {
	m := lab.PageMessage{ID: newID(), Person: person, CreatedAt: now}
	again := false
	for _, p := range pages {
		m.PageIDs = append(m.PageIDs, p.ID)
		if p.Priority.Rank() > m.Priority.Rank() {
			m.Priority = p.Priority
		}
		again = again || p.Step > 0
	}
	for _, c := range cases {
		m.Cases = append(m.Cases, c.ID)
	}
	m.Body = w.body(m.ID, cases, pages[0].CreatedAt, again, now)
	return m
}

// body words a message as things stand at now. made is when its pages were.
func (w *Worker) body(id string, cases []lab.PageCase, made time.Time, again bool, now time.Time) (b lab.PageBody) {
	items := w.itemsOf(cases, now)
	b.Again = again && !leadWith(items, cases, made.Add(-newsFor))
	if len(items) == 0 { // all were answered in this very moment
		b.Title, b.Text = "Acknowledged meanwhile", "Somebody has acknowledged it. There is nothing for you to do."
		return b
	}
	b.Title, b.Text = words(items, cases, b.Again, now)
	b.Topic = topic(cases[0].Group)
	b.Items = items[:min(len(items), maxItems)]
	b.More = len(items) - len(b.Items)
	b.Link = link(w.cfg.Key, w.address(), id)
	if b.Until = w.until(items, cases, now); !b.Until.IsZero() {
		b.After = fmt.Sprintf("The time for what this page said (%s) has passed: open it for what holds now.", w.clock()(b.Until.Time))
	}
	return b
}

// reword words a message that is tried again: not what held at its first
// try, but what holds now.
func (w *Worker) reword(m lab.PageMessage, cases []lab.PageCase, now time.Time) lab.PageBody {
	return w.body(m.ID, cases, m.CreatedAt, m.Body.Again, now)
}

// present is how things stand for a unit.
func (w *Worker) present(unit string, now time.Time) lab.Present {
	return lab.Present{At: now, Film: w.cfg.Film(unit), Clock: w.clock()}
}

// until is the first moment from which what a page orders no longer holds.
func (w *Worker) until(items []lab.PageItem, cases []lab.PageCase, now time.Time) (first lab.Time) {
	for _, c := range cases {
		for _, m := range c.Members {
			at, ok := m.Alert.OrderedBy()
			told := slices.ContainsFunc(items, func(it lab.PageItem) bool { return it.AlertID == m.AlertID })
			if ok && told && at.After(now) && !m.Alert.Spent(w.present(m.Alert.Unit, now)) && m.Alert.ClearedAt == nil && (first.IsZero() || at.Before(first.Time)) {
				first = lab.At(at)
			}
		}
	}
	return first
}

// clock words moments as the clock on the lab's wall has them.
func (w *Worker) clock() func(time.Time) string {
	zone, err := time.LoadLocation(planOf(w.state.Load()).TimeZone)
	if err != nil {
		zone = time.UTC
	}
	return func(at time.Time) string { return at.In(zone).Format("15:04:05") }
}

// newsFor is how long before its page was made what a page leads with came.
const newsFor = 5 * time.Second

// leadWith puts first what is urgent and joined a case that was open already:
// a page about it leads with it, not with what people know. It tells whether
// there is any.
func leadWith(items []lab.PageItem, cases []lab.PageCase, since time.Time) bool {
	for _, c := range cases {
		for _, m := range c.Members {
			if m.Priority != lab.Urgent || m.Since.Before(since) || !m.Since.After(c.OpenedAt) {
				continue
			}
			i := slices.IndexFunc(items, func(it lab.PageItem) bool { return it.AlertID == m.AlertID && it.Occurrence == m.Occurrence })
			if i < 0 {
				continue
			}
			it := items[i]
			copy(items[1:i+1], items[:i])
			items[0] = it
			return true
		}
	}
	return false
}

// itemsOf lists what is still open in cases: what goes on before what has
// cleared, the most pressing first, and among those the one that came first.
// Each says what holds now.
func (w *Worker) itemsOf(cases []lab.PageCase, now time.Time) []lab.PageItem {
	var items []lab.PageItem
	cleared, units := map[string]int{}, w.cfg.Units()
	for _, c := range cases {
		for _, m := range c.Members {
			if state, _ := escalate.StateOf(m); state == escalate.Over {
				continue
			}
			a, present := m.Alert, w.present(m.Alert.Unit, now)
			items = append(items, lab.PageItem{
				AlertID: a.ID, Occurrence: m.Occurrence, Rule: a.Rule, Unit: a.Unit, Priority: a.Priority, RaisedAt: a.RaisedAt,
				Message: units.Read(a.Heading(present)), Consequence: units.Read(a.Consequence), Response: units.Read(a.ToDoLasting(present)),
			})
			if a.ClearedAt != nil {
				cleared[a.ID] = 1
			}
		}
	}
	slices.SortStableFunc(items, func(a, b lab.PageItem) int {
		return cmp.Or(cleared[a.AlertID]-cleared[b.AlertID], b.Priority.Rank()-a.Priority.Rank(), a.RaisedAt.Compare(b.RaisedAt.Time))
	})
	return items
}

// words writes title and text: what is worst, what to do, and what else.
func words(items []lab.PageItem, cases []lab.PageCase, again bool, now time.Time) (title, text string) {
	first := items[0]
	title = fmt.Sprintf("%s: %s", unitName(first.Unit), first.Message)
	if first.Priority == lab.Urgent {
		title = "Urgent. " + title
	}
	text = first.Response
	if n := len(items) - 1; n > 0 {
		title += fmt.Sprintf(" (and %d more)", n)
		text += fmt.Sprintf(" Also: %s.", others(items))
		if came := firstOut(items); came != first {
			text += fmt.Sprintf(" It began with %s: %s.", unitName(came.Unit), came.Message)
		}
	}
	if again {
		text = fmt.Sprintf("Not acknowledged for %s. %s", since(cases, now), text)
	}
	return cut(title, 180), cut(text, 1200)
}

// firstOut is what came first of all.
func firstOut(items []lab.PageItem) lab.PageItem {
	return slices.MinFunc(items, func(a, b lab.PageItem) int { return a.RaisedAt.Compare(b.RaisedAt.Time) })
}

// others names the units and how many alerts each has, but for the first alert.
func others(items []lab.PageItem) string {
	var names []string
	count := map[string]int{}
	for _, it := range items[1:] {
		name := unitName(it.Unit)
		if count[name] == 0 {
			names = append(names, name)
		}
		count[name]++
	}
	const shown = 8
	var parts []string
	for i, name := range names {
		if i == shown {
			parts = append(parts, fmt.Sprintf("%d other units", len(names)-shown))
			break
		}
		if n := count[name]; n > 1 {
			name = fmt.Sprintf("%s (%d)", name, n)
		}
		parts = append(parts, name)
	}
	return strings.Join(parts, ", ")
}

func since(cases []lab.PageCase, now time.Time) string {
	oldest := slices.MinFunc(cases, func(a, b lab.PageCase) int { return a.OpenedAt.Compare(b.OpenedAt) })
	d := now.Sub(oldest.OpenedAt)
	switch {
	case d < 2*time.Minute:
		return fmt.Sprintf("%d s", int(d.Seconds()))
	case d < 2*time.Hour:
		return fmt.Sprintf("%d min", int(d.Minutes()))
	}
	return fmt.Sprintf("%d h", int(d.Hours()))
}

// unitName is what people call a unit in a few letters.
func unitName(unit string) string {
	_, name, _ := strings.Cut(unit, "/")
	if name == "" {
		return "Wetside"
	}
	return strings.ToUpper(name[:1]) + name[1:]
}

// cut shortens a text to so many bytes, at a letter.
func cut(s string, most int) string {
	if len(s) <= most {
		return s
	}
	return strings.ToValidUTF8(s[:most-len("…")], "") + "…"
}

// topic is the Topic of RFC 8030: at most 32 letters of base64url.
func topic(group string) string {
	sum := sha256.Sum256([]byte(group))
	return base64.RawURLEncoding.EncodeToString(sum[:])[:32]
}

// TestMessage makes a message that tries one contact method of a person. key is
// that of the Worker that will send it, address where a phone reaches the
// board.
func TestMessage(key []byte, address, person, method string, now time.Time) lab.PageMessage {
	m := lab.PageMessage{ID: newID(), Person: person, Priority: lab.High, CreatedAt: now, NextTry: now, OnlyMethod: method}
	m.Body = lab.PageBody{
		Title: "Test: wetside can reach you", Test: true, Items: []lab.PageItem{}, Topic: topic("test " + method),
		Text: fmt.Sprintf("A test by %s to %s. Nothing is wrong and there is nothing to do.", method, person),
		Link: link(key, address, m.ID),
	}
	return m
}

func (w *Worker) testMessage(person, method string, now time.Time) lab.PageMessage {
	return TestMessage(w.cfg.Key, w.address(), person, method, now)
}
