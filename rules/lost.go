package rules

import (
	"encoding/json"
	"time"

	"wetside/internal/lab"
)

// loseRun gives a run up when the unit's own timeline has nothing of it for
// hours.
func (f *fold) loseRun(t time.Time) {
	if s := f.s; s.running() && t.Sub(s.Run.LastT) >= sec(f.fig().RunLostS) {
		f.endRun(lab.OutcomeLost, s.Run.LastT)
	}
}

// loseRun gives a run up of which nothing has arrived for hours. That is for
// the time being: a buffer that arrives later may show that it went on, so
// the state before it is kept.
func (w *watch) loseRun(now time.Time) {
	if !w.State.running() || w.Arr.Last.IsZero() || now.Sub(w.Arr.Last) < sec(w.cfg.Data.Figures.RunLostS) {
		return
	}
	w.setStateAside()
	w.fold().endRun(lab.OutcomeLost, w.State.Run.LastT)
	w.touched = true
}

// setStateAside keeps the state as the timeline alone has made it.
func (w *watch) setStateAside() {
	if w.Lost != nil {
		return
	}
	blob, err := json.Marshal(w.State)
	if err != nil {
		panic("rules: state does not marshal: " + err.Error())
	}
	w.Lost, w.TrueT = blob, w.State.now()
}

// unlose takes back that a run was given up for want of arrivals, and what
// people said of a time still to come: from here on the timeline itself tells.
func (w *watch) unlose() {
	if w.Lost == nil {
		return
	}
	st := newState()
	if err := json.Unmarshal(w.Lost, st); err != nil {
		panic("rules: own state does not read: " + err.Error())
	}
	w.State, w.Lost, w.TrueT = st, nil, time.Time{}
	for _, key := range sortedKeys(st.Open) {
		w.putOccurrence(*st.Open[key])
	}
}
