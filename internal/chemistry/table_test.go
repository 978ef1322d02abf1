package chemistry

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"wetside/internal/lab"
)

// printedTable is the mixing table as it is printed: TI2443 (rev 01-00),
// Single-MixUse Chemistry Kit, Process E-6, page 1. mL; water 20 to 40 °C.
const printedTable = `
volume|350|500|1000|2000|5000
Starting water, 20 to 40 °C|210|300|600|1200|3000
First developer|70.0|100.0|200.0|400.0|1000.0
Reversal bath|8.8|12.5|25.0|50.0|125.0
Color developer, part A|50|71.3|142.5|285.0|712.5
Color developer, part B|16.5|23.5|47.0|94.0|235.0
Pre-bleach|24.5|35.0|70.0|140.0|350.0
Bleach|108.5|155.0|310.0|620.0|1550.0
Fixer|24.5|35.0|70.0|140.0|350.0
Final rinse (CAT 107 7643)|3.5|5.0|10.0|20.0|50.0
Final rinse (CAT 839 6210)|5.5|7.8|15.6|31.2|78.0`

// The kit's table, worked out of mL a liter, is the printed one to its printed
// rounding: as many decimals as stand there.
func TestMixingTableIsThePrintedOne(t *testing.T) {
	perL := map[string]float64{"Starting water, 20 to 40 °C": kitWaterMLPerL}
	for _, p := range oneShotE6 {
		perL[p.Part] = p.MLPerL
	}
	lines := strings.Split(strings.TrimSpace(printedTable), "\n")
	volumes := strings.Split(lines[0], "|")[1:]
	checked := 0
	for _, line := range lines[1:] {
		cells := strings.Split(line, "|")
		for i, printed := range cells[1:] {
			want, _ := strconv.ParseFloat(printed, 64)
			ml, _ := strconv.ParseFloat(volumes[i], 64)
			_, decimals, _ := strings.Cut(printed, ".")
			got := Round(perL[cells[0]]*ml/1000, len(decimals))
			if math.Abs(got-want) > 1e-9 {
				t.Errorf("%s for %s mL: %v, printed %s", cells[0], volumes[i], got, printed)
			}
			checked++
		}
	}
	if checked != 50 || len(perL) != 10 {
		t.Errorf("%d cells of %d parts; the table has 50 of 10", checked, len(perL))
	}
}

// What is given for a batch is the table's figure, and water to the mark makes
// the volume whole.
func TestBatchOfTheKit(t *testing.T) {
	b := Ways("e6-7/color-developer", 500, nil)
	if len(b) != 1 {
		t.Fatalf("%d ways to mix it; want one", len(b))
	}
	want := []float64{300, 71.3, 23.5, 105.2} // water, part A, part B of TI2443; the rest up to 500
	sum := 0.0
	for i, s := range b[0].Steps {
		if math.Abs(s.ML-want[i]) > 1e-9 {
			t.Errorf("%s: %g mL, want %g", s.Part, s.ML, want[i])
		}
		sum += s.ML
	}
	if math.Abs(sum-500) > 0.05 || b[0].Standing != "published" || !strings.Contains(b[0].Source, "TI2443") {
		t.Errorf("sum %g, %s, %s", sum, b[0].Standing, b[0].Source)
	}
	if n := len(Ways("e6-7/final-rinse", 1000, nil)); n != 2 {
		t.Errorf("%d final rinses; two concentrates of different strength are in the table", n)
	}
	if n := len(Ways("c41/developer", 1000, nil)); n != 0 {
		t.Errorf("%d published ways to mix a C-41 developer; the source has none", n)
	}
}

func TestBatchOfTheLabsRecipe(t *testing.T) {
	r := lab.Recipe{Solution: "bw/developer", Name: "1+9", Parts: []lab.RecipePart{{Part: "Concentrate", MLPerL: 100}}, Source: "bottle's label"}
	b := Ways("bw/developer", 600, []lab.Recipe{r})
	if len(b) != 1 || b[0].Steps[0].ML != 60 || b[0].Steps[1].ML != 540 || b[0].Standing != "the lab's own" {
		t.Errorf("%+v", b)
	}
}

// 220 is two rolls of 120, four sheets of 4x5 are one roll, 8x10 is one: 80
// square inches each (FixerCapacity, brodie-tyrrell.org).
func TestRollEquivalents(t *testing.T) {
	for format, want := range map[string]float64{"135": 1, "135-36": 1, "120": 1, "220": 2, "4x5": 0.25, "4 × 5 in": 0.25, "8x10": 1, "5X7": 0.4375, "135-24": 1} {
		if eq, known := FormatEquivalent(format); !known || eq != want {
			t.Errorf("%s: %g, known %v; want %g", format, eq, known, want)
		}
	}
	load := []lab.Roll{{Format: "220"}, {Format: "4x5"}, {Format: "4x5"}, {Format: "4x5"}, {Format: "4x5"}, {Format: ""}, {Format: "Minox"}}
	if eq, assumed := RollEquivalents(load); eq != 5 || assumed != 2 {
		t.Errorf("%g roll-equivalents, %d assumed; want 5 and 2", eq, assumed)
	}
	if n := Reels(load); n != 4 {
		t.Errorf("%d reels; want the 220, two of unknown format and one of sheets", n)
	}
}
