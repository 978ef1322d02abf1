package timeline

import (
	"time"

	"wetside/internal/lab"
)

// giveUpRun ends a run as lost when nothing of the unit has arrived for hours. A
// buffer that arrives later may show that it went on, so that the state before is
// kept.
func (u *unit) giveUpRun(now time.Time) {
	if u.Arrivals.Last.IsZero() || now.Sub(u.Arrivals.Last) < lab.Seconds(u.cfg.Data.Figures.RunLostS) || !u.State.Now().Running {
		return
	}
	u.keepTimelineState()
	u.State.GiveUpRun()
	u.touched = true
}

// keepTimelineState keeps the state that the messages alone have made, before
// something is counted in that only arrival time or an entry tells.
func (u *unit) keepTimelineState() {
	if u.OfTimeline != nil {
		return
	}
	u.OfTimeline, u.OfTimelineT = u.marshalState(), u.State.Now().At
}

// backToTimeline goes back to that state when the next message comes: it tells
// whether the run went on, and entries count at their own moment.
func (u *unit) backToTimeline() {
	if u.OfTimeline == nil {
		return
	}
	if err := u.State.UnmarshalJSON(u.OfTimeline); err != nil {
		panic("rules: own state does not read: " + err.Error())
	}
	u.OfTimeline, u.OfTimelineT = nil, time.Time{}
	u.putOpen()
}

// putOpen puts the open alerts as the state has them, over what was found since.
func (u *unit) putOpen() {
	for o := range u.State.Open() {
		u.PutOccurrence(o)
	}
}
