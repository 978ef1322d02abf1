package report

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"go.uber.org/goleak"

	"wetside/ingest"
	"wetside/internal/lab"
	"wetside/internal/simulation/sim"
	"wetside/rules"
	"wetside/rules/timeline"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

var nine = time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)

// watched is what a simulated unit sent and how its runs were judged live.
type watched struct {
	unit     lab.UnitID
	messages []lab.Message
	runs     map[string]lab.Run // by the unit's own name, as they stood last
	order    []string
	found    map[string]timeline.OccurrenceChange
	truth    []sim.RunTruth
	entries  []lab.Entry
	before   map[string]*State // the fold's state before each run, by id
}

// history implements timeline.History for the live engine.
func (w *watched) UnitMessages(ctx context.Context, u lab.UnitID, floor int64) ([]lab.Message, error) {
	return heldMessages(w.messages).UnitMessages(ctx, u, floor)
}

// simulate runs one unit and judges it live, message by message, with time
// passing in between.
func simulate(t testing.TB, plan sim.UnitPlan, faults []sim.Fault, seed uint64, dur time.Duration) *watched {
	t.Helper()
	if plan.Name == "" {
		plan.Name = "plover"
	}
	if plan.Levels == nil {
		plan.Levels = map[string]float64{"waste": 1}
	}
	for i := range faults {
		faults[i].Unit = plan.Name
	}
	l, err := sim.New(sim.Config{Seed: seed, Start: nine, Schedule: sim.Schedule{Units: []sim.UnitPlan{plan}, Faults: faults}})
	if err != nil {
		t.Fatal(err)
	}
	w := &watched{unit: lab.UnitID{Lab: "tern-street", Unit: plan.Name}, runs: map[string]lab.Run{}, found: map[string]timeline.OccurrenceChange{}}
	e := timeline.NewEngine(rules.Config{})
	e.Monitoring(nine)
	note := func(ch timeline.Changes, err error) {
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range ch.Runs {
			if _, ok := w.runs[r.Run]; !ok {
				w.order = append(w.order, r.Run)
			}
			w.runs[r.Run] = r
		}
		for _, o := range ch.Occurrences {
			delete(w.found, o.Was)
			w.found[o.ID] = o
		}
	}
	seen, actions := map[string]bool{}, 0
	ended := func() (last time.Time) { // zero while not all have
		if len(w.runs) < len(plan.Runs) {
			return last
		}
		for _, r := range w.runs {
			if r.EndedAt == nil {
				return time.Time{}
			}
			if r.EndedAt.After(last) {
				last = r.EndedAt.Time
			}
		}
		return last
	}
	const tick = 5 * time.Second
	for at := nine; at.Before(nine.Add(dur)); at = at.Add(tick) {
		if end := ended(); !end.IsZero() && at.After(end.Add(3*time.Minute)) {
			break
		}
		for _, raw := range l.Advance(at) {
			m, err := ingest.Decode(raw)
			key := fmt.Sprint(m.Boot, m.Seq)
			if err != nil || !m.Will && seen[key] {
				continue
			}
			seen[key] = true
			m.Arrival = w.next()
			w.messages = append(w.messages, m)
			note(e.Feed(context.Background(), []lab.Arrival{{Message: &m}}, w))
		}
		note(e.Tick(context.Background(), at, w))
		for _, d := range l.Actions()[actions:] {
			if d.Entry.Entered.After(at) {
				break
			}
			actions++
			x := d.Entry
			x.ID, x.RunID, x.Arrival = fmt.Sprint("e", actions), w.runs[d.Run].ID, w.next()
			w.entries = append(w.entries, x)
			note(e.Feed(context.Background(), []lab.Arrival{{Entry: &x}}, w))
		}
	}
	w.before = map[string]*State{}
	for _, r := range w.runs {
		if v, blob, ok := e.Before(w.unit, r.ID); ok {
			w.before[r.ID] = &State{Version: v, Blob: blob}
		}
	}
	w.truth = l.Runs()
	return w
}

// next is the next arrival number.
func (w *watched) next() int64 { return int64(len(w.messages) + len(w.entries) + 1) }

// evidence is the evidence of the n-th run.
func (w *watched) evidence(t testing.TB, n int) Evidence {
	t.Helper()
	if n >= len(w.order) {
		t.Fatalf("the simulated unit made %d runs, want more than %d", len(w.order), n)
	}
	ev := Evidence{Unit: w.unit, UnitName: "Plover", RunName: w.order[n], Messages: w.messages, Entries: w.entries, MadeBy: "wetside test",
		Criteria: Freeze(rules.Config{}, w.runs[w.order[n]].Process, w.runs[w.order[n]].StartedAt.Time)}
	for _, o := range w.found {
		if o.RunID == w.runs[ev.RunName].ID && !o.Withdrawn {
			ev.Alerts = append(ev.Alerts, lab.Alert{ID: o.ID, Rule: o.Rule, Unit: o.Unit.String(), Run: o.RunID, Step: o.Step,
				Priority: o.Priority, RaisedAt: lab.At(o.RaisedAt), Message: o.Message})
		}
	}
	return ev
}

func made(t testing.TB, ev Evidence) Made {
	t.Helper()
	m, err := Make(ev)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func asJSON(t testing.TB, v any) []byte {
	t.Helper()
	b, err := json.MarshalIndent(v, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// again marshals evidence and reads it back, as from a record.
func again(t testing.TB, ev Evidence) Evidence {
	t.Helper()
	var out Evidence
	if err := json.Unmarshal(asJSON(t, ev), &out); err != nil {
		t.Fatal(err)
	}
	return out
}

func sameJSON(t testing.TB, what string, a, b any) {
	t.Helper()
	x, y := asJSON(t, a), asJSON(t, b)
	if !bytes.Equal(x, y) {
		t.Errorf("%s differ:\n%s\n--- and\n%s", what, x, y)
	}
}
