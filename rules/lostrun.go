package rules

import (
	"time"

	"wetside/internal/lab"
)

// loseRun gives a run up when the unit's own timeline has nothing of it for
// hours.
func (u *Unit) loseRun(t time.Time) {
	if s := u.s; s.running() && t.Sub(s.Run.LastT) >= lab.Seconds(u.fig().RunLostS) {
		u.endRun(lab.OutcomeLost, s.Run.LastT)
	}
}
