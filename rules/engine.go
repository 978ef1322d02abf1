package rules

import (
	"context"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// Config is what the fold judges by. All of it is data.
type Config struct {
	Book *process.Book // the process sheets
	Data *Data         // holds, limits, priorities, texts
}

// History gives stored telemetry back to the fold when late evidence makes it
// fold a unit again. It must return every stored message of the unit whose
// arrival number is at least floor (floor 0: all there is), in any order.
type History interface {
	UnitMessages(ctx context.Context, unit lab.UnitID, floor int64) ([]lab.Message, error)
}

// Changes is what a call to Feed or Tick found. Keyed by what things are of:
// applying it twice changes nothing.
type Changes struct {
	// Occurrences are new or changed, oldest first.
	Occurrences []OccurrenceChange
	// Runs are new or changed.
	Runs []lab.Run
	// Touched are the units whose view or state may have changed.
	Touched []lab.UnitID
}

// OccurrenceChange is one episode of a condition as it stands now.
type OccurrenceChange struct {
	lab.Occurrence
	// Noticed is the arrival time at which the fold found it out.
	Noticed time.Time
	// FoundAfterwards: it had already ended when it was noticed.
	FoundAfterwards bool
	// Was is the ID the same episode had before late evidence moved its
	// beginning; "" otherwise. What people did to it goes with it.
	Was string
	// Withdrawn: later evidence says that it never was.
	Withdrawn bool
}

// Engine folds the telemetry of any number of units. It holds no clock and
// does no input or output of its own. Not safe for concurrent use.
type Engine struct{ impl *engine }
