package chemistry

import (
	"math"
	"strings"

	"wetside/internal/lab"
)

// rollIn2 is the area of one roll-equivalent, square inches: 80 square inches
// are one 135-36, one 120, four sheets of 4x5 or one of 8x10; a 220 is two
// rolls of 120. Quoted elsewhere: FixerCapacity, brodie-tyrrell.org (reference
// section 6, S19).
const rollIn2 = 80.0

// formats are the roll-equivalents of formats, by their names without spaces,
// in small letters.
var formats = map[string]float64{
	"135": 1, "135-36": 1, "35mm": 1, "120": 1, "220": 2,
	"4x5": 20 / rollIn2, "5x7": 35 / rollIn2, "8x10": 80 / rollIn2, // sheets, by their area
}

// RollEquivalents is how many rolls' area of film there is. assumed counts the
// rolls whose format nobody said, or that is not known here: each counts as one.
func RollEquivalents(rolls []lab.Roll) (sum float64, assumed int) {
	for _, r := range rolls {
		eq, known := FormatEquivalent(r.Format)
		if !known {
			eq, assumed = 1, assumed+1
		}
		sum += eq
	}
	return math.Round(sum*1e4) / 1e4, assumed
}

// FormatEquivalent is how many roll-equivalents one piece of a format is; false
// where the format is not known. A 135 of fewer exposures counts as a whole one:
// nothing published says less.
func FormatEquivalent(format string) (float64, bool) {
	f := strings.ToLower(strings.Join(strings.Fields(format), ""))
	f = strings.NewReplacer("×", "x", "in", "", "\"", "").Replace(f)
	if eq, ok := formats[f]; ok {
		return eq, true
	}
	if strings.HasPrefix(f, "135-") || strings.HasPrefix(f, "135/") {
		return 1, true
	}
	return 0, false
}

// Reels is how many reels a load fills at the least: one a roll; what is not on
// reels, sheets, counts by its area.
func Reels(rolls []lab.Roll) int {
	n, sheets := 0, 0.0
	for _, r := range rolls {
		if eq, known := FormatEquivalent(r.Format); known && eq != 1 && eq != 2 {
			sheets += eq
			continue
		}
		n++
	}
	return n + int(math.Ceil(sheets))
}
