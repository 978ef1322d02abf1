package timeline_test

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"reflect"
	"testing"
	"testing/fstest"
	"time"

	"wetside/internal/lab"
	"wetside/rules"
	"wetside/rules/timeline"
)

// FuzzRules: whatever stands in a lab's own figures and cards, it is refused
// with a reason, or every figure in it is a number within its bounds and a run
// folds by it.
func FuzzRules(f *testing.F) {
	card := "cause: c\nconsequence: c\nresponse: r\nrespond:\n  high: {when: always, within_s: 900}\n"
	for _, s := range []string{
		"silent_s: .inf", "silent_s: .nan", "steady_s: 1e308", "hole_wait_s: -1", "refused_count: 50000000", "refused_count: 1\nrefused_window_s: 0.0001",
		"nearly_full: 0.9\nnearly_full_clear: 0.95", "unknown: 1", "silent_s: [1]", "silent_s: 0x7fffffffffffffff", "backlog_s: 0\nbacklog_quiet_s: 0", "reading_missing_intervals: 1e7",
	} {
		f.Add(s, card)
	}
	builtin, err := os.ReadFile("../figures.yaml")
	if err != nil {
		f.Fatal(err)
	}
	f.Add("", string(builtin))
	f.Add(string(builtin), "respond:\n  urgent: {when: always, within_s: .inf}\n")
	f.Add("", "respond: {high: {when: always, within_s: -1e308}}")
	f.Fuzz(func(t *testing.T, figures, card string) {
		if len(figures)+len(card) > 8<<10 {
			t.Skip()
		}
		d, err := rules.LoadData(fstest.MapFS{"figures.yaml": {Data: []byte(figures)}, "cards/step-short.yaml": {Data: []byte(card)}})
		if err != nil {
			return
		}
		v := reflect.ValueOf(d.Figures)
		for i := range v.NumField() {
			if v.Field(i).CanFloat() && (math.IsNaN(v.Field(i).Float()) || math.IsInf(v.Field(i).Float(), 0)) {
				t.Fatalf("%s is %v", v.Type().Field(i).Name, v.Field(i))
			}
		}
		s := newScript("c41")
		s.Phase(0, lab.PhaseFilling, "developer", 1)
		s.Bath(10, 60, "developer", 1, always(39))
		s.Level(61, "waste", 18)
		s.Phase(62, lab.PhaseDraining, "developer", 1)
		e, h := timeline.NewEngine(rules.Config{Data: d}), newBench(t)
		for _, m := range s.Messages() {
			if _, err := e.Feed(t.Context(), []lab.Arrival{{Message: &m}}, h); err != nil {
				t.Fatal(err)
			}
		}
		_, _ = e.Tick(t.Context(), moment(400), h)
		sound(t, e, s.Unit, moment(400))
	})
}

// FuzzEntries: whatever people enter in a run and about it, alone or twice,
// the fold takes it in or passes it over; it never panics.
func FuzzEntries(f *testing.F) {
	r := rules.RunID(newScript("c41").Unit, "r1")
	for what, body := range map[string]string{
		lab.EntryLoad:      `{"process":"c41","push":6,"rolls":[{"twin_check":"48213","process":"bw","push":-6}]}`,
		lab.EntryContainer: `{"container":"waste","what":"set","litres":2000}`, lab.EntryCapacity: `{"container":"waste","capacity_l":0}`,
		lab.EntryTurned: `{"from":"2026-03-02T09:00:30Z","to":"9999-03-02T09:01:00Z"}`, lab.EntryDrained: ``,
		lab.EntryRolls: `{"add":[{"twin_check":"A-1"}],"remove":["48213"]}`, lab.EntryKindOfRun: `{"kind":"strip"}`,
		lab.EntryProbe: `{"offset_c":-10,"uncertainty_c":10}`, lab.EntryHouseAim: `{"process":"c41","step":"developer","push":0,"equivalent_s":0.001}`,
		lab.EntryDeveloper: `{"process":"c41","step":"developer","developer":"f32-rotary"}`, lab.EntryTakesBack: `{"id":"e1"}`,
		lab.EntryStrip: `{"process":"c41","read_at":"2026-03-02T09:00:00Z","densities":{"LD":{"r":0.8,"g":0.9,"b":1.0}}}`,
		lab.EntryGate:  `{"process":"c41","reason":"read again"}`,
	} {
		for _, at := range []int64{-1 << 40, 0, 20, 100, 1 << 40} {
			f.Add(what, r, body, at)
		}
	}
	f.Fuzz(func(t *testing.T, what, run, body string, atS int64) {
		s := newScript("c41")
		s.Phase(0, lab.PhaseFilling, "developer", 1)
		s.Bath(10, 60, "developer", 1, always(38))
		s.Level(61, "waste", 8)
		s.Phase(62, lab.PhaseDraining, "developer", 1)
		b := newBench(t)
		at := nine.Add(time.Duration(atS%(1<<33)) * time.Second)
		for i, m := range s.Messages() {
			if i%12 == 6 {
				e := lab.Entry{ID: fmt.Sprintf("e%d", i%24), Unit: s.Unit, RunID: run, What: what, By: "Wren", At: at, Entered: m.Received, Body: json.RawMessage(body)}
				if e.Check() != nil || at.Year() < 1 || at.Year() > 9999 {
					t.Skip()
				}
				b.No++
				e.Arrival = b.No
				b.Note(b.E.Feed(t.Context(), []lab.Arrival{{Entry: &e}}, b))
			}
			a, _ := b.Stored(m)
			b.Note(b.E.Feed(t.Context(), []lab.Arrival{a}, b))
		}
		b.Note(b.E.Tick(t.Context(), moment(100), b))
		sound(t, b.E, s.Unit, moment(100))
	})
}
