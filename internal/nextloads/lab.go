package nextloads

import (
	"fmt"
)

// NoDue is when a roll is due that nobody promised.
const NoDue = 1 << 30

// Lab is what waits and what it may be loaded on. Times are whole minutes from
// now, sizes any whole unit (quarters of a roll, so that a sheet has one).
type Lab struct {
	Rolls []Roll // in the order in which they came
	Units []Unit
	// Hands are when somebody is wanted anyway, for runs that go on.
	Hands []int
	// ApartMin is how far apart two runs must want hands so that one person can
	// see to both; TurnMin how long a unit takes from one run to the next.
	ApartMin, TurnMin int
	// Process is the process of each kind: kinds of one process follow each other
	// without a flush. A kind beyond it is a process of its own.
	Process []int
	// DryerRoom is what the lab's common dryer holds; 0: each unit dries its own.
	DryerRoom int
	Drying    []Drying // what hangs in the common dryer already
}

// Roll is one roll or sheet that waits.
type Roll struct {
	Kind int // rolls of one kind may run together
	Size int
	Due  int // NoDue where nothing is promised
}

// Unit is a unit that is ready, or will be.
type Unit struct {
	Free  int // from when on it can be started
	Holds int // what its reels hold
	// Set is the kind that it ran last, -1 for none; another process costs FlushMin.
	Set, FlushMin int
	Stock         []int       // what it has of water, room and chemistry, mL
	Does          map[int]Way // by kind
}

// Way is how a unit runs a kind.
type Way struct {
	BathMin, DryMin int   // until hands are wanted at the end of the baths; until it is dry
	Needs           []int // of Stock, for each run
}

// Drying is film in the common dryer.
type Drying struct{ From, To, Size int }

// Run is one run of a plan.
type Run struct {
	Unit, Kind int
	Rolls      []int // of Lab.Rolls, rising
	Flush      bool  // the unit is flushed before it
	Start      int
	BathEnd    int
	Ready      int // the film is dry
}

// Plan is a proposal.
type Plan struct {
	Runs      []Run // by start
	Left      []int // rolls that found no place
	Score     Score
	FirstCome Score // of first come, first served
	Proven    bool  // no plan is better in rolls left, late, lateness, collisions and end
	Steps     int   // how many were taken
}

// check says what does not fit together: a mistake of the caller.
func (l *Lab) check() error {
	for i, r := range l.Rolls {
		if r.Size <= 0 || r.Kind < 0 {
			return fmt.Errorf("roll %d: size %d and kind %d; a size is at least 1 and a kind at least 0", i, r.Size, r.Kind)
		}
	}
	for i, u := range l.Units {
		for k, w := range u.Does {
			if w.BathMin <= 0 || w.DryMin < 0 || len(w.Needs) != 0 && len(w.Needs) != len(u.Stock) {
				return fmt.Errorf("unit %d, kind %d: %d min of baths, %d min to dry, needs of %d for stock of %d", i, k, w.BathMin, w.DryMin, len(w.Needs), len(u.Stock))
			}
		}
	}
	return nil
}

// hands are the minutes after its start at which a run wants hands: start, reels
// to the dryer, film from the dryer.
func (w Way) hands() []int {
	if w.DryMin == 0 {
		return []int{0, w.BathMin}
	}
	return []int{0, w.BathMin, w.BathMin + w.DryMin}
}

// busyMin is for how long a run keeps its unit.
func (l *Lab) busyMin(w Way) int {
	if l.DryerRoom > 0 {
		return w.BathMin
	}
	return w.BathMin + w.DryMin
}

// flushes tells whether a unit is flushed between two kinds.
func (l *Lab) flushes(last, next int) bool {
	if last < 0 || last == next {
		return false
	}
	return last >= len(l.Process) || next >= len(l.Process) || l.Process[last] != l.Process[next]
}
