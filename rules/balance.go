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
func (u *Unit) balancesAnew() {
	for _, t := range u.s.Tanks {
		t.balanceAnew()
	}
	u.s.Arriving = nil
}

// judgeBalance sets a reading of a sensor beside the balance.
func (u *Unit) judgeBalance(name string, t *tank, l float64) {
	s, now := u.s, u.s.Clock.T
	a := alertKey{rule: RuleLevelDisagrees, subject: name}
	spec := u.containerSpecs()[name]
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
		u.drop("bal:" + name)
		u.clear(a, now)
		return
	}
	b.LastL, b.LastT = l, now
	off := l - b.L
	limit := balanceSlackL + balanceShare*b.MovedL + t.differsL()
	told := u.open(alertKey{rule: RuleDrainNotArriving, subject: name, run: true}) != nil // one alert for one thing
	due, proved := u.held("bal:"+name, math.Abs(off) > limit && !told, now, balanceHoldS)
	switch {
	case math.Abs(off) <= limit/2 && u.open(a) != nil:
		u.clear(a, now)
	case math.Abs(off) <= limit/2 && b.MovedL > 1:
		*b = balance{Set: true, L: l, LastL: l, LastT: now} // it agrees: what was pumped is settled
		t.BalMoved = 0
	case proved && u.open(a) == nil:
		u.raise(a, due, alertContent{priority: lab.High,
			message: fmt.Sprintf("%s reads %.1f L; by what was pumped it holds %.1f L", capital(u.containerName(name)), l, max(b.L, 0)),
			facts:   map[string]any{"container": name, "level_l": lab.Round(l, 2), "by_pumping_l": lab.Round(b.L, 2), "off_l": lab.Round(off, 2)}})
	}
}

// judgeFloat sets the float switch beside the sensor: one that says full of a
// container that is far from it is stuck.
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
