package timeline_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"wetside/ingest"
	"wetside/internal/lab"
	"wetside/internal/simulation/sim"
	"wetside/rules"
	"wetside/rules/rulestest"
	"wetside/rules/timeline"
)

// Stored states under testdata/states were written on 2026-11-30 by the
// program of that day, from simulated units. They stay as they are: whatever
// becomes of the code, it must read them. A version of the state that it does
// not read any more is a new StateVersion and a new set beside this one.
var writeStates = flag.Bool("write-states", false, "write testdata/states anew, by the program of today")

// stated is a unit on its way to a stored state.
type stated struct {
	name    string
	plan    sim.UnitPlan
	faults  []sim.Fault
	entries map[time.Duration]lab.Entry // by when they are entered
	at      time.Duration               // when its state is stored
	holds   []string                    // what must be in the state, for it to be worth keeping
}

var (
	stateStart = time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	plover     = lab.UnitID{Lab: "tern-street", Unit: "plover"}
)

func states() []stated {
	const s, m = time.Second, time.Minute
	c41 := sim.UnitPlan{Name: "plover", Processes: []string{"c41"}, Runs: []sim.RunPlan{{Process: "c41", At: stateStart.Add(2 * m)}}, Levels: map[string]float64{"waste": 1}}
	busy := sim.UnitPlan{Name: "plover", Processes: []string{"c41", "e6-7"}, Endless: &sim.Endless{PauseMin: m, PauseMax: 2 * m}}
	fault := func(f sim.Fault) []sim.Fault {
		f.Unit, f.Run = "plover", 1
		return []sim.Fault{f}
	}
	return []stated{
		{name: "idle", plan: c41, at: 90 * s, holds: []string{`"phase":"idle"`, `"marks":[{`}},
		{name: "in the developer", plan: c41, at: 10 * m, holds: []string{`"outcome":"running"`, `"id":"developer"`}},
		{name: "waiting behind a hole", plan: c41, faults: fault(sim.Fault{Kind: sim.NetworkLoss, Step: "bleach", After: 60 * s, For: 5 * s}), holds: []string{`"pending":[{`}},
		{name: "after a hole", plan: c41, faults: fault(sim.Fault{Kind: sim.NetworkLoss, Step: "bleach", After: 60 * s, For: 30 * s}), at: 26 * m, holds: []string{`"gaps":[{`, `"holes":[{`}},
		{name: "many runs", plan: busy, at: 6 * time.Hour, holds: []string{`"past":{"c41"`, `"habits":{`, `"fills":{`}},
		{name: "silent in a run", plan: c41, faults: fault(sim.Fault{Kind: sim.Silence, Step: "bleach", After: 60 * s, For: 10 * time.Hour}), at: 40 * m, holds: []string{`"silent":"`, `"will":"`}},
		{name: "given up", plan: c41, faults: fault(sim.Fault{Kind: sim.Silence, Step: "bleach", After: 60 * s, For: 10 * time.Hour}), at: 9 * time.Hour, holds: []string{`"lost":{`, `"films":[{`}},
		{name: "clock lost", plan: c41, faults: fault(sim.Fault{Kind: sim.ClockLost, Step: "developer", After: 20 * s, For: 60 * s}), holds: []string{`"bad_at":true`, `"clock_on":"`}},
		{name: "restarted", plan: c41, faults: fault(sim.Fault{Kind: sim.Restart, Step: "bleach", After: 60 * s, For: 40 * s}), at: 25 * m, holds: []string{`"outages":[{`, `"kind":"restart"`, `"down_t":"`}},
		{name: "film of two runs", plan: sim.UnitPlan{Name: "plover", Processes: []string{"c41"}, Runs: []sim.RunPlan{{Process: "c41"}, {Process: "c41", From: "bleach", Continues: true}}},
			faults: fault(sim.Fault{Kind: sim.Aborted, Step: "bleach", After: 60 * s}), holds: []string{`"took":{`, `"continues":"`, `"record":{`}},
		{name: "on battery", plan: c41, faults: fault(sim.Fault{Kind: sim.PowerCut, Step: "developer", After: 30 * s, For: 5 * m}), holds: []string{`"source":"battery"`, `"cool":{`}},
		{name: "refused", plan: c41, faults: fault(sim.Fault{Kind: sim.Malformed, Strength: 30, For: 20 * m}), at: 12 * m, holds: []string{`"refused":[`}},
		{name: "entered", plan: c41, at: 20 * m, holds: []string{`"entries":[{`, `"back":["`, `"probe":{`, `"done":{`, `"capacity":{`},
			entries: map[time.Duration]lab.Entry{
				60 * s: enter("e1", lab.EntryProbe, lab.ProbeCheck{OffsetC: 0.1}),
				70 * s: enter("e2", lab.EntryLoad, lab.Load{Process: "c41", Push: 1, Rolls: []lab.Roll{{TwinCheck: "48213"}}}),
				80 * s: enter("e3", lab.EntryCapacity, lab.ContainerCapacity{Container: "waste", CapacityL: 16}),
				9 * m:  enter("e4", lab.EntryContainer, lab.ContainerEvent{Container: "waste", What: lab.Emptied}),
				15 * m: enter("e5", lab.EntryTakesBack, lab.TakesBack{ID: "e4"}),
				16 * m: enter("e6", lab.EntryStrip, lab.Strip{Process: "c41", Status: lab.StripOut}),
			}},
	}
}

func enter(id, what string, body any) lab.Entry {
	raw, err := json.Marshal(body)
	if err != nil {
		panic(err)
	}
	return lab.Entry{ID: id, Unit: plover, What: what, By: "Wren", Body: raw}
}

// walk plays the unit and gives its stored state; without a time of its own
// the first that holds what it should.
func (c stated) walk(t *testing.T) []byte {
	t.Helper()
	start := stateStart
	l, err := sim.New(sim.Config{Seed: 11, Start: start, Schedule: sim.Schedule{Units: []sim.UnitPlan{c.plan}, Faults: c.faults}})
	if err != nil {
		t.Fatal(err)
	}
	e, k, no, seen := timeline.NewEngine(rules.Config{}), &rulestest.Kept{}, int64(0), map[string]bool{}
	e.Monitoring(start)
	feed := func(a lab.Arrival) {
		if _, err := e.Feed(t.Context(), []lab.Arrival{a}, k); err != nil {
			t.Fatal(err)
		}
	}
	stored := func() []byte {
		for _, u := range e.Units() {
			_, blob, _ := e.Snapshot(u)
			return blob
		}
		return nil
	}
	for d := time.Duration(0); d < 24*time.Hour; d += time.Second {
		at := start.Add(d)
		for _, raw := range l.Advance(at) {
			m, err := ingest.Decode(raw)
			no++
			if err != nil {
				q := lab.Quarantined{Unit: plover, Received: raw.Received, Arrival: no, Reason: err.Error(), Topic: raw.Topic, Payload: raw.Payload}
				feed(lab.Arrival{Refused: &q})
				continue
			}
			if key := fmt.Sprint(m.Boot, m.Seq); m.Will || !seen[key] {
				seen[key] = true
				m.Arrival = no
				k.List = append(k.List, m)
				feed(lab.Arrival{Message: &m})
			}
		}
		if en, ok := c.entries[d]; ok {
			no++
			en.Arrival, en.At, en.Entered = no, at, at
			feed(lab.Arrival{Entry: &en})
		}
		if _, err := e.Tick(t.Context(), at, k); err != nil {
			t.Fatal(err)
		}
		if blob := stored(); c.at == 0 && c.held(blob) == "" || c.at > 0 && d == c.at {
			return blob
		}
	}
	t.Fatalf("%s: no such state within a day", c.name)
	return nil
}

// held gives what the state lacks of what it should hold.
func (c stated) held(blob []byte) string {
	for _, h := range c.holds {
		if !bytes.Contains(blob, []byte(h)) {
			return h
		}
	}
	return ""
}

func (c stated) file() string {
	return filepath.Join("testdata", "states", strings.ReplaceAll(c.name, " ", "-")+".json")
}

// A state that was stored before is read, and stored again as it was, to the
// byte: labs have thousands of them, and an update must not fold them anew.
func TestStoredStatesReadAndWriteTheSame(t *testing.T) {
	for _, c := range states() {
		t.Run(c.name, func(t *testing.T) {
			if *writeStates {
				if err := os.WriteFile(c.file(), c.walk(t), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			was, err := os.ReadFile(c.file())
			if err != nil {
				t.Fatal(err)
			}
			if lacks := c.held(was); lacks != "" {
				t.Errorf("the stored state does not hold %s", lacks)
			}
			e, u := timeline.NewEngine(rules.Config{}), plover
			if err := e.Restore(u, timeline.StateVersion, was); err != nil {
				t.Fatal(err)
			}
			if _, now, _ := e.Snapshot(u); !bytes.Equal(now, was) {
				t.Errorf("read and written again it differs from byte %d on", differsAt(now, was))
			}
		})
	}
}

func differsAt(a, b []byte) int {
	for i := range min(len(a), len(b)) {
		if a[i] != b[i] {
			return i
		}
	}
	return min(len(a), len(b))
}
