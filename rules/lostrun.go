package rules

import (
	"time"

	"wetside/internal/lab"
)

// loseRun gives a run up when the unit's own messages show that nothing of it was
// sent for hours. (That nothing arrives for hours is judged by rules/timeline.)
func (u *Unit) loseRun(t time.Time) {
	if s := u.s; s.running() && t.Sub(s.Run.LastT) >= lab.Seconds(u.fig().RunLostS) {
		u.endRun(lab.OutcomeLost, s.Run.LastT)
	}
}
