package process

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"
)

// outsideCheck holds a figure of ours to something published that says more
// than the figure itself. numbers are what it takes from the source, in the
// units that the figure has; spoil is a change of the figure that it must find.
type outsideCheck struct {
	name, source         string
	sheet, step, figures string // what it guards
	numbers              []float64
	holds                func(b *Book) error
	spoil                string // a step's figures, as a sheet's file has them
}

func outsideChecks(t *testing.T) []outsideCheck {
	return []outsideCheck{
		{name: "C-41's developer, in degrees Fahrenheit", source: "Kodak Z-131 Table 4-1: 100.0 +/-0.25 °F",
			sheet: "c41", step: "developer", figures: "aim_c limits_c", numbers: []float64{toC(100), toC(99.75), toC(100.25)},
			holds: fahrenheit("c41", 100, 99.75, 100.25), spoil: "limits_c: [37.5, 38.1]"},
		{name: "cold fixer", source: "US Army TM 11-2323, as quoted: fixing time doubles for each 18 °F below 68 °F",
			sheet: "bw", step: "fixer", figures: "slower_cold", numbers: []float64{toC(65), toC(59), toC(55), toC(41)},
			holds: slower("fixer", map[float64]float64{65: math.Pow(2, 3.0/18), 59: math.Sqrt2, 55: math.Pow(2, 13.0/18), 41: math.Pow(2, 1.5), 75: 1}),
			spoil: "slower_cold: {0: 4, 10: 2.2, 20: 1}"},
		{name: "cold wash", source: "US Army TM 11-2323, as quoted, of prints: twice as long at 50 °F, four times at 35 °F; between them its own line",
			sheet: "bw", step: "wash", figures: "slower_cold", numbers: []float64{toC(42.5), toC(59)},
			holds: slower("wash", map[float64]float64{42.5: 2 * math.Sqrt2, 59: math.Sqrt2}),
			spoil: "slower_cold: {1.67: 5, 10: 2, 20: 1}, slower_by_analogy: true"},
		{name: "B&W at other temperatures", source: "times in DD-X at 68 and 75 °F (testdata/published/dd-x.csv)",
			sheet: "bw", step: "developer", figures: "per_10c", numbers: cellsOf(t, "dd-x.csv"),
			holds: temperaturePairs(t), spoil: "per_10c: {best: 2.5, low: 2.4, high: 2.6}"},
		{name: "B&W pushed", source: "times in DD-X by exposure index (testdata/published/dd-x.csv)",
			sheet: "bw", step: "developer", figures: "push_factor push_spread", numbers: cellsOf(t, "dd-x.csv"),
			holds: pushPairs(t), spoil: "push_factor: {-1: 0.81, 0: 1, 1: 1.25, 2: 1.56}, push_spread: {best: 1, low: 0.9, high: 1.1}"},
	}
}

// Every check holds.
func TestAgainstTheOutside(t *testing.T) {
	for _, c := range outsideChecks(t) {
		if err := c.holds(Builtin()); err != nil {
			t.Errorf("%s (%s): %v", c.name, c.source, err)
		}
	}
}

// A check named as outside does not merely retype our own sheet: what it takes
// from its source is not what the sheet says of the figure, and it finds a
// figure that is wrong.
func TestOutsideChecksAreFromOutside(t *testing.T) {
	for _, c := range outsideChecks(t) {
		own := ownNumbers(stepOf(Builtin(), c.sheet, c.step), c.figures)
		if retyped(c.numbers, own) {
			t.Errorf("%s: %v are the sheet's own figures %v", c.name, c.numbers, own)
		}
		if c.source == "" {
			t.Errorf("%s names no source", c.name)
		}
		body := fmt.Sprintf("id: %s\nsteps: [{id: %s, %s}]", c.sheet, c.step, c.spoil)
		b, err := Load(fstest.MapFS{"spoilt.yaml": {Data: []byte(body)}})
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		if c.holds(b) == nil {
			t.Errorf("%s holds with %s too: it cannot fail", c.name, c.spoil)
		}
	}
	// the guard itself: a check that types the fixer's points again is found
	if own := ownNumbers(stepOf(Builtin(), "bw", "fixer"), "slower_cold"); !retyped([]float64{10, 2, 20, 1}, own) {
		t.Error("a retyped table passes for one from outside")
	}
}

// retyped tells whether half of the numbers or more are the sheet's own.
func retyped(numbers, own []float64) bool {
	n := 0
	for _, v := range numbers {
		if slices.ContainsFunc(own, func(o float64) bool { return math.Abs(o-v) < 1e-6 }) {
			n++
		}
	}
	return 2*n >= len(numbers)
}

// ownNumbers are the numbers that a step's figures consist of.
func ownNumbers(s *Step, figures string) (out []float64) {
	for _, f := range strings.Fields(figures) {
		switch f {
		case "aim_c":
			out = append(out, s.AimC)
		case "limits_c":
			out = append(out, s.LowC, s.HighC)
		case "per_10c":
			out = append(out, s.Factor.Best, s.Factor.Low, s.Factor.High)
		case "push_factor":
			out = append(append(out, s.Push.Stops...), s.Push.Values...)
		case "push_spread":
			out = append(out, s.Push.Spread.Low, s.Push.Spread.High)
		case "slower_cold":
			for _, p := range s.Slower.Points {
				out = append(out, p.C, p.S)
			}
		default:
			panic("no such figure: " + f)
		}
	}
	return out
}

func stepOf(b *Book, sheet, step string) *Step {
	s, _ := b.Sheet(sheet)
	st, _ := s.Step(step)
	return st
}

func toC(f float64) float64 { return (f - 32) / 1.8 }

// fahrenheit holds the aim and limits of a developer to what is printed in
// degrees Fahrenheit, as far as rounding to 0.05 °C goes.
func fahrenheit(sheet string, aim, low, high float64) func(*Book) error {
	return func(b *Book) error {
		s := stepOf(b, sheet, "developer")
		for _, x := range [][2]float64{{s.AimC, toC(aim)}, {s.LowC, toC(low)}, {s.HighC, toC(high)}} {
			if math.Abs(x[0]-x[1]) > 0.05 {
				return fmt.Errorf("%.2f °C; the source has %.3f", x[0], x[1])
			}
		}
		return nil
	}
}

// slower holds a cold bath to factors on its time, by °F.
func slower(step string, want map[float64]float64) func(*Book) error {
	return func(b *Book) error {
		s := stepOf(b, "bw", step)
		for f, factor := range want {
			for _, got := range []float64{1 / s.ColdRate(toC(f)).Best, 1 / s.Rates(toC(f)).Best} {
				if math.Abs(got-factor) > 0.02 {
					return fmt.Errorf("at %g °F it takes %.3f times as long, want %.3f", f, got, factor)
				}
			}
		}
		return nil
	}
}

// ddx is a row of the table of times in DD-X.
type ddx struct {
	film      string
	index     float64
	cool, hot float64 // minutes at 68 and at 75 °F
}

func ddxTable(t *testing.T) (out []ddx) {
	for _, r := range published(t, "dd-x.csv") {
		v := numbers(t, r[1:])
		out = append(out, ddx{r[0], v[0], v[1], v[2]})
	}
	return out
}

// temperaturePairs: the time at 75 °F lies within what the sheet makes of that
// at 68 °F. Of the one row that the reference calls steep it does not: the
// range is no rubber band.
func temperaturePairs(t *testing.T) func(*Book) error {
	rows := ddxTable(t)
	rows = append(rows, ddx{"T-Max 100 in XTOL, 55 to 95 °F", 100, 23, 8.0 / 3}) // forum, one worker's test
	return func(b *Book) error {
		s := stepOf(b, "bw", "developer")
		for _, r := range rows {
			from, to := toC(68), toC(75)
			if strings.Contains(r.film, "55 to 95") {
				from, to = toC(55), toC(95)
			}
			low, high := math.Pow(s.Factor.Low, (to-from)/10), math.Pow(s.Factor.High, (to-from)/10)
			within := r.cool/r.hot >= low-1e-9 && r.cool/r.hot <= high+1e-9
			if within == (r.film == "Pan F+") {
				return fmt.Errorf("%s EI %g: %.3f times as fast, the sheet has %.3f to %.3f", r.film, r.index, r.cool/r.hot, low, high)
			}
		}
		return nil
	}
}

// pushPairs: a film's time at twice and four times its index lies within what
// the sheet says a stop may be, at either temperature.
func pushPairs(t *testing.T) func(*Book) error {
	rows := ddxTable(t)
	return func(b *Book) error {
		s, n := stepOf(b, "bw", "developer"), 0
		for _, normal := range rows {
			for _, r := range rows {
				stops := math.Log2(r.index / normal.index)
				if r.film != normal.film || normal.index != 400 || stops < 1 || stops > 2 {
					continue
				}
				for _, x := range [][2]float64{{normal.cool, r.cool}, {normal.hot, r.hot}} {
					n++
					v, ok := s.PushError(60*x[1], 0, 60*x[0])
					got := s.Scaled(Exactly(v))
					if !ok || stops < got.Low-0.01 || stops > got.High+0.01 {
						return fmt.Errorf("%s by %g: the sheet says %.2f stops, %.2f to %.2f", r.film, stops, v, got.Low, got.High)
					}
				}
			}
		}
		if n != 8 {
			return fmt.Errorf("%d pairs are looked at, want 8", n)
		}
		return nil
	}
}

// published reads a table of testdata/published.
func published(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open("testdata/published/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil || len(rows) == 0 {
		t.Fatalf("%s: %d rows, %v", name, len(rows), err)
	}
	return rows
}

func numbers(t *testing.T, cells []string) (out []float64) {
	t.Helper()
	for _, c := range cells {
		v, err := strconv.ParseFloat(c, 64)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, v)
	}
	return out
}

// cellsOf are all numbers of a table of names and numbers.
func cellsOf(t *testing.T, name string) (out []float64) {
	for _, r := range published(t, name) {
		out = append(out, numbers(t, r[1:])...)
	}
	return out
}

// IEC 60751's own table of tolerances (testdata/published/iec60751.csv).
func TestProbeToleranceAgainstTheStandard(t *testing.T) {
	for _, row := range published(t, "iec60751.csv") {
		v := numbers(t, row)
		for class, want := range map[string]float64{ClassA: v[1], ClassB: v[2], "": v[2]} {
			if got := ProbeTolerance(class, v[0]); math.Abs(got-want) > 1e-9 {
				t.Errorf("class %q at %g °C: %g, want %g", class, v[0], got, want)
			}
		}
	}
}

// The method of mixtures: a textbook's worked example (OpenStax College
// Physics, "pouring cold water in a hot pan", from memory): 0.250 kg of water
// at 20.0 °C into an aluminum pan of 0.500 kg at 150 °C come to 59.1 °C, with
// 4186 and 900 J/(kg K).
func TestMixedAgainstATextbook(t *testing.T) {
	if got := mixed(0.250*4186, 20, 0.500*900, 150); math.Abs(got-59.1) > 0.05 {
		t.Errorf("%.2f °C, want 59.1 °C", got)
	}
}

// mixed is what two bodies come to that exchange heat with nothing else: the
// method of mixtures. Heat capacities in any one unit.
func mixed(heatA, cA, heatB, cB float64) float64 { return (heatA*cA + heatB*cB) / (heatA + heatB) }

// A tank's own share of the heat is found again from fills that differ:
// 500 ml of water (2090 J/K) in a tank of 350 J/K that stands at 36.8 °C.
func TestMixingShareIsLearned(t *testing.T) {
	const water, tank = 2090.0, 350.0
	var fills []Fill
	for i, pre := range []float64{38, 38.1, 37.9, 36, 39.5, 38, 37.2, 38.3, 35, 38} {
		noise := 0.03 * float64(i%3-1)
		fills = append(fills, Fill{LiquidC: pre, MixedC: mixed(water, pre, tank, 36.8) + noise})
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

// Color processes have their published ranges only, no times below them.
func TestColorBathsHaveNoTimesBelowTheirRange(t *testing.T) {
	for _, id := range []string{"c41", "e6-7", "e6-3"} {
		sh, _ := Builtin().Sheet(id)
		for _, s := range sh.Steps {
			if s.Slower != nil {
				t.Errorf("%s %s has times below its published range", id, s.ID)
			}
		}
	}
}
