package sim

import (
	"math"
	"slices"
	"time"
)

// activeFault is a fault of the schedule and how far it has come.
type activeFault struct {
	Fault
	began time.Time
	run   *run // the run it belongs to, nil for one by time
	step  int  // the step it belongs to, -1 for none
	truth *FaultTruth
	over  bool
}

// effects is what the active faults do to a unit now.
type effects struct {
	bath, probe     float64 // °C on the set point; on the reading
	heater          float64 // what is left of the heater, 0..1
	rpm             *float64
	noBath          bool
	mainsOff, down  bool
	quiet           bool
	clockLost       bool
	cut, loss, mute bool
	net             disturbance
	stuck           map[string]bool
	unattended      bool
	neglect         map[string]bool // containers that nobody empties or tops up
	dryer           float64
	malformed       float64
	takesSeq        bool
	leaks           []*activeFault
	inflows         []*activeFault
	spills          map[string]float64 // what part of a drain goes to the floor, by container
	pump            float64            // what is left of the pumps, 0..1
	frozen          map[string]bool    // containers whose level sensor stands still
	byHand          bool               // a person turns the tank
	wrongSenses
}

// begins tells whether it is time for the fault to begin.
func (a *activeFault) begins(u *unit) bool {
	r := u.run
	if (a.Kind == Aborted || a.Kind == GoesIdle) && (r == nil || !r.wet() || !u.awake) {
		return false // only a run in the baths can be aborted, or forgotten
	}
	if !a.At.IsZero() {
		return !u.now.Before(a.At.Add(a.After))
	}
	if r == nil || (a.Run != 0 && a.Run != r.ordinal) || a.Kind.ofStep() || a.Kind == UnknownProcess {
		return false
	}
	switch {
	case a.Phase != "":
		return r.phase == a.Phase && (a.Step == "" || r.current().id == a.Step) && u.now.Sub(r.phaseAt) >= a.After
	case slices.Contains(ActionKinds, a.Kind):
		s := r.truth.last()
		return s != nil && r.current().id == a.Step && r.inStep && u.now.Sub(s.InBath) >= a.After
	case a.Step == "":
		return u.now.Sub(r.began) >= a.After
	case a.Step == string(r.phase):
		return u.now.Sub(r.phaseAt) >= a.After
	}
	return r.current().id == a.Step && r.inStep && r.stepS >= a.After.Seconds()
}

// ends tells whether it is over.
func (a *activeFault) ends(u *unit) bool {
	switch {
	case a.For > 0:
		return u.now.Sub(a.began) >= a.For
	case !a.At.IsZero():
		return false
	case a.Step == "" || a.step < 0:
		return u.run != a.run
	}
	return u.run != a.run || u.run.step != a.step
}

// currentStrength is the strength that it has reached.
func (a *activeFault) currentStrength(now time.Time) float64 {
	if a.Ramp <= 0 {
		return a.Strength
	}
	return a.Strength * min(1, float64(now.Sub(a.began))/float64(a.Ramp))
}

// stepFaults begins and ends faults and works out what they do now.
func (u *unit) stepFaults() {
	u.eff = effects{heater: 1, pump: 1, wrongSenses: wrongSenses{called: u.plan.Called}}
	if len(u.faults) == 0 {
		return
	}
	for _, a := range u.faults {
		if a.began.IsZero() && !a.over && a.begins(u) {
			a.begin(u)
		}
		if a.began.IsZero() {
			continue
		}
		if a.ends(u) {
			a.over = true
			a.truth.To = u.now
			u.actionEnds(a)
			u.takeStrandedFilm(a)
			a.began = time.Time{}
			if a.Kind == WasteFull || a.Kind == WashLow || a.Kind == BottleShort {
				u.addChore(a.container()) // at last somebody empties it or tops it up
			}
			continue
		}
		a.apply(u)
	}
	u.faults = slices.DeleteFunc(u.faults, func(a *activeFault) bool { return a.over })
}

func (a *activeFault) begin(u *unit) {
	a.began, a.run, a.step = u.now, u.run, -1
	if r := u.run; r != nil && r.current().id == a.Step {
		a.step = r.step
	}
	a.truth = u.recordFault(a.Fault)
	switch a.Kind {
	case WasteFull, WashLow, BottleShort:
		t := u.tank(a.container())
		u.balance.put(t.litres, a.Strength*t.capacity)
		t.litres = a.Strength * t.capacity
	case BatteryWeak:
		u.batt.pct = a.Strength
	case Aborted:
		u.abort()
	case HandDrained:
		u.drainByHand()
	case GoesIdle:
		u.forgetRun(a.Strength > 0)
	}
}

// container is the one that the fault is about.
func (a *activeFault) container() string {
	switch {
	case a.Container != "":
		return a.Container
	case a.Kind == WashLow:
		return "wash"
	}
	return "waste"
}

// apply adds what the fault does.
func (a *activeFault) apply(u *unit) {
	e := &u.eff
	switch a.Kind {
	case BathOffset:
		e.bath += a.currentStrength(u.now)
	case ThermistorDrift:
		e.probe += a.currentStrength(u.now)
	case WeakHeater:
		e.heater = min(e.heater, a.Strength)
	case NoRotation:
		e.rpm = &a.Strength
	case NoBathReading:
		e.noBath = true
	case PowerCut:
		e.mainsOff = true
	case Restart:
		e.mainsOff, e.down, e.quiet = true, true, a.Quiet
	case ClockLost:
		e.clockLost = true
	case HotDryer:
		e.dryer += a.currentStrength(u.now)
	case Unattended:
		e.unattended = true
	case Malformed:
		e.malformed, e.takesSeq = a.Strength, a.TakesSeq
	default:
		a.applyOutside(u)
	}
}

// applyOutside adds what concerns the network and the containers.
func (a *activeFault) applyOutside(u *unit) {
	e := &u.eff
	switch a.Kind {
	case NetworkCut:
		e.cut = true
	case NetworkLoss:
		e.cut, e.loss = true, true
	case Silence:
		e.cut, e.loss, e.mute = true, true, true
	case Duplicated:
		e.net.copies = a.Strength
	case Late:
		e.net.late, e.net.lateBy = a.Strength, a.Ramp
		if a.Ramp == 0 {
			e.net.lateBy = 20 * time.Second
		}
	case Reordered:
		e.net.swap = a.Strength
	case StuckFloat:
		if e.stuck == nil {
			e.stuck = map[string]bool{}
		}
		e.stuck[a.Container] = a.Strength != 0
	case Leak:
		e.leaks = append(e.leaks, a)
	case Backflow:
		e.inflows = append(e.inflows, a)
	case HoseOut:
		if e.spills == nil {
			e.spills = map[string]float64{}
		}
		e.spills[a.Container] = a.Strength
	case PumpWeak:
		e.pump = min(e.pump, a.Strength)
	case StuckLevel:
		if e.frozen == nil {
			e.frozen = map[string]bool{}
		}
		e.frozen[a.Container] = true
	case HandTurned:
		e.byHand = true
	case WasteFull, WashLow, BottleShort:
		if e.neglect == nil {
			e.neglect = map[string]bool{}
		}
		e.neglect[a.container()] = true
	default:
		a.applyWrongSenses(u)
	}
}

// wrongSenses is what probes, sensors and names that are wrong show now.
type wrongSenses struct {
	stranded   bool // film of a forgotten run is in the tank
	fahrenheit bool
	openC      *float64 // what an open probe shows
	stuckProbe bool
	probeNoise float64            // °C
	preheat    float64            // °C
	coldWash   *float64           // °C
	shakes     map[string]float64 // liters of noise, by container
	called     string             // the unit's name, as it says
}

// applyWrongSenses adds what is wrong with probes, sensors, names and film.
func (a *activeFault) applyWrongSenses(u *unit) {
	e := &u.eff
	switch a.Kind {
	case GoesIdle:
		e.stranded = true
		if u.now.Sub(a.began).Seconds() < a.Strength {
			e.mainsOff, e.down, e.quiet = true, true, true
		}
	case Fahrenheit:
		e.fahrenheit = true
	case OpenProbe:
		e.openC = &a.Strength
	case FrozenProbe:
		e.stuckProbe = true
	case NoisyProbe:
		e.probeNoise = a.Strength
	case HeaterHunts:
		period := a.Ramp
		if period <= 0 {
			period = time.Minute
		}
		e.bath += a.Strength * math.Sin(2*math.Pi*float64(u.now.Sub(a.began))/float64(period))
	case PreheatOff:
		e.preheat += a.Strength
	case ColdWash:
		e.coldWash = &a.Strength
	case NoisyLevel:
		if e.shakes == nil {
			e.shakes = map[string]float64{}
		}
		e.shakes[a.Container] = a.Strength
	case MixedUp:
		e.called = a.Called
	}
}

// inUnit is a temperature in the unit of measure that is sent.
func (e *wrongSenses) inUnit(c float64) float64 {
	if e.fahrenheit {
		return c*1.8 + 32
	}
	return c
}
