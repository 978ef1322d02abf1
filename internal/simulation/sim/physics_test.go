package sim

import (
	"math"
	"testing"
	"time"

	"wetside/internal/labtest"
	"wetside/internal/process"
)

// Newton's law of cooling, T(t) = Tenv + (T0 - Tenv) exp(-t UA / C); any
// physics textbook, such as Halliday, Resnick and Walker, Fundamentals of
// Physics, chapter 18 (from memory).
func TestCoolingFollowsNewton(t *testing.T) {
	b := heatBody{c: 2440, t: 38, ua: 1.2}
	for range 7200 {
		b.step(0, 21, 0.5)
	}
	want := 21 + 17*math.Exp(-3600*1.2/2440)
	if math.Abs(b.t-want) > 1e-9 {
		t.Errorf("after an hour %.6f °C, want %.6f", b.t, want)
	}
}

// Two lumps that share heat quickly cool like one lump of their sum.
func TestFilledVesselCoolsAsOneLump(t *testing.T) {
	v := vessel{litres: 0.5, liquid: 38, wall: heatBody{c: 350, t: 38, ua: 1.2}, k: 60}
	for range 1200 {
		v.step(0, 21, 0.5)
	}
	c := 0.5*waterJ + 350
	want := 21 + 17*math.Exp(-600*1.2/c)
	if got := (v.liquid*0.5*waterJ + v.wall.t*350) / c; math.Abs(got-want) > 0.15 {
		t.Errorf("after ten minutes %.3f °C, want about %.3f", got, want)
	}
}

// Mixing conserves heat: the calorimetry of any physics textbook.
func TestMixingConservesHeat(t *testing.T) {
	v := vessel{wall: heatBody{c: 350, t: 20}, k: 60}
	v.pour(0.3, 40)
	v.pour(0.2, 30)
	if math.Abs(v.liquid-36) > 1e-9 {
		t.Fatalf("0.3 l at 40 and 0.2 l at 30 make %.4f °C, want 36", v.liquid)
	}
	for range 2000 {
		v.step(0, 20, 0.5)
	}
	want := (0.5*waterJ*36 + 350*20) / (0.5*waterJ + 350)
	if math.Abs(v.liquid-want) > 0.01 {
		t.Errorf("with the wall it settles at %.4f °C, want %.4f", v.liquid, want)
	}
}

func TestBathOvershootsAndSettles(t *testing.T) {
	l := one(t, "c41", 0)
	good, _ := hear(l.Advance(t0.Add(40 * time.Minute)))
	in := time.Duration(-1)
	low, last := 99.0, 0.0
	var began time.Time
	for _, h := range good {
		if h.str("phase") == "in-bath" && h.str("step") == "developer" && began.IsZero() {
			began = h.at
		}
		c, ok := h.num("bath_c")
		if !ok || began.IsZero() || h.at.Sub(began) > 190*time.Second {
			continue
		}
		low = min(low, c)
		if math.Abs(c-37.8) > 0.15 {
			in = h.at.Sub(began)
		}
		last = c
	}
	if low > 37.65 {
		t.Errorf("the coldest is %.2f °C: the tank and the film did not cool the bath", low)
	}
	if in < 0 || in > 26*time.Second {
		t.Errorf("the bath came inside its limits for good at %v, want within 26 s", in)
	}
	if math.Abs(last-37.8) > 0.1 {
		t.Errorf("it ended at %.2f °C", last)
	}
}

// A power cut: the film cools as Newton says, seen in the telemetry.
func TestPowerCutCools(t *testing.T) {
	l := one(t, "c41", 0, Fault{Kind: PowerCut, Run: 1, Step: "developer", After: 60 * time.Second, For: 100 * time.Second})
	good, _ := hear(l.Advance(t0.Add(40 * time.Minute)))
	cut := l.Faults()[0]
	var first, last, room float64
	var at time.Duration
	for _, h := range good {
		if h.at.Before(cut.From.Add(2*time.Second)) || h.at.After(cut.To) {
			continue
		}
		if c, ok := h.num("bath_c"); ok {
			if first == 0 {
				first = c
			}
			last, at = c, h.at.Sub(cut.From)
		}
		if c, ok := h.num("room_c"); ok {
			room = c
		}
	}
	own := l.Units()[0]
	want := room + (37.8-room)*math.Exp(-at.Seconds()*own.LossW/(0.5*waterJ+own.WallJ))
	if math.Abs(last-want) > 0.15 || first-last < 0.3 {
		t.Errorf("cooled from %.2f to %.2f °C in %v, want about %.2f", first, last, at, want)
	}
}

func TestVolumesAreConserved(t *testing.T) {
	s := everyFault(6)
	l := mustLab(t, Config{Seed: 6, Start: t0, Schedule: s})
	total := func(u *unit) float64 {
		sum := u.bath.litres
		for _, k := range u.tanks {
			sum += k.litres
		}
		return sum
	}
	before := make([]float64, len(l.units))
	for i, u := range l.units {
		before[i] = total(u)
	}
	at := t0
	for range labtest.Fewer(60, 20) {
		at = at.Add(7 * time.Minute)
		l.Advance(at)
		for i, u := range l.units {
			want := before[i] + u.balance.brought - u.balance.taken - u.balance.floor
			if got := total(u); math.Abs(got-want) > 1e-6 {
				t.Fatalf("%s at %v: %.6f l, accounted for %.6f", u.id, at.Sub(t0), got, want)
			}
			for _, k := range u.tanks {
				if k.litres < 0 || k.litres > k.capacity+1e-9 {
					t.Fatalf("%s: %s holds %.3f of %.1f l", u.id, k.name, k.litres, k.capacity)
				}
			}
		}
	}
}

func TestBatteryRunsDownAndTheControllerWithIt(t *testing.T) {
	l := one(t, "c41", 0,
		Fault{Kind: BatteryWeak, Run: 1, Step: "bleach", Strength: 2, For: time.Second},
		Fault{Kind: PowerCut, Run: 1, Step: "bleach", After: 5 * time.Second, For: 6 * time.Minute})
	good, _ := hear(l.Advance(t0.Add(45 * time.Minute)))
	boots := map[string]bool{}
	resumed := false
	for _, h := range good {
		boots[h.boot] = h.boot != ""
		resumed = resumed || h.str("event") == "resumed"
	}
	if delete(boots, ""); len(boots) != 2 || !resumed {
		t.Errorf("boots %v, resumed %v", boots, resumed)
	}
}

// The equivalent time of a clean developer is the sheet's, by the kinetics of
// package process fed with the published readings.
func TestTruthAgreesWithPublishedReadings(t *testing.T) {
	l := one(t, "c41", 0)
	good, _ := hear(l.Advance(t0.Add(40 * time.Minute)))
	sheet, _ := process.Builtin().Sheet("c41")
	dev := sheet.Steps[0]
	truth := l.Runs()[0].Steps[0]
	var sum float64
	var at time.Time
	var last float64
	for _, h := range good {
		c, ok := h.num("bath_c")
		if !ok || h.at.After(truth.Drained.Add(time.Second)) {
			continue
		}
		if !at.IsZero() {
			sum += dev.Equivalent(last, c, h.at.Sub(at).Seconds()).Best
		}
		at, last = h.at, c
	}
	if math.Abs(sum-truth.EquivalentS) > 4 || math.Abs(truth.EquivalentS-195) > 3 {
		t.Errorf("readings give %.1f s, the truth is %.1f s, the sheet 195 s", sum, truth.EquivalentS)
	}
}
