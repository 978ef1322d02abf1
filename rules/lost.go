package rules

import (
	"time"

	"wetside/internal/lab"
)

// loseRun gives a run up when the unit's own timeline has nothing of it for
// hours.
func (f *Unit) loseRun(t time.Time) {
	if s := f.s; s.running() && t.Sub(s.Run.LastT) >= lab.Seconds(f.fig().RunLostS) {
		f.endRun(lab.OutcomeLost, s.Run.LastT)
	}
}
