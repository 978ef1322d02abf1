package timeline

import (
	"time"

	"wetside/internal/lab"
)

// loseRun gives a run up of which nothing has arrived for hours. That is for
// the time being: a buffer that arrives later may show that it went on, so
// the state before it is kept.
func (w *unit) loseRun(now time.Time) {
	if w.Arr.Last.IsZero() || now.Sub(w.Arr.Last) < lab.Seconds(w.cfg.Data.Figures.RunLostS) || !w.State.Now().Running {
		return
	}
	w.setStateAside()
	w.State.GiveUpRun()
	w.touched = true
}

// setStateAside keeps the state as the timeline alone has made it.
func (w *unit) setStateAside() {
	if w.Lost != nil {
		return
	}
	w.Lost, w.TrueT = w.stateNow(), w.State.Now().At
}

// unlose takes back that a run was given up for want of arrivals, and what
// people said of a time still to come: from here on the timeline itself tells.
func (w *unit) unlose() {
	if w.Lost == nil {
		return
	}
	if err := w.State.UnmarshalJSON(w.Lost); err != nil {
		panic("rules: own state does not read: " + err.Error())
	}
	w.Lost, w.TrueT = nil, time.Time{}
	w.putOpen()
}

// putOpen puts the alerts that last, as the state has them now.
func (w *unit) putOpen() {
	for o := range w.State.Open() {
		w.PutOccurrence(o)
	}
}
