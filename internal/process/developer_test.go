package process

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
)

// How fast each whole row of Kodak F-32's rotary-tube table goes with
// temperature, 68 to 75 °F, as the reference computed it: the factor for
// 10 °C from the two outer columns.
func TestTableAgainstComputedFactors(t *testing.T) {
	want := map[string]float64{
		"tmx-xtol-135": 2.84, "tmx-xtol-120": 3.00, "tmy-xtol-135": 2.27,
		"tmx-xtol-1-1-135": 2.38, "tmx-xtol-1-1-120": 1.43, "tmy-xtol-1-1-135": 2.42, "tmy-xtol-1-1-120": 2.10,
		"tmx-d-76": 1.96, "tmy-d-76": 1.86, "tmx-t-max-1-4": 1.54, "tmy-t-max-1-4": 1.54,
		"tmx-t-max-rs": 2.38, "tmy-t-max-rs": 1.54, "tmy-hc-110-b": 1.60,
	}
	whole := 0
	for _, d := range Builtin().Developers() {
		if d.Partial {
			continue
		}
		whole++
		first, _ := timeS(d, 20)
		last, _ := timeS(d, (75-32)/1.8)
		if got := math.Pow(first.Best/last.Best, 10/(7/1.8)); math.Abs(got-want[d.ID]) > 0.006 {
			t.Errorf("%s: factor %.3f for 10 °C, the reference has %.2f", d.ID, got, want[d.ID])
		}
	}
	if whole != len(want) {
		t.Errorf("%d whole rows, the table has %d", whole, len(want))
	}
}

// timeS is the table's time at temperature c with its bounds, seconds: read
// straight in the logarithm of the time, beyond the table by the end slope.
// False for a developer without a table.
func timeS(d *Developer, c float64) (Range, bool) {
	if len(d.Table) < 2 {
		return Range{}, false
	}
	t := d.logs()
	w := t.weights(c)
	return Range{math.Exp(dot(w, t.best)), math.Exp(t.least(w)), math.Exp(t.most(w))}, true
}

// without is d with one column left out.
func without(d *Developer, i int) *Developer {
	out := *d
	out.Table = slices.Delete(slices.Clone(d.Table), i, i+1)
	return &out
}

// fits tells whether the printed time of column i can be had from its
// neighbours: whether some times that are rounded to what is printed lie on
// one straight line in the logarithm.
func fits(d *Developer, i int) (printed float64, from Range, ok bool) {
	p := d.Table[i]
	from, _ = timeS(without(d, i), p.C)
	return p.S, from, from.Low <= p.S+d.RoundS/2 && from.High >= p.S-d.RoundS/2
}

// Every row: each time between 20 and 24 °C from the columns beside it,
// within the table's own rounding. Most come out as printed; where not, the
// rounding of the neighbours is shown to cover it.
func TestTableFromNeighbouringColumns(t *testing.T) {
	asPrinted, n := 0, 0
	for _, d := range Builtin().Developers() {
		for i := 1; i < len(d.Table)-1; i++ {
			n++
			printed, from, ok := fits(d, i)
			if math.Abs(from.Best-printed) <= d.RoundS/2 {
				asPrinted++
			} else {
				t.Logf("%s at %.1f °C: printed %.0f s in steps of %.0f, %.1f from its neighbours (%.1f to %.1f with their rounding)",
					d.ID, d.Table[i].C, printed, d.RoundS, from.Best, from.Low, from.High)
			}
			if !ok {
				t.Errorf("%s at %.1f °C: printed %.0f s, from its neighbours %.1f to %.1f", d.ID, d.Table[i].C, printed, from.Low, from.High)
			}
		}
	}
	if n != 30 || asPrinted < 25 {
		t.Errorf("%d of %d times come out as printed; want 25 of 30", asPrinted, n)
	}
}

// The check above finds a time that is wrong by two steps of the table.
func TestTableCheckFindsWrongTimes(t *testing.T) {
	for _, d := range Builtin().Developers() {
		for _, off := range []float64{-2, 2} {
			bad := *d
			bad.Table = slices.Clone(d.Table)
			bad.Table[1].S += off * d.RoundS
			if _, _, ok := fits(&bad, 1); ok {
				t.Errorf("%s: a time off by %g steps passes", d.ID, off)
			}
		}
	}
}

func TestDeveloperOnStep(t *testing.T) {
	sheet, _ := Builtin().Sheet("bw")
	step, _ := sheet.Step("developer")
	d, ok := Builtin().Developer("tmx-xtol-135")
	if !ok {
		t.Fatal("no tmx-xtol-135")
	}
	by := step.With(d)
	if by.Developer != d || step.Developer != nil {
		t.Error("With changed the sheet's step or did not name the developer")
	}
	if got := by.Rates(20); got != (Rates{1, 1, 1}) {
		t.Errorf("at the aim %+v, want 1", got)
	}
	// F-32: 6 min at 20 °C, 4 min at 24 °C (75 °F): one and a half times as
	// fast; printed in quarters: 5:52.5-6:07.5 over 3:52.5-4:07.5.
	r := by.Rates(23.8889)
	want := Rates{1.5, 352.5 / 247.5, 367.5 / 232.5}
	for _, x := range [][2]float64{{r.Best, want.Best}, {r.Low, want.Low}, {r.High, want.High}} {
		if math.Abs(x[0]-x[1]) > 1e-9 {
			t.Errorf("at 75 °F %+v, want %+v", r, want)
		}
	}
	// Outside the table: the end slope, and at least the sheet's own range.
	out := by.Rates(10)
	if slope := math.Pow(5.25/6, 10/1.1111); math.Abs(out.Best-slope) > 1e-4 || out.High < 1/1.4-1e-9 || out.Low > 1/3.0+1e-9 {
		t.Errorf("at 10 °C %+v, want %.4f within at least %.3f to %.3f", out, slope, 1/3.0, 1/1.4)
	}
	factor := step.With(&Developer{ID: "x", Factor: &Factor{2, 1.8, 2.2}})
	if got := factor.Rates(10); math.Abs(got.Best-1/2.0) > 1e-12 || math.Abs(got.Low-1/2.2) > 1e-12 || math.Abs(got.High-1/1.8) > 1e-12 {
		t.Errorf("below the aim %+v: a high factor makes less", got)
	}
	if got := factor.With(d).Rates(23.8889); math.Abs(got.Best-1.5) > 1e-9 {
		t.Errorf("a second choice does not take the place of the first: %+v", got)
	}
}

func TestLabAddsDevelopers(t *testing.T) {
	load := func(text string) (*Book, error) {
		return Load(fstest.MapFS{"developers/own.yaml": {Data: []byte(text)}})
	}
	b, err := load(`
sources: [{figure: all, from: own tests, mark: OWN}]
rounded_min: 0.25
at_c: [20, 24]
developers:
  - {id: house-soup, developer: Soup, dilution: "1+9", minutes: [9, 7]}
  - {id: tmx-d-76, film: TMX, developer: D-76, per_10c: {best: 2, low: 1.8, high: 2.2}}
`)
	if err != nil {
		t.Fatal(err)
	}
	if d, ok := b.Developer("house-soup"); !ok || len(d.Table) != 2 || d.Name() != "Soup 1+9" {
		t.Errorf("own developer: %+v", d)
	}
	if d, _ := b.Developer("tmx-d-76"); d.Factor == nil {
		t.Error("a developer of the same id does not take the place of the built-in one")
	}
	if _, ok := Builtin().Developer("house-soup"); ok {
		t.Error("a lab's developer got into the built-in book")
	}
	head := "sources: [{figure: all, from: x, mark: OWN}]\nrounded_min: 0.5\nat_c: [20, 24]\ndevelopers: ["
	for text, want := range map[string]string{
		"developers: []": "empty",
		head + "{id: A b, developer: x, minutes: [2, 1]}]":                                       "small letters",
		head + "{id: a, minutes: [2, 1]}]":                                                       "developer is missing",
		head + "{id: a, developer: x}]":                                                          "neither",
		head + "{id: a, developer: x, minutes: [3]}]":                                            "one time for each",
		head + "{id: a, developer: x, minutes: [3, null]}]":                                      "at least two",
		head + "{id: a, developer: x, minutes: [3, 4]}]":                                         "slower when warmer",
		head + "{id: a, developer: x, minutes: [3, 0.25]}]":                                      "rounding",
		head + "{id: a, developer: x, at_c: [24, 20], minutes: [3, 2]}]":                         "does not exceed",
		head + "{id: a, developer: x, per_10c: {best: 1, low: 2, high: 3}}]":                     "per_10c must be",
		head + "{id: a, developer: x, minutes: [3, 2]}, {id: a, developer: x, minutes: [3, 2]}]": "twice",
		head + "{id: a, developer: x, minuts: [3, 2]}]":                                          "minuts",
		"at_c: [20, 24]\ndevelopers: [{id: a, developer: x, minutes: [3, 2]}]":                   "sources are missing",
	} {
		if _, err := load(text); err == nil || !strings.Contains(err.Error(), want) || !strings.Contains(err.Error(), "own.yaml") {
			t.Errorf("%s: error %v; want one with %q and the file", text, err, want)
		}
	}
}

// A step that was kept with a run's record as JSON judges as it did.
func TestStepReadBackJudgesAlike(t *testing.T) {
	sheet, _ := Builtin().Sheet("bw")
	step, _ := sheet.Step("developer")
	for _, d := range Builtin().Developers() {
		by := step.With(d)
		raw, err := json.Marshal(by)
		if err != nil {
			t.Fatal(err)
		}
		var back Step
		if err := json.Unmarshal(raw, &back); err != nil {
			t.Fatal(err)
		}
		for _, c := range []float64{12, 19.5, 21.7, 23, 27} {
			if got, want := back.Rates(c), by.Rates(c); got != want {
				t.Errorf("%s at %.1f °C: %+v read back, %+v before", d.ID, c, got, want)
			}
		}
	}
}

// beyondEdge the table a time is read on with the slope of the last two columns,
// straight in its logarithm: at as far beyond the last column as the column
// before it lies within, the product with that column's time is the square of
// the last one's.
func TestTimeBeyondTheTable(t *testing.T) {
	for _, d := range Builtin().Developers() {
		n := len(d.Table) - 1
		if n < 1 {
			continue
		}
		for _, end := range [][2]TimeAt{{d.Table[n-1], d.Table[n]}, {d.Table[1], d.Table[0]}} {
			within, last := end[0], end[1]
			got, ok := timeS(d, 2*last.C-within.C)
			if want := last.S * last.S / within.S; !ok || math.Abs(got.Best-want) > 1e-6*want || got.Low > got.Best || got.High < got.Best {
				t.Errorf("%s at %.1f °C: %+v, %v; want %.1f", d.ID, 2*last.C-within.C, got, ok, want)
			}
		}
	}
}
