package sim

import (
	"bytes"
	"io"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/labtest"
)

// visible finds a message that satisfies ok within a run with the fault, and
// none in the same run without it.
func visible(t *testing.T, f Fault, ok func(h heard) bool) {
	t.Helper()
	seen := func(l *Lab) (n int) {
		good, _ := hear(l.Advance(t0.Add(100 * time.Minute)))
		for _, h := range good {
			if ok(h) {
				n++
			}
		}
		return n
	}
	faulty := one(t, "c41", 0, f)
	if seen(faulty) == 0 {
		t.Errorf("%s: nothing to be seen", f.Kind)
	}
	if n := len(faulty.Faults()); n != 1 {
		t.Errorf("%s: %d truths", f.Kind, n)
	}
	if n := seen(one(t, "c41", 0)); n != 0 {
		t.Errorf("%s: %d messages look the same without it", f.Kind, n)
	}
}

func TestEachFaultShows(t *testing.T) {
	// Readings count from 30 s into the bath; the tests of settling are others.
	var began time.Time
	settled := func(h heard) (float64, bool) {
		if h.str("phase") == "in-bath" && h.body["elapsed_s"] == 0.0 {
			began = h.at
		}
		c, ok := h.num("bath_c")
		return c, ok && h.at.Sub(began) > 40*time.Second
	}
	dev := func(k Kind, strength float64) Fault {
		return Fault{Kind: k, Run: 1, Step: "developer", After: 50 * time.Second, Strength: strength}
	}
	num := func(k string, ok func(float64) bool) func(heard) bool {
		return func(h heard) bool { v, is := h.num(k); return is && ok(v) }
	}
	drain := func(step string, ok func(float64) bool) func(heard) bool {
		return func(h heard) bool {
			v, _ := h.num("elapsed_s")
			return h.str("phase") == "draining" && h.str("step") == step && ok(v)
		}
	}
	for _, c := range labtest.Few([]struct {
		f  Fault
		ok func(heard) bool
	}{
		{dev(BathOffset, 0.6), func(h heard) bool { c, ok := settled(h); return ok && c > 38.2 }},
		{dev(BathOffset, -0.6), func(h heard) bool { c, ok := settled(h); return ok && c < 37.4 }},
		{dev(ThermistorDrift, 0.8), func(h heard) bool { c, ok := settled(h); return ok && c > 38.4 }},
		{dev(WeakHeater, 0), func(h heard) bool { c, ok := settled(h); return ok && c < 37.4 }},
		{Fault{Kind: LongStep, Step: "developer", Strength: 30}, drain("developer", func(s float64) bool { return s > 220 })},
		{Fault{Kind: ShortStep, Step: "bleach", Strength: 200}, drain("bleach", func(s float64) bool { return s < 195 })},
		{Fault{Kind: WrongTime, Step: "developer", Strength: -40},
			func(h heard) bool { v, _ := h.num("set_s"); return v == 155 && h.str("step") == "developer" }},
		{dev(NoRotation, 0), func(h heard) bool {
			settled(h)
			v, ok := h.num("rpm")
			return ok && v < 5 && !began.IsZero() && h.at.After(began) && h.at.Sub(began) < 60*time.Second
		}},
		{dev(PowerCut, 0), func(h heard) bool { return h.str("event") == "lost" && h.str("source") == "battery" }},
		{func() Fault { f := dev(Restart, 0); f.For = 40 * time.Second; return f }(),
			func(h heard) bool {
				v, _ := h.num("outage_s")
				return h.str("event") == "resumed" && v >= 39 && v <= 41
			}},
		{Fault{Kind: ClockLost, At: t0.Add(20 * time.Minute), For: time.Minute}, func(h heard) bool { return h.boot != "" && h.at.Year() == 1970 }},
		{Fault{Kind: NetworkCut, At: t0.Add(20 * time.Minute), For: 30 * time.Second}, func(h heard) bool { return h.boot != "" && h.Received.Sub(h.at) > 20*time.Second }},
		{Fault{Kind: Late, At: t0.Add(20 * time.Minute), For: time.Minute, Strength: 0.5}, func(h heard) bool { return h.boot != "" && h.Received.Sub(h.at) > 15*time.Second }},
		{Fault{Kind: Silence, At: t0.Add(20 * time.Minute), For: 2 * time.Minute}, func(h heard) bool { return h.boot == "" }},
		{Fault{Kind: StuckFloat, At: t0.Add(20 * time.Minute), For: time.Minute, Strength: 1, Container: "waste"},
			func(h heard) bool { l, _ := h.body["full"].([]any); return len(l) > 0 }},
		{Fault{Kind: Leak, At: t0.Add(time.Minute), For: 3 * time.Minute, Strength: 4, Container: "wash"},
			func(h heard) bool {
				m, _ := h.body["levels_l"].(map[string]any)
				v, ok := m["wash"].(float64)
				return ok && v < 12
			}},
		{Fault{Kind: WasteFull, Run: 1, Strength: 0.95}, func(h heard) bool { return h.str("waits_for") == "empty-waste" }},
		{Fault{Kind: WashLow, Run: 1, Strength: 0.05}, func(h heard) bool { return h.str("waits_for") == "top-up-wash" }},
		{Fault{Kind: Aborted, Run: 1, Step: "bleach", After: 30 * time.Second}, func(h heard) bool { return h.str("phase") == "aborted" }},
		{Fault{Kind: Unattended, Run: 1, Step: "waiting", For: 6 * time.Minute}, func(h heard) bool {
			v, _ := h.num("elapsed_s")
			return h.str("waits_for") == "to-dryer" && v > 300
		}},
		{Fault{Kind: HotDryer, Run: 1, Step: "drying", Strength: 22}, num("dryer_c", func(c float64) bool { return c > 61 })},
		{Fault{Kind: BatteryWeak, At: t0.Add(20 * time.Minute), For: time.Minute, Strength: 12}, num("battery_pct", func(p float64) bool { return p < 30 })},
	}, 6) {
		t.Run(string(c.f.Kind), func(t *testing.T) { began = time.Time{}; visible(t, c.f, c.ok) })
	}
}

func TestSkippedStepIsNotDone(t *testing.T) {
	l := one(t, "c41", 0, Fault{Kind: SkippedStep, Step: "bleach"})
	good, _ := hear(l.Advance(t0.Add(100 * time.Minute)))
	last := 0.0
	for _, h := range good {
		if h.str("step") == "bleach" {
			t.Fatal("the bleach was not skipped")
		}
		if n, ok := h.num("n"); ok {
			last = max(last, n)
		}
	}
	if last != 6 || len(l.Faults()) != 1 {
		t.Errorf("last step %v, truth %v", last, l.Faults())
	}
}

func TestNoBathReadingAndRotationAreAbsences(t *testing.T) {
	f := Fault{Kind: NoBathReading, Run: 1, Step: "developer", After: 60 * time.Second, For: 25 * time.Second}
	l := one(t, "c41", 0, f)
	good, _ := hear(l.Advance(t0.Add(60 * time.Minute)))
	tr := l.Faults()[0]
	temps := 0
	for _, h := range good {
		if h.channel != "temp" || h.Received.Before(tr.From.Add(time.Second)) || h.Received.After(tr.To) {
			continue
		}
		temps++
		if _, ok := h.num("bath_c"); ok {
			t.Fatalf("a reading at %v", h.at)
		}
	}
	if temps < 8 {
		t.Errorf("%d temp messages: the rest of the channel must go on", temps)
	}
}

func TestQuietRestartCarriesTheRunOn(t *testing.T) {
	l := one(t, "c41", 0, Fault{Kind: Restart, Quiet: true, Run: 1, Step: "developer", After: 60 * time.Second, For: 30 * time.Second})
	good, _ := hear(l.Advance(t0.Add(60 * time.Minute)))
	runs, boots := map[string]bool{}, map[string]int64{}
	for _, h := range good {
		if h.str("event") != "" {
			t.Errorf("power message %s", h.Payload)
		}
		if r := h.str("run"); r != "" {
			runs[r] = true
		}
		if h.boot != "" && boots[h.boot] == 0 {
			boots[h.boot] = h.seq
			if h.seq != 1 || h.channel != "status" {
				t.Errorf("a boot begins with %s %s", h.channel, h.Payload)
			}
		}
	}
	if len(runs) != 1 || len(boots) != 2 {
		t.Errorf("runs %v, boots %v", runs, boots)
	}
	if s := l.Runs()[0].Steps[0]; s.TimeS < 224 || s.TimeS > 226 {
		t.Errorf("the film was in the developer for %.1f s, want 195 and 30 of outage", s.TimeS)
	}
}

func TestNetworkMischief(t *testing.T) {
	count := func(f Fault) (holes, copies, disorder int) {
		f.At, f.For = t0.Add(15*time.Minute), 5*time.Minute
		good, _ := hear(one(t, "c41", 0, f).Advance(t0.Add(40 * time.Minute)))
		seen, high := map[int64][]byte{}, int64(0)
		for _, h := range good {
			if h.boot == "" {
				continue
			}
			if was, ok := seen[h.seq]; ok {
				if copies++; !bytes.Equal(was, h.Payload) {
					t.Fatal("a copy with other content")
				}
			} else if h.seq < high {
				disorder++
			}
			seen[h.seq] = h.Payload
			high = max(high, h.seq)
		}
		return int(high) - len(seen), copies, disorder
	}
	if h, c, d := count(Fault{Kind: Duplicated, Strength: 0.3}); h != 0 || c < 20 || d != 0 {
		t.Errorf("duplicated: %d holes, %d copies, %d out of order", h, c, d)
	}
	if h, c, d := count(Fault{Kind: Reordered, Strength: 0.3}); h != 0 || c != 0 || d < 20 {
		t.Errorf("reordered: %d holes, %d copies, %d out of order", h, c, d)
	}
	if h, c, d := count(Fault{Kind: NetworkLoss}); h < 100 || c != 0 || d != 0 {
		t.Errorf("loss: %d holes, %d copies, %d out of order", h, c, d)
	}
	if h, c, d := count(Fault{Kind: NetworkCut}); h != 0 || c != 0 || d != 0 {
		t.Errorf("cut: %d holes, %d copies, %d out of order", h, c, d)
	}
}

// The three events of the demo come within its first three minutes.
func TestDemoShowsItsEventsInThreeMinutes(t *testing.T) {
	l := mustLab(t, Config{Lab: DemoLab, Seed: 1, Start: t0, Schedule: DemoPlan(1, t0)})
	good, _ := hear(l.Advance(t0.Add(3 * time.Minute)))
	var warm, full, back int
	running := map[string]bool{}
	for _, h := range good {
		if h.Received.Before(t0.Add(5*time.Second)) && h.str("run") != "" {
			running[h.unit] = true
		}
		if c, ok := h.num("bath_c"); ok && h.unit == "plover" && c > 38.2 {
			warm++
		}
		if m, ok := h.body["levels_l"].(map[string]any); ok && h.unit == "avocet" && m["waste"].(float64) > 15 {
			full++
		}
		if h.unit == "dunlin" && h.str("event") == "resumed" {
			back++
		}
	}
	if warm < 3 || full < 2 || back != 1 || len(running) < 5 {
		t.Errorf("warm %d, full %d, back %d, running at start %v", warm, full, back, running)
	}
}

func TestHistoryIsACaptureThatReadsBack(t *testing.T) {
	from := t0.AddDate(0, 0, -3)
	until := labtest.Fewer(t0, from.AddDate(0, 0, 2))
	l, err := History(1, from, until)
	if err != nil {
		t.Fatal(err)
	}
	var buf bytes.Buffer
	if err := WriteCapture(&buf, l, from, until); err != nil {
		t.Fatal(err)
	}
	r := lab.NewCaptureReader("history", &buf)
	n := 0
	var last time.Time
	for {
		raw, err := r.Next()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		if raw.Received.Before(last) || raw.Received.After(until) {
			t.Fatalf("line %d arrived at %v, after %v", n, raw.Received, last)
		}
		last = raw.Received
		n++
	}
	runs := 0
	for _, r := range l.Runs() {
		if r.Ended.IsZero() {
			t.Errorf("%s never ended", r.Run)
		}
		runs++
	}
	if runs < labtest.Fewer(30, 10) || n < 10000 {
		t.Errorf("%d runs in %d messages", runs, n)
	}
}

// BenchmarkCapture tells how much faster than real time a capture of six
// units is written.
func BenchmarkCapture(b *testing.B) {
	for b.Loop() {
		l := mustLab(b, Config{Seed: 1, Start: t0, Schedule: EndlessPlan(1, 6, 0)})
		if err := WriteCapture(io.Discard, l, t0, t0.Add(time.Hour)); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(3600*float64(b.N)/b.Elapsed().Seconds(), "s/s")
}
