package timeline

import (
	"time"

	"wetside/internal/lab"
)

// Changes is what a call to Feed or Tick found. Everything in it has an id of what
// it is about, so that applying it twice changes nothing.
type Changes struct {
	// Occurrences are new or changed, unit by unit.
	Occurrences []OccurrenceChange
	// Runs are new or changed.
	Runs []lab.Run
	// Touched are the units whose view or state may have changed.
	Touched []lab.UnitID
	// Aside are the units that could not be folded; what was found of them in
	// this call is not in it.
	Aside []Aside
}

// OccurrenceChange is one episode of a condition as it stands now.
type OccurrenceChange struct {
	lab.Occurrence
	// Noticed is the arrival time at which it was found.
	Noticed time.Time
	// FoundAfterwards: it had already ended when it was noticed.
	FoundAfterwards bool
	// Was is the ID the same episode had before late evidence moved its
	// beginning; "" otherwise. What people did to it goes with it.
	Was string
	// Withdrawn: later evidence says that it never was.
	Withdrawn bool
}
