package process

import (
	"math"
	"testing"
	"testing/fstest"
)

// The sheets are as the reference has them: Kodak Z-131 Tables 2-1, 2-7, 4-1
// (C-41); US Army SS0514 A and notes citing Z-119 (E-6); US Army SS05098 (B&W).
// This is proof-reading, the same figures typed twice; what checks them from
// the outside is in outside_test.go.
func TestBuiltinIsAsTranscribed(t *testing.T) {
	b := Builtin()
	tests := []struct {
		sheet, step       string
		aim, least        float64
		aimC, lowC, highC float64
	}{
		{"c41", "developer", 195, 0, 37.8, 37.65, 37.95}, // Z-131: 3:15, 37.8 +/-0.15
		{"c41-kit", "developer", 195, 0, 37.8, 37.5, 38.1},
		{"c41", "bleach", 390, 260, 38, 35, 41}, // Z-131 2-1: 4:20 to 6:30, 38 +/-3
		{"c41", "wash-2", 195, 195, 38, 24, 41},
		{"c41", "final-rinse", 90, 65, 38, 24, 41},
		{"e6-7", "first-developer", 360, 0, 38, 37.7, 38.3},
		{"e6-7", "reversal-bath", 120, 120, 37, 24, 39},
		{"bw", "stop-bath", 30, 30, 20, 18, 24},
		{"bw", "wash", 300, 300, 20, 18, 24},
		{"e6-3", "bleach-fix", 600, 360, 38, 35, 40}, // from memory
	}
	for _, tt := range tests {
		s, ok := b.Sheet(tt.sheet)
		if !ok {
			t.Fatalf("no sheet %s", tt.sheet)
		}
		st, ok := s.Step(tt.step)
		if !ok {
			t.Fatalf("%s has no step %s", tt.sheet, tt.step)
		}
		got := [5]float64{st.AimS, st.LeastS, st.AimC, st.LowC, st.HighC}
		want := [5]float64{tt.aim, tt.least, tt.aimC, tt.lowC, tt.highC}
		if got != want {
			t.Errorf("%s/%s = %v, want %v", tt.sheet, tt.step, got, want)
		}
	}
}

// Every step and every figure from memory says where it comes from.
func TestSourcesAreNamed(t *testing.T) {
	for _, id := range Builtin().IDs() {
		s, _ := Builtin().Sheet(id)
		for _, st := range s.Steps {
			if len(st.Sources) == 0 {
				t.Errorf("%s/%s names no source", id, st.ID)
			}
			for _, src := range st.Sources {
				if src.From == "" || src.Mark == "" {
					t.Errorf("%s/%s: source of %s lacks from or mark", id, st.ID, src.Figure)
				}
				if mem := len(src.Mark) >= 3 && src.Mark[:3] == "MEM"; mem != src.Memory {
					t.Errorf("%s/%s: %s is marked %s but memory is %v", id, st.ID, src.Figure, src.Mark, src.Memory)
				}
			}
		}
	}
}

// rateByFactor is the rate at c by a factor for 10 °C.
func rateByFactor(c, aim, q float64) float64 {
	k := byFactor(aim, Factor{q, q, q})
	return math.Exp(k.best.at(c))
}

// The kinetic table of the reference (computed there as Q10^(dT/10) - 1):
// equivalent error of a developer off temperature, per cent.
func TestRateAgainstComputedTable(t *testing.T) {
	for _, tt := range []struct{ dT, q10, percent float64 }{
		{0.15, 2.0, 1.0}, {0.15, 2.5, 1.4}, {0.15, 3.0, 1.7},
		{0.25, 2.0, 1.7}, {0.25, 2.5, 2.3}, {0.25, 3.0, 2.8},
		{0.50, 2.0, 3.5}, {0.50, 2.5, 4.7}, {0.50, 3.0, 5.6},
		{1.00, 2.0, 7.2}, {1.00, 2.5, 9.6}, {1.00, 3.0, 11.6},
	} {
		got := 100 * (rateByFactor(20+tt.dT, 20, tt.q10) - 1)
		if math.Abs(got-tt.percent) > 0.06 {
			t.Errorf("dT %g at factor %g: %.2f %%, table says %.1f", tt.dT, tt.q10, got, tt.percent)
		}
	}
}

// The C-41 tolerance of 0.15 °C comes out as about a tenth of a stop.
func TestC41ToleranceIsATenthOfAStop(t *testing.T) {
	s, _ := Builtin().Sheet("c41")
	dev, _ := s.Step("developer")
	eq := dev.Equivalent(dev.HighC, dev.HighC, 195).Best
	stops, ok := dev.PushError(eq, 0, 195)
	if !ok || stops < 0.08 || stops > 0.13 {
		t.Errorf("0.15 °C warm for 3:15 = %.3f stop, want about 0.1", stops)
	}
}

// Simpson's rule on the same integrand is the outside reference here.
func TestEquivalentAgainstSimpson(t *testing.T) {
	const aim, q, c0, c1, dt, n = 38.0, 2.7, 36.2, 38.9, 25.0, 2000
	sum := 0.0
	for i := 0; i <= n; i++ {
		w := 2.0
		if i%2 == 1 {
			w = 4
		}
		if i == 0 || i == n {
			w = 1
		}
		sum += w * math.Pow(q, (c0+(c1-c0)*float64(i)/n-aim)/10)
	}
	want := sum * dt / n / 3
	k := byFactor(aim, Factor{q, q, q})
	if got := k.best.integralOverLine(c0, c1, dt); math.Abs(got-want) > 1e-9 {
		t.Errorf("got %.12f want %.12f", got, want)
	}
}

func TestPushTimes(t *testing.T) {
	c41, _ := Builtin().Sheet("c41")
	dev, _ := c41.Step("developer")
	for push, want := range map[float64]float64{-1: 165, 0: 195, 0.5: 210, 1: 225, 2: 255, 2.5: 270, -1.5: 150} {
		if got, ok := dev.TimeFor(push, 0); !ok || got != want {
			t.Errorf("push %+g = %g, want %g", push, got, want)
		}
		if e, _ := dev.PushError(want, push, 0); math.Abs(e) > 1e-9 {
			t.Errorf("push %+g at its own time errs by %g", push, e)
		}
	}
	for _, push := range []float64{3, -2, 2.51} { // half a stop beyond the table, no further
		if got, ok := dev.TimeFor(push, 0); ok {
			t.Errorf("push %+g = %g; nothing is published so far out", push, got)
		}
	}
	bw, _ := Builtin().Sheet("bw")
	bdev, _ := bw.Step("developer")
	if e, _ := bdev.PushError(390*1.25, 0, 390); math.Abs(e-1) > 1e-9 {
		t.Errorf("bw 1.25 times the normal time = %+.3f stop, want +1", e)
	}
	if e, _ := bdev.PushError(487.5, 1, 487.5); math.Abs(e) > 1e-9 {
		t.Errorf("bw push 1 at its set time errs by %g", e)
	}
}

func TestOverlayAndErrors(t *testing.T) {
	file := func(s string) fstest.MapFS { return fstest.MapFS{"x.yaml": {Data: []byte(s)}} }
	b, err := Load(file("id: c41\nsteps: [{id: developer, aim_s: 200, push_s: {0: 200, 1: 230}}]"))
	if err != nil {
		t.Fatal(err)
	}
	s, _ := b.Sheet("c41")
	if dev, _ := s.Step("developer"); dev.AimS != 200 || dev.HighC != 37.95 {
		t.Errorf("an override must change what it names and no more: %+v", dev)
	}
	for name, bad := range map[string]string{
		"no id":        "name: x",
		"unknown key":  "id: x\nstpes: []",
		"no steps":     "id: x",
		"bad kind":     "id: x\nsteps: [{id: a, kind: dip, aim_s: 1, aim_c: 20, limits_c: [19, 21]}]",
		"bad limits":   "id: x\nsteps: [{id: a, kind: exact, aim_s: 1, aim_c: 20, limits_c: [21, 19]}]",
		"no base":      "id: x\nbased_on: nothing",
		"falling push": "id: c41\nsteps: [{id: developer, push_s: {0: 200, 1: 100}}]",
	} {
		if _, err := Load(file(bad)); err == nil {
			t.Errorf("%s: loaded", name)
		}
	}
}
