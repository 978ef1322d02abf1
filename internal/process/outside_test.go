package process

import (
	"math"
	"testing"
)

// IEC 60751's own table of tolerances, °C at 0 and 100 °C (as printed in
// tables of platinum resistance thermometers): class A 0.15 and 0.35, class B
// 0.30 and 0.80.
func TestProbeToleranceAgainstTheStandard(t *testing.T) {
	for _, x := range []struct {
		class   string
		c, want float64
	}{{ClassA, 0, 0.15}, {ClassA, 100, 0.35}, {ClassB, 0, 0.30}, {ClassB, 100, 0.80}, {ClassB, -100, 0.80}, {"", 100, 0.80}} {
		if got := ProbeTolerance(x.class, x.c); math.Abs(got-x.want) > 1e-9 {
			t.Errorf("class %q at %g °C: %g, want %g", x.class, x.c, got, x.want)
		}
	}
}

// The method of mixtures: a textbook's worked example (OpenStax College
// Physics, "pouring cold water in a hot pan", from memory): 0.250 kg of water
// at 20.0 °C into an aluminum pan of 0.500 kg at 150 °C come to 59.1 °C, with
// 4186 and 900 J/(kg K).
func TestMixedAgainstATextbook(t *testing.T) {
	if got := Mixed(0.250*4186, 20, 0.500*900, 150); math.Abs(got-59.1) > 0.05 {
		t.Errorf("%.2f °C, want 59.1 °C", got)
	}
}

// A tank's own share of the heat is found again from fills that differ:
// 500 ml of water (2090 J/K) in a tank of 350 J/K that stands at 36.8 °C.
func TestMixingShareIsLearned(t *testing.T) {
	const water, tank = 2090.0, 350.0
	var fills []Fill
	for i, pre := range []float64{38, 38.1, 37.9, 36, 39.5, 38, 37.2, 38.3, 35, 38} {
		noise := 0.03 * float64(i%3-1)
		fills = append(fills, Fill{LiquidC: pre, MixedC: Mixed(water, pre, tank, 36.8) + noise})
	}
	want := water / (water + tank)
	got := MixingShare(fills)
	if math.Abs(got.Best-want) > 0.03 || got.Low > want || got.High < want {
		t.Errorf("share %.3f (%.3f to %.3f), want %.3f", got.Best, got.Low, got.High, want)
	}
	if none := MixingShare(nil); none.High-none.Low <= got.High-got.Low {
		t.Errorf("nothing known is as narrow (%v) as ten fills (%v)", none, got)
	}
}

// US Army TM 11-2323, as quoted: fixing time doubles for each 18 °F below
// 68 °F; prints are washed twice as long at 50 °F and four times at 35 °F.
func TestColdBathsAgainstTheManual(t *testing.T) {
	bw, _ := Builtin().Sheet("bw")
	toC := func(f float64) float64 { return (f - 32) / 1.8 }
	for _, x := range []struct {
		step    string
		f, want float64
	}{{"fixer", 68, 1}, {"fixer", 50, 2}, {"fixer", 32, 4}, {"fixer", 59, math.Sqrt2},
		{"wash", 68, 1}, {"wash", 50, 2}, {"wash", 35, 4}} {
		s, _ := bw.Step(x.step)
		if got := 1 / s.ColdRate(toC(x.f)).Best; math.Abs(got-x.want) > 0.01 {
			t.Errorf("%s at %g °F takes %.2f times as long, want %.2f", x.step, x.f, got, x.want)
		}
		if got := 1 / s.Rates(toC(x.f)).Best; math.Abs(got-x.want) > 0.01 {
			t.Errorf("%s at %g °F counts 1/%.2f, want 1/%.2f", x.step, x.f, got, x.want)
		}
	}
	for _, id := range []string{"c41", "e6-7", "e6-3"} { // their ranges only, no times below them
		sh, _ := Builtin().Sheet(id)
		for _, s := range sh.Steps {
			if s.Slower != nil {
				t.Errorf("%s %s has times below its published range", id, s.ID)
			}
		}
	}
}

// Published pairs of B&W push times at 68 °F (DD-X, minutes, quoted in a
// transcription): each lies within what the sheet says a stop may be.
func TestPushSpreadHoldsPublishedPairs(t *testing.T) {
	bw, _ := Builtin().Sheet("bw")
	dev, _ := bw.Step("developer")
	for _, x := range []struct {
		film               string
		normal, one, twice float64
	}{{"HP5+", 9, 10, 13}, {"Tri-X", 8, 10, 14}} {
		for stops, min := range map[float64]float64{1: x.one, 2: x.twice} {
			v, ok := dev.PushError(min*60, 0, x.normal*60)
			if !ok {
				t.Fatal("no push error")
			}
			r := dev.Scaled(Exactly(v))
			if stops < r.Low-0.01 || stops > r.High+0.01 {
				t.Errorf("%s %+g: the sheet says %.2f stops, %.2f to %.2f", x.film, stops, v, r.Low, r.High)
			}
		}
	}
}
