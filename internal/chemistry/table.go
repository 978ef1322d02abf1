package chemistry

import (
	"math"

	"wetside/internal/lab"
)

// KitPart is one part of a kit: the solution that it makes, and how much of it
// a liter takes.
type KitPart struct {
	Solution string // process/step; "" the water that every solution begins with
	Part     string
	MLPerL   float64
	Order    string // when it goes in, where that matters
}

// Water that the solutions of the kit begin with, mL a liter; the rest is
// topped up at the end.
const kitWaterMLPerL = 600

// Source of the kit's table.
const (
	KitName    = "Single-MixUse Chemistry Kit, Process E-6"
	KitSource  = "TI2443 (rev 01-00), page 1, 2000"
	KitMark    = "published"
	WaterLowC  = 20 // the kit's water, °C
	WaterHighC = 40
)

// oneShotE6 is the mixing table of the one-shot E-6 kit, mL a liter: TI2443
// (rev 01-00), page 1, column 1 L.
var oneShotE6 = []KitPart{
	{"e6-7/first-developer", "First developer", 200, ""},
	{"e6-7/reversal-bath", "Reversal bath", 25, ""},
	{"e6-7/color-developer", "Color developer, part A", 142.5, ""},
	{"e6-7/color-developer", "Color developer, part B", 47, "after part A is mixed in"},
	{"e6-7/pre-bleach", "Pre-bleach", 70, ""},
	{"e6-7/bleach", "Bleach", 310, ""},
	{"e6-7/fixer", "Fixer", 70, ""},
	{"e6-7/final-rinse", "Final rinse (CAT 107 7643)", 10, ""},
	{"e6-7/final-rinse", "Final rinse (CAT 839 6210)", 15.6, ""},
}

// MixingWay says how to mix one batch of one solution.
type MixingWay struct {
	Solution string       `json:"solution"`
	Name     string       `json:"name" doc:"The kit or the recipe."`
	VolumeML float64      `json:"volume_ml" doc:"What it makes, milliliters."`
	Steps    []MixingStep `json:"steps" doc:"What goes in, in this order."`
	Note     string       `json:"note,omitempty"`
	Source   string       `json:"source" doc:"Where it is from."`
	Standing string       `json:"standing" doc:"How far the source goes: published, or the lab's own."`
}

// MixingStep is one thing that goes in.
type MixingStep struct {
	Part string  `json:"part"`
	ML   float64 `json:"ml" doc:"How much, milliliters."`
	Note string  `json:"note,omitempty"`
}

// Ways are the ways to mix so much of a solution: the published kit's, and
// the lab's recipes.
func Ways(solution string, ml float64, recipes []lab.Recipe) []MixingWay {
	out := []MixingWay{}
	for _, k := range kitBatches(solution) {
		out = append(out, fill(k, ml))
	}
	for _, r := range recipes {
		if r.Solution != solution {
			continue
		}
		b := MixingWay{Solution: solution, Name: r.Name, Note: r.Note, Source: r.Source, Standing: "the lab's own"}
		for _, p := range r.Parts {
			b.Steps = append(b.Steps, MixingStep{Part: p.Part, ML: p.MLPerL})
		}
		out = append(out, fill(b, ml))
	}
	return out
}

// kitBatches are the kit's for a solution, a liter each: two where two
// concentrates of different strength are sold for it.
func kitBatches(solution string) (out []MixingWay) {
	var parts []KitPart
	for _, p := range oneShotE6 {
		if p.Solution == solution {
			parts = append(parts, p)
		}
	}
	if len(parts) == 0 {
		return nil
	}
	water := MixingStep{Part: "Starting water, 20 to 40 °C", ML: kitWaterMLPerL}
	batch := func(parts ...KitPart) MixingWay {
		b := MixingWay{Solution: solution, Name: KitName, Steps: []MixingStep{water}, Source: KitSource, Standing: KitMark}
		for _, p := range parts {
			b.Steps = append(b.Steps, MixingStep{Part: p.Part, ML: p.MLPerL, Note: p.Order})
		}
		return b
	}
	if solution == "e6-7/final-rinse" {
		return []MixingWay{batch(parts[0]), batch(parts[1])}
	}
	return []MixingWay{batch(parts...)}
}

// fill scales a batch that is stated a liter, and tops it up with water.
func fill(b MixingWay, ml float64) MixingWay {
	steps, sum := make([]MixingStep, 0, len(b.Steps)+1), 0.0
	for _, s := range b.Steps {
		s.ML = Round(s.ML*ml/1000, 1)
		sum += s.ML
		steps = append(steps, s)
	}
	if rest := Round(ml-sum, 1); rest > 0 {
		steps = append(steps, MixingStep{Part: "Water to the mark", ML: rest, Note: "top up to the volume; do not rely on the sum"})
	}
	b.VolumeML, b.Steps = ml, steps
	return b
}

// Round rounds half up at so many decimals, as printed tables do: 8.75 is 8.8.
// What floating point leaves a hair below a half is taken for the half.
func Round(v float64, decimals int) float64 {
	k := math.Pow10(decimals)
	return math.Floor(v*k+0.5+1e-9) / k
}
