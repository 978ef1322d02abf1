package rules

import (
	"fmt"
	"math"
	"time"

	"wetside/internal/lab"
)

// balance is what a container should hold by what was pumped, beside what its
// sensor says. It begins anew where people were at the container and where
// something may have been pumped unheard.
type balance struct {
	Set    bool      `json:"set,omitempty"`
	L      float64   `json:"l"`               // what it should hold
	MovedL float64   `json:"moved_l"`         // pumped in or out since it began
	LastL  float64   `json:"last_l"`          // the last reading
	LastT  time.Time `json:"last_t,omitzero"` // of the last reading
}

// What the balance allows: the sensor may be off by so much and by a part of
// what was pumped; more than so much within one reading is people, not a leak.
// Common practice, no source.
const (
	balanceSlackL   = 0.5
	balanceShare    = 0.2
	balancePeopleL  = 0.3
	balancePeopleLS = 1.5 / 60 // and faster than this, l/s
	balanceHoldS    = 60
	floatHoldS      = 120
)

// pumped counts a fill or drain on in the balance of a container.
func (t *tank) pumped(l float64) {
	if t.Bal.Set {
		t.Bal.L, t.Bal.MovedL = t.Bal.L+l, t.Bal.MovedL+math.Abs(l)
	}
}

// balanceAnew begins the balance anew with the next reading.
func (t *tank) balanceAnew() { t.Bal = balance{} }

// balancesAnew does so for all containers: something may have been pumped
// that nobody heard of.
func (f *Unit) balancesAnew() {
	for _, t := range f.s.Tanks {
		t.balanceAnew()
	}
	f.s.Arriving = nil
}

// judgeBalance sets a reading of a sensor beside the balance.
func (f *Unit) judgeBalance(name string, t *tank, l float64) {
	s, now := f.s, f.s.Clock.T
	a := alertKey{rule: RuleLevelDisagrees, subject: name}
	spec := f.containerSpecs()[name]
	pumps := s.Phase == lab.PhaseFilling || s.Phase == lab.PhaseDraining || s.Pumping != nil
	b := &t.Bal
	jump := b.Set && !pumps && b.MovedL == t.BalMoved && math.Abs(l-b.LastL) > max(balancePeopleL, balancePeopleLS*now.Sub(b.LastT).Seconds())
	t.BalMoved = b.MovedL
	switch {
	case s.Unsure != sure || pumps:
		return
	case !b.Set || jump || spec.CapacityL > 0 && l > 0.97*spec.CapacityL || l < 0.1:
		*b = balance{Set: true, L: l, LastL: l, LastT: now}
		t.BalMoved = 0
		f.drop("bal:" + name)
		f.clear(a, now)
		return
	}
	b.LastL, b.LastT = l, now
	off := l - b.L
	limit := balanceSlackL + balanceShare*b.MovedL + t.differsL()
	told := f.open(alertKey{rule: RuleDrainNotArriving, subject: name, run: true}) != nil // one alert for one thing
	due, proved := f.held("bal:"+name, math.Abs(off) > limit && !told, now, balanceHoldS)
	switch {
	case math.Abs(off) <= limit/2 && f.open(a) != nil:
		f.clear(a, now)
	case math.Abs(off) <= limit/2 && b.MovedL > 1:
		*b = balance{Set: true, L: l, LastL: l, LastT: now} // it agrees: what was pumped is settled
		t.BalMoved = 0
	case proved && f.open(a) == nil:
		f.raise(a, due, alertContent{priority: lab.High,
			message: fmt.Sprintf("%s reads %.1f L; by what was pumped it holds %.1f L", capital(f.containerName(name)), l, max(b.L, 0)),
			facts:   map[string]any{"container": name, "level_l": lab.Round(l, 2), "by_pumping_l": lab.Round(b.L, 2), "off_l": lab.Round(off, 2)}})
	}
}

// judgeFloat sets the float switch beside the sensor: one that says full of a
// container that is far from it is stuck.
func (f *Unit) judgeFloat(name string, t *tank) {
	spec := f.containerSpecs()[name]
	if spec.CapacityL <= 0 {
		return
	}
	a := alertKey{rule: RuleLevelDisagrees, subject: name + " float"}
	far := t.Float && t.Known && t.HeardT.Equal(f.s.Clock.T) && t.HeardL < 0.75*spec.CapacityL
	due, proved := f.held("balf:"+name, far, f.s.Clock.T, floatHoldS)
	switch {
	case !far:
		f.clear(a, f.s.Clock.T)
	case proved && f.open(a) == nil:
		f.raise(a, due, alertContent{priority: lab.High,
			message: fmt.Sprintf("%s is full by its float switch, but its sensor reads %.1f of %.1f L", capital(f.containerName(name)), t.HeardL, spec.CapacityL),
			facts:   map[string]any{"container": name, "level_l": lab.Round(t.HeardL, 2), "capacity_l": spec.CapacityL}})
	}
}

// drainWatched is a drain whose container is watched for it.
type drainWatched struct {
	To    string    `json:"to"`
	N     int       `json:"n"`
	Base  float64   `json:"base"`
	L     float64   `json:"l"`
	FromT time.Time `json:"from_t"`
	TookS float64   `json:"took_s"` // what a drain usually takes
}

// arrivingS is how long a drain runs before its container must have risen,
// seconds; arrivingUntilS how long it is watched for.
const (
	arrivingS      = 15
	arrivingUntilS = 60
)

// noDraw notes that a step whose bottle gave nothing drained nothing either.
func (f *Unit) noDraw(n int) bool {
	for _, c := range f.s.Run.Steps {
		if c.N == n && c.NoDraw {
			c.NoChem = true
			return true
		}
	}
	return false
}

// watchDrain begins to watch the container of a drain, where its sensor
// talks.
func (f *Unit) watchDrain(p *pumping) {
	f.s.Arriving = nil
	t, now := f.s.Tanks[p.To], f.s.Clock.T
	if t == nil || !p.KnownTo || t.HeardT.IsZero() || now.Sub(t.HeardT) > lab.Seconds(sensorFreshS) || f.s.Unsure != sure {
		return
	}
	f.s.Arriving = &drainWatched{To: p.To, N: p.N, Base: t.HeardL, L: p.ML / 1000, FromT: now, TookS: f.drainTimeS()}
}

// judgeDrainArriving judges a reading of the container of the last drain.
func (f *Unit) judgeDrainArriving(name string, l float64) {
	s, now := f.s, f.s.Clock.T
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
		should *= min(1, inS/f.fig().PumpOverdueS)
	}
	risen := l - w.Base
	doubt := f.s.Tanks[name].differsL()
	switch {
	case risen >= w.L/2:
		s.Arriving = nil
		f.clear(a, now)
	case inS >= arrivingS && inS <= arrivingUntilS && risen > -0.15 && f.noDraw(w.N):
		s.Arriving = nil // the bottle gave nothing: there was nothing to drain
	case inS < arrivingS || inS > arrivingUntilS || s.Phase == lab.PhaseFilling || s.Unsure != sure:
	case risen+doubt >= should/2 || risen < -0.15 || f.open(a) != nil: // it comes, or may; or people empty it now
	default:
		f.raise(a, w.FromT.Add(lab.Seconds(arrivingS)), alertContent{priority: lab.Urgent,
			message: fmt.Sprintf("Drain began %s ago, %s has risen %.1f of %.1f L", lab.SpanText(inS), f.containerName(name), max(risen, 0), should),
			facts:   map[string]any{"container": name, "risen_l": lab.Round(risen, 2), "should_l": lab.Round(should, 2)}})
	}
}

// judgeDraw judges, by the first reading after a fill, whether the bottle gave what
// the step should have.
func (f *Unit) judgeDraw(name string, l float64) {
	d := f.s.Drawn
	if d == nil || d.From != name || f.s.Phase == lab.PhaseFilling {
		return
	}
	f.s.Drawn = nil
	c := f.s.cur()
	if !f.s.running() || c == nil || c.N != d.N || f.s.Unsure != sure {
		return
	}
	const missing = 0.25 // share short of the fill
	least := max(0.15, f.s.Tanks[name].differsL())
	short := d.L - (d.Base - l)
	if short > least && short > missing*d.L && d.Base-l > -0.1 {
		if d.Base-l < 0.1*d.L { // nothing came, or the sensor is stuck: the drain tells
			c.NoDraw = true
		} else {
			c.NoChem = true
		}
	}
}

// drawWatched is a fill from a bottle whose sensor is watched for it.
type drawWatched struct {
	From string  `json:"from"`
	N    int     `json:"n"`
	Base float64 `json:"base"`
	L    float64 `json:"l"`
}

func (f *Unit) watchDraw(p *pumping) {
	f.s.Drawn = nil
	t := f.s.Tanks[p.From]
	if t == nil || !p.KnownFrom || t.HeardT.IsZero() || f.s.Clock.T.Sub(t.HeardT) > lab.Seconds(sensorFreshS) || f.s.Unsure != sure {
		return
	}
	if f.containerSpecs()[p.From].Role == lab.RoleBottle {
		f.s.Drawn = &drawWatched{From: p.From, N: p.N, Base: t.HeardL, L: p.ML / 1000}
	}
}
