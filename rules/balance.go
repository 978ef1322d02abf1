package rules

import (
	"fmt"
	"math"
	"time"

	"wetside/internal/lab"
)

// balance is what a container should hold by what the unit pumped, to set its
// sensor's readings against: a leak or a stuck sensor makes them drift apart.
// It begins anew when people filled or emptied the container, and when the unit
// may have pumped while no data was received.
type balance struct {
	Set    bool      `json:"set,omitempty"`
	L      float64   `json:"l"`               // what it should hold
	MovedL float64   `json:"moved_l"`         // pumped in or out since it began
	LastL  float64   `json:"last_l"`          // the last reading
	LastT  time.Time `json:"last_t,omitzero"` // of the last reading
}

// How far readings and balance may be apart: a fixed part for the sensor and a
// share of what was pumped for the pump. A level that changes faster than any
// leak was changed by people. Common practice, no source.
const (
	balanceSlackL   = 0.5
	balanceShare    = 0.2
	balancePeopleL  = 0.3
	balancePeopleLS = 1.5 / 60 // liters a second: no leak is faster
	balanceHoldS    = 60
	floatHoldS      = 120
)

// pumped adds a fill or drain, in liters, to the balance; l is below zero for
// what was drawn.
func (t *tank) pumped(l float64) {
	if t.Bal.Set {
		t.Bal.L, t.Bal.MovedL = t.Bal.L+l, t.Bal.MovedL+math.Abs(l)
	}
}

// balanceAnew begins the balance anew with the next reading.
func (t *tank) balanceAnew() { t.Bal = balance{} }

// balancesAnew begins all balances anew, where the unit may have pumped and it
// is not known from or into which container.
func (u *Unit) balancesAnew() {
	for _, t := range u.s.Tanks {
		t.balanceAnew()
	}
	u.s.Arriving = nil
}

// judgeBalance compares a sensor's reading with the balance, and raises
// level-disagrees once they have been apart for long enough.
func (u *Unit) judgeBalance(name string, t *tank, l float64) {
	s, now := u.s, u.s.Clock.T
	a := alertKey{rule: RuleLevelDisagrees, subject: name}
	spec := u.containerSpecs()[name]
	pumps := s.Phase == lab.PhaseFilling || s.Phase == lab.PhaseDraining || s.Pumping != nil
	b := &t.Bal
	jump := b.Set && !pumps && b.MovedL == t.BalMoved && math.Abs(l-b.LastL) > max(balancePeopleL, balancePeopleLS*now.Sub(b.LastT).Seconds())
	t.BalMoved = b.MovedL
	switch {
	case s.Unsure != nothingMissed || pumps:
		return
	case !b.Set || jump || spec.CapacityL > 0 && l > 0.97*spec.CapacityL || l < 0.1:
		*b = balance{Set: true, L: l, LastL: l, LastT: now}
		t.BalMoved = 0
		u.dropHolds("bal:" + name)
		u.clear(a, now)
		return
	}
	b.LastL, b.LastT = l, now
	off := l - b.L
	limit := balanceSlackL + balanceShare*b.MovedL + t.differsL()
	told := u.open(alertKey{rule: RuleDrainNotArriving, subject: name, run: true}) != nil // drain-not-arriving tells of the same already
	due, proved := u.held("bal:"+name, math.Abs(off) > limit && !told, now, balanceHoldS)
	switch {
	case math.Abs(off) <= limit/2 && u.open(a) != nil:
		u.clear(a, now)
	case math.Abs(off) <= limit/2 && b.MovedL > 1:
		*b = balance{Set: true, L: l, LastL: l, LastT: now} // they agree: begin again from here, so that the pump's share stays small
		t.BalMoved = 0
	case proved && u.open(a) == nil:
		u.raise(a, due, alertContent{priority: lab.High,
			message: fmt.Sprintf("%s reads %.1f L; by what was pumped it holds %.1f L", capital(u.containerName(name)), l, max(b.L, 0)),
			facts:   map[string]any{"container": name, "level_l": lab.Round(l, 2), "by_pumping_l": lab.Round(b.L, 2), "off_l": lab.Round(off, 2)}})
	}
}

// judgeFloat compares the float switch with the sensor: a switch that says full
// while the sensor reads less than three quarters is stuck.
func (u *Unit) judgeFloat(name string, t *tank) {
	spec := u.containerSpecs()[name]
	if spec.CapacityL <= 0 {
		return
	}
	a := alertKey{rule: RuleLevelDisagrees, subject: name + " float"}
	far := t.Float && t.Known && t.HeardT.Equal(u.s.Clock.T) && t.HeardL < 0.75*spec.CapacityL
	due, proved := u.held("balf:"+name, far, u.s.Clock.T, floatHoldS)
	switch {
	case !far:
		u.clear(a, u.s.Clock.T)
	case proved && u.open(a) == nil:
		u.raise(a, due, alertContent{priority: lab.High,
			message: fmt.Sprintf("%s is full by its float switch, but its sensor reads %.1f of %.1f L", capital(u.containerName(name)), t.HeardL, spec.CapacityL),
			facts:   map[string]any{"container": name, "level_l": lab.Round(t.HeardL, 2), "capacity_l": spec.CapacityL}})
	}
}
