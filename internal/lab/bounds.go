package lab

import (
	"fmt"
	"math"
	"strconv"
)

// Bound is the range of a number that comes from outside, both ends included.
// What lies beyond one cannot be, whoever says it: it is refused where it
// arrives, so that no sum, no date and no drawing behind has to allow for it.
type Bound struct{ Low, High float64 }

// The bounds of the contract. Whether a temperature is believed is judged
// elsewhere: these only say what a number may be at all.
var (
	BoundTemperature = Bound{-300, 2000}           // °C
	BoundPush        = Bound{-6, 6}                // stops
	BoundSeconds     = Bound{0, 604_800}           // set_s, elapsed_s: a week
	BoundFill        = Bound{0, 50_000}            // ml
	BoundLitres      = Bound{0, 2000}              // levels and capacities
	BoundBattery     = Bound{0, 100}               // %
	BoundRPM         = Bound{0, 1000}              // of the tank
	BoundReversals   = Bound{0, 4_000_000_000}     // counted since whenever
	BoundOutage      = Bound{0, 315_360_000}       // seconds: ten years
	BoundUp          = Bound{0, 4_000_000_000}     // seconds since the controller started
	BoundProbe       = Bound{-10, 10}              // °C that a probe may be off
	BoundMeasured    = Bound{0, 100}               // °C of a thermometer in a bath
	BoundSpread      = Bound{0, 10}                // °C that a check may be uncertain by
	BoundValue       = Bound{-1e9, 1e9}            // any other number that a person types
	BoundEquivalent  = Bound{0, BoundSeconds.High} // seconds of equivalent time
)

// Bounds of whole numbers and caps of lists.
const (
	MaxSeq        = 1 << 53 // beyond it a JSON number no longer counts by ones
	MaxN          = 64      // steps of a run
	MaxContainers = 32      // of a unit
	MaxLevels     = 32      // in a tank message
	MaxProcesses  = 64      // of a unit
	MaxName       = 128     // characters of a name that a unit gives something
	MaxRolls      = 200     // in a load or a run
)

// Holds tells whether v is a number within the bound.
func (b Bound) Holds(v float64) bool { return v >= b.Low && v <= b.High } // NaN is not

// Check says what is wrong with a number of that name; nil where nothing is.
func (b Bound) Check(name string, v float64) error {
	if b.Holds(v) {
		return nil
	}
	return fmt.Errorf("%s must be %s; got %s", name, b, plain(v))
}

// CheckPtr is Check for a number that may be left out.
func (b Bound) CheckPtr(name string, v *float64) error {
	if v == nil {
		return nil
	}
	return b.Check(name, *v)
}

// String gives the bound in words: "0 to 2000".
func (b Bound) String() string { return plain(b.Low) + " to " + plain(b.High) }

// plain writes a number as people do, up to where that gets long.
func plain(v float64) string {
	if math.Abs(v) < 1e15 {
		return strconv.FormatFloat(v, 'f', -1, 64)
	}
	return strconv.FormatFloat(v, 'g', -1, 64)
}
