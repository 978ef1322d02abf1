package sim

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"slices"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/process"
)

func TestTheSameSeedGivesTheSameBytes(t *testing.T) {
	sum := func(seed uint64, stride time.Duration) [32]byte {
		l := mustLab(t, Config{Seed: seed, Start: t0, Schedule: everyFault(seed)})
		h := sha256.New()
		cw := lab.NewCaptureWriter(h)
		for at := t0; at.Before(t0.Add(labtest.Fewer(2*time.Hour, 40*time.Minute))); {
			at = at.Add(stride)
			for _, raw := range l.Advance(at) {
				if err := cw.Write(raw); err != nil {
					t.Fatal(err)
				}
			}
		}
		return [32]byte(h.Sum(nil))
	}
	first := sum(11, time.Minute)
	if first != sum(11, time.Minute) {
		t.Error("two labs of one seed differ")
	}
	if first != sum(11, 40*time.Second) {
		t.Error("the length of a call to Advance changes what comes")
	}
	if first == sum(12, time.Minute) {
		t.Error("another seed gives the same")
	}
}

// clean checks what a run without faults must keep: the sheet's limits after
// 30 s in each fill, and its times, as they were published.
func clean(t *testing.T, book *process.Book, good []heard) (runs int) {
	t.Helper()
	type state struct {
		phase, step, process, run string
		n                         int
		fillAt, inAt, drainAt     time.Time
		push, set                 float64
		outside                   int
	}
	units := map[string]*state{}
	for _, h := range good {
		s := units[h.unit]
		if s == nil {
			s = &state{}
			units[h.unit] = s
		}
		if c, ok := h.num("bath_c"); ok && s.phase == "in-bath" && h.at.Sub(s.fillAt) >= 30*time.Second {
			sheet, _ := book.Sheet(s.process)
			st, _ := sheet.Step(s.step)
			// A single reading may be out by noise; the rules hold for two.
			if c < st.LowC || c > st.HighC {
				if s.outside++; s.outside >= 2 {
					t.Fatalf("%s: %s at %.2f °C twice, %v after the fill", s.run, s.step, c, h.at.Sub(s.fillAt))
				}
			} else {
				s.outside = 0
			}
		}
		if h.channel != "step" {
			continue
		}
		phase, n := h.str("phase"), 0
		if v, ok := h.num("n"); ok {
			n = int(v)
		}
		left := s.n > 0 && !s.inAt.IsZero() && (n != s.n || phase == "waiting" && h.str("waits_for") == "to-dryer")
		if left {
			checkTime(t, book, s.run, s.process, s.step, s.push, s.set, s.drainAt.Sub(s.inAt).Seconds())
			s.inAt = time.Time{}
		}
		if phase == "waiting" && h.str("waits_for") != "to-dryer" {
			t.Fatalf("%s waits for %s", h.str("run"), h.str("waits_for"))
		}
		if phase != s.phase {
			switch phase {
			case "in-bath":
				s.fillAt = h.at
				if s.inAt.IsZero() {
					s.inAt = h.at
				}
			case "draining":
				s.drainAt = h.at
			case "done":
				runs++
			}
		}
		s.phase, s.step, s.process, s.run, s.n = phase, h.str("step"), h.str("process"), h.str("run"), n
		s.push, _ = h.num("push")
		if v, ok := h.num("set_s"); ok {
			s.set = v
		}
	}
	return runs
}

func checkTime(t *testing.T, book *process.Book, run, proc, step string, push, set, got float64) {
	t.Helper()
	sheet, _ := book.Sheet(proc)
	st, _ := sheet.Step(step)
	want, ok := st.TimeFor(push, set)
	if !ok || got < st.ShortestS(want)+1 || got > st.LongestS(want)-1 || set < st.ShortestS(want) || set > st.LongestS(want) {
		t.Errorf("%s: %s took %.1f s (set %.0f); the sheet has %.0f s", run, step, got, set, want)
	}
}

func TestCleanRunsKeepTheSheets(t *testing.T) {
	for _, p := range []string{"c41", "e6-3", "e6-7", "bw"} {
		for push := -1.0; push <= 2; push++ {
			t.Run(fmt.Sprintf("%s%+g", p, push), func(t *testing.T) {
				t.Parallel()
				good, _ := hear(one(t, p, push).Advance(t0.Add(2 * time.Hour)))
				if n := clean(t, process.Builtin(), good); n != 1 {
					t.Errorf("%d runs were done in two hours, want 1", n)
				}
			})
		}
	}
}

// A normal day must be worth no alert: limits, times, containers, silences.
func TestNormalDayIsNormal(t *testing.T) {
	book := process.Builtin()
	for seed := range uint64(1) {
		l := mustLab(t, Config{Seed: seed, Start: t0.Add(-2 * time.Hour), Schedule: NormalDay(seed, 6, 4, t0)})
		raws := l.Advance(t0.Add(11 * time.Hour))
		good, bad := hear(raws)
		if len(bad) > 0 {
			t.Fatalf("%s %q", bad[0].Topic, bad[0].Payload)
		}
		ordered := slices.Clone(good)
		slices.SortStableFunc(ordered, func(a, b heard) int {
			return bytes.Compare(fmt.Appendf(nil, "%s%s%012d", a.unit, a.boot, a.seq), fmt.Appendf(nil, "%s%s%012d", b.unit, b.boot, b.seq))
		})
		ordered = slices.CompactFunc(ordered, func(a, b heard) bool { return a.unit == b.unit && a.boot == b.boot && a.seq == b.seq })
		if n := clean(t, book, ordered); n < 6*3 {
			t.Errorf("seed %d: %d runs in a day of 24", seed, n)
		}
		checkContainers(t, ordered)
		checkCadence(t, ordered)
		wills := 0
		for _, h := range good {
			if h.boot == "" {
				wills++
			}
		}
		if wills != 6 {
			t.Errorf("seed %d: %d wills, want one a unit at the end of the day", seed, wills)
		}
		if copies := len(good) - wills - len(ordered) + 6; copies < 20 {
			t.Errorf("seed %d: only %d copies", seed, copies)
		}
	}
}

// checkContainers keeps the contract's default limits of waste and recovery.
func checkContainers(t *testing.T, good []heard) {
	t.Helper()
	capacity := map[string]float64{}
	for _, h := range good {
		if c, ok := h.body["containers"].(map[string]any); ok {
			for name, spec := range c {
				m := spec.(map[string]any)
				if m["role"] == "waste" || m["role"] == "recovery" {
					capacity[h.unit+name] = m["capacity_l"].(float64)
				}
			}
		}
		levels, _ := h.body["levels_l"].(map[string]any)
		for name, v := range levels {
			if c, ok := capacity[h.unit+name]; ok && v.(float64) > 0.85*c {
				t.Fatalf("%s: %s at %.2f of %.1f l", h.unit, name, v, c)
			}
		}
	}
}

// checkCadence keeps the contract's bounds between messages of a channel.
func checkCadence(t *testing.T, good []heard) {
	t.Helper()
	last := map[string]heard{}
	phase := map[string]string{}
	for _, h := range good {
		if h.boot == "" {
			continue
		}
		key := h.unit + h.boot
		bound := map[string]time.Duration{"step": 10 * time.Second, "tank": 30 * time.Second}[h.channel]
		switch {
		case phase[key] == "idle" && h.channel == "step":
			bound = 30 * time.Second
		case phase[key] == "in-bath" && (h.channel == "temp" || h.channel == "motion"):
			bound = 5 * time.Second
		}
		if was, ok := last[key+h.channel]; ok && bound > 0 && h.at.Sub(was.at) > bound+150*time.Millisecond {
			t.Fatalf("%s %s: %v after the one before (%s)", h.unit, h.channel, h.at.Sub(was.at), phase[key])
		}
		if h.channel == "step" {
			if p := h.str("phase"); p != phase[key] {
				phase[key] = p
				delete(last, key+"temp")
				delete(last, key+"motion")
			}
		}
		last[key+h.channel] = h
	}
}

func TestSparseKeepsTheCadenceToo(t *testing.T) {
	l := mustLab(t, Config{Seed: 2, Start: t0, Cadence: Sparse, Schedule: EndlessPlan(2, 4, 0)})
	good, _ := hear(l.Advance(t0.Add(3 * time.Hour)))
	checkCadence(t, good)
}

func TestConfigIsChecked(t *testing.T) {
	for name, cfg := range map[string]Config{
		"no start":     {Schedule: NormalDay(1, 1, 1, t0)},
		"no units":     {Start: t0},
		"bad lab":      {Start: t0, Lab: "Bad Lab", Schedule: NormalDay(1, 1, 1, t0)},
		"bad name":     {Start: t0, Schedule: Schedule{Units: []UnitPlan{{Name: "A", Processes: []string{"c41"}}}}},
		"no process":   {Start: t0, Schedule: Schedule{Units: []UnitPlan{{Name: "a"}}}},
		"bad process":  {Start: t0, Schedule: Schedule{Units: []UnitPlan{{Name: "a", Processes: []string{"k14"}}}}},
		"bad fault":    {Start: t0, Schedule: Schedule{Units: unitPlans(1), Faults: []Fault{{Kind: "rain", Unit: "plover"}}}},
		"unknown unit": {Start: t0, Schedule: Schedule{Units: unitPlans(1), Faults: []Fault{{Kind: Silence, Unit: "x"}}}},
		"leak of what": {Start: t0, Schedule: Schedule{Units: unitPlans(1), Faults: []Fault{{Kind: Leak, Unit: "plover"}}}},
	} {
		if _, err := New(cfg); lab.KindOf(err) != lab.KindInvalid {
			t.Errorf("%s: %v", name, err)
		}
	}
}
