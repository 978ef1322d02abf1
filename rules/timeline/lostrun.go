package timeline

import (
	"time"

	"wetside/internal/lab"
)

// giveUpRun gives a run up of which nothing has arrived for hours. That is for
// the time being: a buffer that arrives later may show that it went on, so
// the state before it is kept.
func (w *unit) giveUpRun(now time.Time) {
	if w.Arrivals.Last.IsZero() || now.Sub(w.Arrivals.Last) < lab.Seconds(w.cfg.Data.Figures.RunLostS) || !w.State.Now().Running {
		return
	}
	w.keepTimelineState()
	w.State.GiveUpRun()
	w.touched = true
}

// keepTimelineState keeps the state as the timeline alone has made it.
func (w *unit) keepTimelineState() {
	if w.OfTimeline != nil {
		return
	}
	w.OfTimeline, w.OfTimelineT = w.marshalState(), w.State.Now().At
}

// backToTimeline takes back that a run was given up for want of arrivals, and what
// people said of a time still to come: from here on the timeline itself tells.
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

// putOpen puts the alerts that last, as the state has them now.
func (w *unit) putOpen() {
	for o := range w.State.Open() {
		w.PutOccurrence(o)
	}
}
