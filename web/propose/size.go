package propose

import (
	"math"

	"wetside/internal/chemistry"
)

// quartersOfRoll is how a plan counts rolls: a sheet of 4x5, a quarter of a roll,
// is the smallest thing that is counted.
const quartersOfRoll = 4

// quarters is how much a roll or sheet of a format takes of the reels, in quarters
// of a roll; false where the format is not said or not known: it counts as one roll.
func quarters(format string) (n int, known bool) {
	eq, known := chemistry.FormatEquivalent(format)
	if !known {
		return quartersOfRoll, false
	}
	return max(1, int(math.Ceil(eq*quartersOfRoll-1e-9))), true
}
