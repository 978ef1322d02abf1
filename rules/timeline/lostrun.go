package timeline

import (
	"time"

	"wetside/internal/lab"
)

// giveUpRun ends a run as lost when nothing of the unit has arrived for hours. A
// buffer that arrives later may show that it went on, so that the state before is
// kept.
func (w *unit) giveUpRun(now time.Time) {
	if w.Arrivals.Last.IsZero() || now.Sub(w.Arrivals.Last) < lab.Seconds(w.cfg.Data.Figures.RunLostS) || !w.State.Now().Running {
		return
	}
	w.keepTimelineState()
	w.State.GiveUpRun()
	w.touched = true
}

// keepTimelineState keeps the state that the messages alone have made, before
// something is counted in that only arrival time or an entry tells.
func (w *unit) keepTimelineState() {
	if w.OfTimeline != nil {
		return
	}
	w.OfTimeline, w.OfTimelineT = w.marshalState(), w.State.Now().At
}

// backToTimeline goes back to that state when the next message comes: it tells
// whether the run went on, and entries count at their own moment.
func (w *unit) backToTimeline() {
	if w.OfTimeline == nil {
		return
	}
	if err := w.State.UnmarshalJSON(w.OfTimeline); err != nil {
		panic("rules: own state does not read: " + err.Error())
	}
	w.OfTimeline, w.OfTimelineT = nil, time.Time{}
	w.putOpen()
}

// putOpen puts the open alerts as the state has them, over what was found since.
func (w *unit) putOpen() {
	for o := range w.State.Open() {
		w.PutOccurrence(o)
	}
}
