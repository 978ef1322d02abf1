package rules

import (
	"fmt"
	"math"
	"time"

	"wetside/internal/lab"
)

// balance is what a container should hold by what the unit pumped, to set what
// its probe shows against: a leak or a stuck probe makes them drift apart. It
// begins anew when people filled or emptied the container, and when the unit may
// have pumped while no data was received.
type balance struct {
	Set    bool      `json:"set,omitempty"`
	L      float64   `json:"l"`               // what it should hold
	MovedL float64   `json:"moved_l"`         // pumped in or out since it began
	LastL  float64   `json:"last_l"`          // the last reading
	LastT  time.Time `json:"last_t,omitzero"` // of the last reading
	FromT  time.Time `json:"from_t,omitzero"` // when it began
}

// How far readings and balance may be apart: a fixed part for the probe and a
// share of what was pumped for the pump. A level that changes faster than any
// leak was changed by people; one that changes more slowly than creepLS with no
// pump running evaporates, or its probe creeps. Common practice, no source.
const (
	balanceSlackL   = 0.5
	balanceShare    = 0.2
	balancePeopleL  = 0.3
	balancePeopleLS = 1.5 / 60 // liters a second: no leak is faster
	creepLS         = 0.5 / 3600
	balanceHoldS    = 60
	floatHoldS      = 120
	agreesS         = 3600 // so long must readings and balance agree again
	peopleDoneS     = 90   // so long after people moved a level its last drops still come and go
)

// What is wrong with a container, as the fact fault of level-disagrees says it.
const (
	faultStuckProbe = "stuck-probe"
	faultStuckFloat = "stuck-float"
	faultLeak       = "leak"
	faultBackflow   = "backflow"
	faultShortDraw  = "short-draw"
	faultUnclear    = "unclear"
)

// pumped adds a fill or drain, in liters, to the balance; l is below zero for
// what was drawn.
func (t *tank) pumped(l float64) {
	if t.Bal.Set {
		t.Bal.L, t.Bal.MovedL = t.Bal.L+l, t.Bal.MovedL+math.Abs(l)
	}
	t.PumpedL += l
	t.Still.PumpedL += l
	t.Share.MovedL += l
}

// balanceAnew begins the balance anew with the next reading.
func (t *tank) balanceAnew() { t.Bal, t.Share.Spoiled = balance{}, true }

// balancesAnew begins all balances anew, where the unit may have pumped and it
// is not known from or into which container.
func (u *Unit) balancesAnew() {
	for _, t := range u.s.Tanks {
		t.balanceAnew()
	}
	u.s.Arriving = nil
}

// shows is what the probe shows, its noise smoothed.
func (t *tank) shows() float64 { return t.Est.L + t.Est.Offset }

// shakes is how far that may be off by the probe's noise, liters.
func (t *tank) shakes() float64 {
	v := &t.Est.Var
	return math.Sqrt(max(v.LL+2*v.LO+v.OO, 0))
}

// judgeBalance compares what a probe shows with the balance, and raises
// level-disagrees once they have been apart for long enough.
func (u *Unit) judgeBalance(name string, t *tank) {
	s, now := u.s, u.s.Clock.T
	a := alertKey{rule: RuleLevelDisagrees, subject: name}
	pumps := s.Phase == lab.PhaseFilling || s.Phase == lab.PhaseDraining || s.Pumping != nil
	if s.Unsure != nothingMissed || pumps || t.Odd.known() || !t.Est.Known() || t.Still.Stuck {
		return
	}
	spec, l, b := u.containerSpecs()[name], t.shows(), &t.Bal
	ends := spec.CapacityL > 0 && l > 0.97*spec.CapacityL || l < 0.1 // a probe tells little there
	if !b.Set || t.handledLately(now) || ends {
		if t.balanceFrom(l, now); ends {
			b.Set = false
		}
		u.dropHolds("bal:" + name)
		return
	}
	b.LastL, b.LastT = l, now
	off := l - b.L
	limit := balanceSlackL + balanceShare*b.MovedL + max(t.differsL(), 5*t.shakes())
	creeps := b.MovedL == 0 && math.Abs(off) < creepLS*now.Sub(b.FromT).Seconds()
	told := u.open(alertKey{rule: RuleDrainNotArriving, subject: name, run: true}) != nil // drain-not-arriving tells of the same already
	due, proved := u.held("bal:"+name, math.Abs(off) > limit && !creeps && !told, now, balanceHoldS)
	switch {
	case proved && u.open(a) == nil:
		u.raiseLevel(name, t, t.balanceFault(off, spec.Role), due,
			fmt.Sprintf("%s reads %.1f L; by what was pumped it holds %.1f L", capital(u.containerName(name)), l, max(b.L, 0)),
			map[string]any{"level_l": lab.Round(l, 2), "by_pumping_l": lab.Round(b.L, 2), "off_l": lab.Round(off, 2)})
	case math.Abs(off) > limit/2:
		t.AgreesT = time.Time{}
	case t.AgreesT.IsZero():
		t.AgreesT = now
	case now.Sub(t.AgreesT).Seconds() >= agreesS:
		u.clear(a, now)
	}
	if math.Abs(off) <= limit/2 && b.MovedL > 1 || creeps && now.Sub(b.FromT).Seconds() > agreesS {
		t.balanceFrom(l, now) // they agree: begin again from here, so that the pump's share stays small
	}
}

// handledLately tells whether people filled or emptied the container a moment ago.
func (t *tank) handledLately(now time.Time) bool {
	return t.Moved != nil && now.Sub(t.Moved.T).Seconds() < peopleDoneS
}

// balanceFrom begins the balance from a level.
func (t *tank) balanceFrom(l float64, now time.Time) {
	t.Bal = balance{Set: true, L: l, LastL: l, LastT: now, FromT: now}
}

// balanceFault says what it is that makes a probe and the balance part: with
// nothing pumped only a leak or a backflow can.
func (t *tank) balanceFault(off float64, role lab.Role) string {
	into := role == lab.RoleWaste || role == lab.RoleRecovery
	switch {
	case t.Bal.MovedL > 0 && t.Still.N >= stillLeast:
		return faultStuckProbe
	case off < 0:
		return faultLeak
	case into || t.Bal.MovedL == 0:
		return faultBackflow
	}
	return faultShortDraw
}

// levelResponse is what to do about each fault.
var levelResponse = map[string]string{
	faultStuckProbe: "Look into the container: what the unit pumped must be in it. Free or rinse the sensor, then set the level on the unit's page. Until then the level is counted. Gloves and goggles.",
	faultLeak:       "Look at the floor, the container's seams, its tap and its hose. Stop the leak, then set the level on the unit's page. Gloves and goggles; electricity and wet floors apart.",
	faultBackflow:   "Look for a hose that hangs in the liquid and runs back, or a tap that drips. Lift it out, then set the level on the unit's page. Gloves and goggles.",
	faultShortDraw:  "Look at hose and pump: less was drawn than the unit says. Then set the level on the unit's page. Gloves and goggles.",
}

// levelFaultWords say a fault in an alert's message.
var levelFaultWords = map[string]string{
	faultStuckProbe: "sensor stuck", faultLeak: "leak", faultBackflow: "something flows in", faultShortDraw: "pump draws too little",
}

// raiseLevel raises level-disagrees with the fault that it looks like.
func (u *Unit) raiseLevel(name string, t *tank, fault string, at time.Time, message string, facts map[string]any) {
	t.AgreesT = time.Time{}
	facts["container"], facts["fault"] = name, fault
	if words := levelFaultWords[fault]; words != "" {
		message += ". It looks like this: " + words
	}
	u.raise(alertKey{rule: RuleLevelDisagrees, subject: name}, at, alertContent{priority: lab.High, message: message, response: levelResponse[fault], facts: facts})
}

// judgeFloat compares the float switch with the level: a switch that says full
// while there is less than three quarters in the container is stuck.
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
			facts:   map[string]any{"container": name, "fault": faultStuckFloat, "level_l": lab.Round(t.HeardL, 2), "capacity_l": spec.CapacityL}})
	}
}
