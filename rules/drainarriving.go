package rules

import (
	"fmt"
	"time"

	"wetside/internal/lab"
)

// drainWatched is a drain under way: the level in its container must rise.
type drainWatched struct {
	To    string    `json:"to"`
	N     int       `json:"n"`
	Base  float64   `json:"base"`
	L     float64   `json:"l"`
	FromT time.Time `json:"from_t"`
	TookS float64   `json:"took_s"` // what a drain usually takes
}

// A container must have risen arrivingS seconds after its drain began; it is
// watched until arrivingUntilS.
const (
	arrivingS      = 15
	arrivingUntilS = 60
)

// noDraw tells whether the step's bottle gave nothing, so that nothing can arrive;
// the verdict then names the chemistry.
func (u *Unit) noDraw(n int) bool {
	for _, c := range u.s.Run.Steps {
		if c.N == n && c.NoDraw {
			c.NoChem = true
			return true
		}
	}
	return false
}

// watchDrain begins to watch the container of a drain, where its sensor works.
func (u *Unit) watchDrain(p *pumping) {
	u.s.Arriving = nil
	t, now := u.s.Tanks[p.To], u.s.Clock.T
	if t == nil || !p.KnownTo || t.Still.stands() || t.handledLately(now) || t.HeardT.IsZero() || now.Sub(t.HeardT) > lab.Seconds(sensorFreshS) || u.s.Unsure != nothingMissed {
		return
	}
	u.s.Arriving = &drainWatched{To: p.To, N: p.N, Base: t.readsNow(), L: p.ML / 1000, FromT: now, TookS: u.drainTimeS()}
}

// readsNow is what the probe shows at a moment in which nothing is pumped: its noise
// smoothed, where the last reading was taken in.
func (t *tank) readsNow() float64 {
	if t.Est.Known() && !t.Odd.known() && t.EstT.Equal(t.HeardT) {
		return t.shows()
	}
	return t.HeardL
}

// judgeDrainArriving judges a level of the container that the drain at hand goes
// into, and raises drain-not-arriving.
func (u *Unit) judgeDrainArriving(name string, l float64) {
	s, now := u.s, u.s.Clock.T
	a := alertKey{rule: RuleDrainNotArriving, subject: name, run: true}
	w := s.Arriving
	if w == nil || w.To != name || !s.running() {
		return
	}
	inS := now.Sub(w.FromT).Seconds()
	should := w.L
	if w.TookS > 0 && s.Phase == lab.PhaseDraining {
		should *= min(1, inS/w.TookS)
	} else if s.Phase == lab.PhaseDraining {
		should *= min(1, inS/u.fig().PumpOverdueS)
	}
	risen := l - w.Base
	doubt := u.s.Tanks[name].differsL()
	switch {
	case risen >= w.L/2:
		s.Arriving = nil
		u.clear(a, now)
	case inS >= arrivingS && inS <= arrivingUntilS && risen > -0.15 && u.noDraw(w.N):
		s.Arriving = nil // the bottle gave nothing: there was nothing to drain
	case inS < arrivingS || inS > arrivingUntilS || s.Phase == lab.PhaseFilling || s.Unsure != nothingMissed:
	case risen+doubt >= should/2 || risen < -0.15 || u.open(a) != nil: // it rises, or may within the sensor's noise; or somebody is emptying it
	default:
		u.raise(a, w.FromT.Add(lab.Seconds(arrivingS)), alertContent{priority: lab.Urgent,
			message: fmt.Sprintf("Drain began %s ago, %s has risen %.1f of %.1f L", lab.SpanText(inS), u.containerName(name), max(risen, 0), should),
			facts:   map[string]any{"container": name, "risen_l": lab.Round(risen, 2), "should_l": lab.Round(should, 2)}})
	}
}

// judgeDraw judges by the first level after a fill whether the bottle gave what
// the step needs.
func (u *Unit) judgeDraw(name string, l float64) {
	d := u.s.Drawn
	if d == nil || d.From != name || u.s.Phase == lab.PhaseFilling {
		return
	}
	u.s.Drawn = nil
	c := u.s.currentStep()
	if !u.s.running() || c == nil || c.N != d.N || u.s.Unsure != nothingMissed {
		return
	}
	const missing = 0.25 // share of the fill that did not come
	least := max(0.15, u.s.Tanks[name].differsL())
	short := d.L - (d.Base - l)
	if short > least && short > missing*d.L && d.Base-l > -0.1 {
		if d.Base-l < 0.1*d.L { // no liquid, or a stuck sensor: whether the drain arrives tells which
			c.NoDraw = true
		} else {
			c.NoChem = true
		}
	}
}

// drawWatched is a fill under way: the level in its bottle must fall.
type drawWatched struct {
	From string  `json:"from"`
	N    int     `json:"n"`
	Base float64 `json:"base"`
	L    float64 `json:"l"`
}

func (u *Unit) watchDraw(p *pumping) {
	u.s.Drawn = nil
	t := u.s.Tanks[p.From]
	if t == nil || !p.KnownFrom || t.HeardT.IsZero() || u.s.Clock.T.Sub(t.HeardT) > lab.Seconds(sensorFreshS) || u.s.Unsure != nothingMissed {
		return
	}
	if u.containerSpecs()[p.From].Role == lab.RoleBottle {
		u.s.Drawn = &drawWatched{From: p.From, N: p.N, Base: t.HeardL, L: p.ML / 1000}
	}
}
