package rulestest

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/rules"
	"wetside/rules/timeline"
)

// Bench plays telemetry to an engine as the live worker does, and keeps what
// came of it.
type Bench struct {
	TB    testing.TB
	E     *timeline.Engine
	Store map[string]lab.Message
	List  []lab.Message
	No    int64
	Found map[string]timeline.OccurrenceChange
	Runs  map[string]lab.Run
	Clock time.Time
	Ticks time.Duration
	Due   []lab.Entry // what people will enter, by when
}

// NewBench has an engine with the built-in sheets and rules.
func NewBench(tb testing.TB) *Bench {
	return &Bench{TB: tb, E: timeline.NewEngine(rules.Config{}), Store: map[string]lab.Message{}, Found: map[string]timeline.OccurrenceChange{},
		Runs: map[string]lab.Run{}, Ticks: 5 * time.Second}
}

// UnitMessages implements timeline.History.
func (b *Bench) UnitMessages(_ context.Context, u lab.UnitID, floor int64) ([]lab.Message, error) {
	var out []lab.Message
	for _, m := range b.List {
		if m.Unit == u && m.Arrival >= floor {
			out = append(out, m)
		}
	}
	return out, nil
}

// Note takes down what was found, and holds each alert to its card.
func (b *Bench) Note(ch timeline.Changes, err error) {
	b.TB.Helper()
	if err != nil {
		b.TB.Fatal(err)
	}
	for _, o := range ch.Occurrences {
		if o.Was != "" && o.Was != o.ID {
			delete(b.Found, o.Was)
		}
		if o.Withdrawn {
			delete(b.Found, o.ID)
			continue
		}
		if r, ok := rules.Builtin().Rules[o.Rule].Respond[o.Priority]; !ok || o.Facts["respond_s"] != r.WithinS {
			b.TB.Errorf("%s was raised as %s to be answered within %v s; its card says %+v", o.Rule, o.Priority, o.Facts["respond_s"], r)
		}
		b.Found[o.ID] = o
	}
	for _, r := range ch.Runs {
		b.Runs[r.ID] = r
	}
}

// Stored keeps a message once, as the store does, and numbers it.
func (b *Bench) Stored(m lab.Message) (lab.Arrival, bool) {
	key := fmt.Sprint(m.Unit, m.Boot, m.Seq, m.Will && true, m.Received.UnixNano()*int64(btoi(m.Will)))
	if _, twice := b.Store[key]; twice {
		return lab.Arrival{}, false
	}
	b.No++
	m.Arrival = b.No
	b.Store[key] = m
	b.List = append(b.List, m)
	return lab.Arrival{Message: &m}, true
}

func btoi(v bool) int {
	if v {
		return 1
	}
	return 0
}

// Tick lets time pass to a moment.
func (b *Bench) Tick(to time.Time) {
	if b.Clock.IsZero() {
		return
	}
	for t := b.Clock.Add(b.Ticks); t.Before(to); t = t.Add(b.Ticks) {
		b.Note(b.E.Tick(b.TB.Context(), t, b))
	}
}

// Play delivers messages one by one with the passing of time between them.
func (b *Bench) Play(msgs []lab.Message) *Bench {
	b.TB.Helper()
	for _, m := range msgs {
		b.EnterUntil(m.Received)
		b.Tick(m.Received)
		b.Clock = m.Received
		if a, ok := b.Stored(m); ok {
			b.Note(b.E.Feed(b.TB.Context(), []lab.Arrival{a}, b))
		}
	}
	return b
}

// Entered gives what people have entered by then, numbered.
func (b *Bench) Entered(by time.Time) (out []lab.Arrival) {
	for len(b.Due) > 0 && !b.Due[0].Entered.After(by) {
		e := b.Due[0]
		b.Due = b.Due[1:]
		b.No++
		e.Arrival = b.No
		out = append(out, lab.Arrival{Entry: &e})
	}
	return out
}

// EnterUntil has people enter what is due by then.
func (b *Bench) EnterUntil(by time.Time) {
	b.TB.Helper()
	for _, a := range b.Entered(by) {
		b.Tick(a.Entry.Entered)
		b.Clock = lab.Later(b.Clock, a.Entry.Entered)
		b.Note(b.E.Feed(b.TB.Context(), []lab.Arrival{a}, b))
	}
}

// Until lets time pass with nothing arriving.
func (b *Bench) Until(s float64) *Bench {
	b.EnterUntil(Moment(s))
	b.Tick(Moment(s))
	b.Clock = Moment(s)
	b.Note(b.E.Tick(b.TB.Context(), b.Clock, b))
	return b
}

// Line writes an occurrence as the tables do: rule, step, subject, priority,
// raised, cleared.
func Line(o timeline.OccurrenceChange) string {
	s := o.Rule + " " + o.Step
	if o.Subject != "" && o.Rule != rules.RulePowerResumed {
		s += "/" + o.Subject
	}
	s += fmt.Sprintf(" %s %g-", o.Priority, o.RaisedAt.Sub(Nine).Seconds())
	if !o.ClearedAt.IsZero() {
		s += fmt.Sprintf("%g", o.ClearedAt.Sub(Nine).Seconds())
	}
	return s
}

// Lines lists what was found, by time of raising.
func (b *Bench) Lines() []string {
	list := slices.Collect(maps.Values(b.Found))
	slices.SortFunc(list, func(x, y timeline.OccurrenceChange) int {
		return cmp.Or(x.RaisedAt.Compare(y.RaisedAt), strings.Compare(Line(x), Line(y)))
	})
	var out []string
	for _, o := range list {
		out = append(out, Line(o))
	}
	return out
}

// Want holds what was found to the lines of a table.
func (b *Bench) Want(lines ...string) {
	b.TB.Helper()
	if got := b.Lines(); !slices.Equal(got, lines) {
		b.TB.Errorf("\n  found %s\n must be %s", strings.Join(got, "\n          "), strings.Join(lines, "\n          "))
	}
}

// Scenario is a row of a table: what a unit sends, and what is found.
type Scenario struct {
	Name    string
	Process string
	Write   func(s *Script)
	Want    []string
	Until   float64
}

// RunScenarios plays the rows of a table.
func RunScenarios(t *testing.T, list []Scenario) {
	t.Helper()
	for _, sc := range list {
		t.Run(sc.Name, func(t *testing.T) {
			s := NewScript(cmp.Or(sc.Process, "c41"))
			sc.Write(s)
			b := NewBench(t).Play(s.Messages())
			if sc.Until > 0 {
				b.Until(sc.Until)
			}
			b.Want(sc.Want...)
		})
	}
}

// Played plays a script with what people enter.
func Played(t *testing.T, s *Script, entries ...lab.Entry) *Bench {
	t.Helper()
	b := NewBench(t)
	b.Due = InOrder(entries)
	b.Play(s.Messages()).EnterUntil(Never)
	b.Note(b.E.Flush(t.Context(), b))
	return b
}

// HeardBy plays what arrives until a moment.
func HeardBy(t *testing.T, s *Script, at float64) *Bench {
	t.Helper()
	msgs := s.Messages()
	i := slices.IndexFunc(msgs, func(m lab.Message) bool { return m.Received.After(Moment(at)) })
	if i < 0 {
		i = len(msgs)
	}
	return NewBench(t).Play(msgs[:i])
}

// The gives the occurrence of a rule that was raised last.
func (b *Bench) The(rule string) timeline.OccurrenceChange {
	b.TB.Helper()
	var last timeline.OccurrenceChange
	for _, o := range b.Found {
		if o.Rule == rule && (last.ID == "" || o.RaisedAt.After(last.RaisedAt)) {
			last = o
		}
	}
	if last.ID == "" {
		b.TB.Fatalf("no %s among %v", rule, b.Lines())
	}
	return last
}

// Says looks for words in what a rule told.
func (b *Bench) Says(rule string, words ...string) {
	b.TB.Helper()
	o := b.The(rule)
	for _, w := range words {
		if all := o.Message + " | " + o.Response + " | " + o.Consequence; !strings.Contains(all, w) {
			b.TB.Errorf("%s does not say %q: %s", rule, w, all)
		}
	}
}

// Outage is the one outage of a script's run.
func (b *Bench) Outage(s *Script) lab.Outage {
	b.TB.Helper()
	r := b.Runs[rules.RunID(s.Unit, s.Run)]
	if len(r.Outages) != 1 {
		b.TB.Fatalf("%d outages; there must be one", len(r.Outages))
	}
	return r.Outages[0]
}

// Judged holds a run to its verdict and reasons.
func (b *Bench) Judged(t *testing.T, run, verdict string, want ...string) {
	t.Helper()
	r := b.Runs[rules.RunID(NewScript("c41").Unit, run)]
	got := ""
	if r.Verdict != nil {
		got = *r.Verdict
	}
	if got != verdict || !slices.Equal(Reasons(r), want) {
		t.Errorf("verdict %q by %v; must be %q by %v", got, r.Reasons, verdict, want)
	}
}

// Only is the one occurrence of a rule.
func (b *Bench) Only(rule string) timeline.OccurrenceChange {
	b.TB.Helper()
	for _, o := range b.Found {
		if o.Rule == rule {
			return o
		}
	}
	b.TB.Fatalf("no %s was found: %v", rule, b.Lines())
	return timeline.OccurrenceChange{}
}

// Restarted goes on with the unit's state as it is stored.
func (b *Bench) Restarted(u lab.UnitID) {
	b.TB.Helper()
	version, blob, _ := b.E.Snapshot(u)
	if !json.Valid(blob) {
		b.TB.Fatal("the state is not JSON")
	}
	b.E = timeline.NewEngine(rules.Config{})
	if err := b.E.Restore(u, version, blob); err != nil {
		b.TB.Fatal(err)
	}
}

// Passes lets time pass by a clock that shows so much more than it should.
func (b *Bench) Passes(from, to float64, off time.Duration) {
	for s := from; s <= to; s++ {
		b.Note(b.E.Tick(b.TB.Context(), Moment(s).Add(off), b))
	}
}

// Outcome is what must not depend on how telemetry arrived.
func (b *Bench) Outcome() string {
	var out []string
	for _, o := range b.Found {
		if o.Rule == rules.RulePowerLost && o.Priority == lab.Low {
			o.ClearedAt = time.Time{} // an idle unit's ends when it goes offline, which is judged on arrival
		}
		if o.Rule != rules.RuleUnitSilent && o.Rule != rules.RuleClockOff {
			out = append(out, o.Unit.Unit+" "+Line(o)+" "+o.ID)
		}
	}
	for _, r := range b.Runs {
		v, err := json.Marshal(r)
		if err != nil {
			b.TB.Fatal(err)
		}
		out = append(out, string(v))
	}
	slices.Sort(out)
	return strings.Join(out, "\n")
}

// Differ lists the lines that two outcomes do not share.
func Differ(got, want string) string {
	g, w := strings.Split(got, "\n"), strings.Split(want, "\n")
	var out []string
	for _, l := range g {
		if !slices.Contains(w, l) {
			out = append(out, "+ "+l)
		}
	}
	for _, l := range w {
		if !slices.Contains(g, l) {
			out = append(out, "- "+l)
		}
	}
	return strings.Join(out, "\n")
}

// Restart goes on with a new engine that has the stored states.
func (b *Bench) Restart() {
	old := b.E
	b.E = timeline.NewEngine(rules.Config{})
	for _, u := range old.Units() {
		v, blob, _ := old.Snapshot(u)
		if err := b.E.Restore(u, v, blob); err != nil {
			b.TB.Fatal(err)
		}
	}
}

// Refuses plays messages of which some are refused: those are in quarantine
// with an envelope that can be read, and not in the store.
func (b *Bench) Refuses(msgs []lab.Message, which func(m *lab.Message) bool, envelope bool, late float64) *Bench {
	var after []lab.Arrival
	for i := range msgs {
		m := msgs[i]
		if m.Will || !which(&m) {
			b.Play(msgs[i : i+1])
			continue
		}
		q := &lab.Quarantined{Received: m.Received, Topic: lab.Topic(m.Unit, m.Channel), Reason: "range: bath_c must be -300 to 2,000; got 5,000",
			Unit: m.Unit, Payload: fmt.Appendf(nil, `{"at":"x","boot":%q,"seq":%d,"bath_c":5000}`, m.Boot, m.Seq)}
		if !envelope {
			q.Payload = []byte("not json")
		}
		if late > 0 {
			q.Received = q.Received.Add(lab.Seconds(late))
			after = append(after, lab.Arrival{Refused: q})
			continue
		}
		b.Refuse(q)
	}
	for _, a := range after {
		b.Refuse(a.Refused)
	}
	return b
}

// Refuse feeds a refused message.
func (b *Bench) Refuse(q *lab.Quarantined) {
	b.Tick(q.Received)
	b.Clock = lab.Later(b.Clock, q.Received)
	b.No++
	q.Arrival = b.No
	b.Note(b.E.Feed(b.TB.Context(), []lab.Arrival{{Refused: q}}, b))
}

// SameAgain folds the run once more from the state before it, and compares.
func (b *Bench) SameAgain(t *testing.T, s *Script) {
	t.Helper()
	id := rules.RunID(s.Unit, "r1")
	version, blob, ok := b.E.Before(s.Unit, id)
	if !ok {
		t.Fatal("the state before the run is not kept")
	}
	again := NewBench(t)
	if err := again.E.Restore(s.Unit, version, blob); err != nil {
		t.Fatal(err)
	}
	again.Play(b.List)
	if x, y := Reasons(b.Runs[id]), Reasons(again.Runs[id]); !slices.Equal(x, y) || len(b.Runs[id].Gaps) != len(again.Runs[id].Gaps) {
		t.Errorf("folded again from its beginning: reasons %v, gaps %v; must be %v, %v", y, again.Runs[id].Gaps, x, b.Runs[id].Gaps)
	}
}

// View is the unit's view as of its last message.
func (b *Bench) View(u lab.UnitID) lab.Unit {
	b.TB.Helper()
	v, ok := b.E.View(u, b.Clock)
	if !ok || v.LastHeardAt == nil {
		b.TB.Fatalf("no data received from %s", u)
	}
	v, _ = b.E.View(u, v.LastHeardAt.Time)
	return v
}

// Reasons are the reasons of a verdict, each with its step.
func Reasons(r lab.Run) (out []string) {
	for _, x := range r.Reasons {
		out = append(out, x.Code+" "+x.Step)
	}
	return out
}
