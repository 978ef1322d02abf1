package sim

import (
	"fmt"
	"slices"
	"time"

	"wetside/internal/lab"
)

// Kind names a fault.
type Kind string

// The faults. Strength means what stands behind each; where it says "-", it
// is not used.
const (
	BathOffset      Kind = "bath-offset"      // °C that the bath is held off its set point: warm or cool
	ThermistorDrift Kind = "thermistor-drift" // °C that the bath's thermistor comes to read too high
	WeakHeater      Kind = "weak-heater"      // the fraction of its power that the heater still has
	LongStep        Kind = "long-step"        // seconds beyond the set time
	ShortStep       Kind = "short-step"       // seconds short of the set time
	WrongTime       Kind = "wrong-time"       // seconds by which the set time is off
	SkippedStep     Kind = "skipped-step"     // -
	NoRotation      Kind = "no-rotation"      // rpm that is left
	NoBathReading   Kind = "no-bath-reading"  // -
	PowerCut        Kind = "power-cut"        // - : the controller runs on its battery
	Restart         Kind = "restart"          // - : the controller goes down with the mains
	ClockLost       Kind = "clock-lost"       // - : at begins at 1970
	NetworkCut      Kind = "network-cut"      // - : what is sent is kept, and sent afterwards
	NetworkLoss     Kind = "network-loss"     // - : what is sent is lost
	Duplicated      Kind = "duplicated"       // odds that a message comes twice, 0..1
	Late            Kind = "late"             // odds that a message comes Ramp late, 0..1
	Reordered       Kind = "reordered"        // odds that a message comes after later ones, 0..1
	StuckFloat      Kind = "stuck-float"      // 1 closed, 0 open; Container
	Leak            Kind = "leak"             // l/min; Container
	Silence         Kind = "silence"          // - : the unit says nothing more, the last will follows
	WasteFull       Kind = "waste-full"       // fraction that is in Container (waste); nobody empties it
	WashLow         Kind = "wash-low"         // fraction that is in Container (wash); nobody tops it up
	Malformed       Kind = "malformed"        // bad payloads a minute
	Aborted         Kind = "aborted"          // -
	Unattended      Kind = "unattended"       // - : nobody comes to a unit that waits
	HotDryer        Kind = "hot-dryer"        // °C above the dryer's set point
	BatteryWeak     Kind = "battery-weak"     // percent that the battery has left
	PumpWeak        Kind = "pump-weak"        // the fraction of their rate that the pumps still have
	FillShort       Kind = "fill-short"       // the fraction of the fill that the controller takes for all of it
	StuckLevel      Kind = "stuck-level"      // - : the level sensor of Container stands still
	BottleShort     Kind = "bottle-short"     // fraction that is in Container, a bottle; nobody tops it up
)

// What people do by the unit while the power is away. Armed like faults, but
// After counts from the film's first entry into the bath by the wall clock.
// Each gives an entry, as the person would make it (Lab.Actions).
const (
	HandTurned  Kind = "hand-turned"  // - : a person turns the tank, about a turn a second
	HandDrained Kind = "hand-drained" // - : a person drains the bath into a bucket
)

// ActionKinds are what people do.
var ActionKinds = []Kind{HandTurned, HandDrained}

// Kinds lists all faults.
var Kinds = []Kind{BathOffset, ThermistorDrift, WeakHeater, LongStep, ShortStep, WrongTime, SkippedStep, NoRotation,
	NoBathReading, PowerCut, Restart, ClockLost, NetworkCut, NetworkLoss, Duplicated, Late, Reordered, StuckFloat,
	Leak, Silence, WasteFull, WashLow, Malformed, Aborted, Unattended, HotDryer, BatteryWeak,
	PumpWeak, FillShort, StuckLevel, BottleShort, GoesIdle, Fahrenheit, OpenProbe, FrozenProbe, NoisyProbe, HeaterHunts,
	WrongTemperature, PreheatOff, ColdWash, NoisyLevel, Renamed, UnknownProcess, WrongDrain, MixedUp}

// Fault is one thing that goes wrong.
//
// It begins at At; or, where At is zero, in the unit's Run-th run (1 is the
// first; 0 any, the next that fits): After the film's first entry into
// the bath of Step, or After the run's beginning where Step is empty, or After
// the beginning of a phase where Step names one (waiting, drying) or Phase does
// (of Step, or of any). The faults
// that change how a step is done (long, short, wrong time, skipped, fill short,
// wrong temperature, renamed, wrong drain) apply to the whole of Step.
type Fault struct {
	Kind  Kind
	Unit  string
	At    time.Time
	Run   int
	Step  string
	Phase lab.Phase
	After time.Duration
	// For is how long it lasts. Zero: to the end of the step, or of the run
	// where no step is named, or for ever where At is set.
	For      time.Duration
	Strength float64
	// Ramp is the time over which it grows to its strength; for late, the
	// delay of a message (default 20 s).
	Ramp      time.Duration
	Container string
	// Called is the name that is said in place of the right one: of the
	// process, the step or the unit.
	Called string
	// Quiet: a restart without a power message.
	Quiet bool
	// TakesSeq: malformed messages use up sequence numbers, so that holes
	// stay where they were.
	TakesSeq bool
}

// ofStep are the faults that change how a step is done.
func (k Kind) ofStep() bool {
	return k == LongStep || k == ShortStep || k == WrongTime || k == SkippedStep || k == FillShort ||
		k == WrongTemperature || k == Renamed || k == WrongDrain
}

func (f *Fault) check() error {
	if !slices.Contains(Kinds, f.Kind) && !slices.Contains(ActionKinds, f.Kind) {
		return fmt.Errorf("there is no such fault; want one of %v", Kinds)
	}
	if f.Kind.ofStep() && f.Step == "" {
		return fmt.Errorf("step is missing; want the step that it changes")
	}
	if f.Kind.wantsContainer() && f.Container == "" {
		return fmt.Errorf("container is missing; want one such as waste or wash")
	}
	return f.checkOdd()
}

// armed is a fault and how far it has come.
type armed struct {
	Fault
	began time.Time
	run   *run // the run it belongs to, nil for one by time
	step  int  // the step it belongs to, -1 for none
	truth *Truth
	spent bool
}

// effects is what the faults of the moment do to a unit.
type effects struct {
	bath, probe     float64 // °C on the set point; on the reading
	heater          float64 // what is left of the heater, 0..1
	rpm             *float64
	noBath          bool
	mainsOff, down  bool
	quiet           bool
	clockLost       bool
	cut, loss, mute bool
	net             mischief
	stuck           map[string]bool
	unattended      bool
	neglect         map[string]bool // containers that nobody sees to
	dryer           float64
	malformed       float64
	takesSeq        bool
	leaks           []*armed
	pump            float64         // what is left of the pumps, 0..1
	frozen          map[string]bool // containers whose level sensor stands still
	byHand          bool            // a person turns the tank
	odd
}

// begins tells whether the fault's moment has come.
func (a *armed) begins(u *unit) bool {
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
		return r.phase == a.Phase && (a.Step == "" || r.at().id == a.Step) && u.now.Sub(r.phaseAt) >= a.After
	case slices.Contains(ActionKinds, a.Kind):
		s := r.truth.last()
		return s != nil && r.at().id == a.Step && r.inStep && u.now.Sub(s.InBath) >= a.After
	case a.Step == "":
		return u.now.Sub(r.began) >= a.After
	case a.Step == string(r.phase):
		return u.now.Sub(r.phaseAt) >= a.After
	}
	return r.at().id == a.Step && r.inStep && r.stepS >= a.After.Seconds()
}

// ends tells whether it is over.
func (a *armed) ends(u *unit) bool {
	switch {
	case a.For > 0:
		return u.now.Sub(a.began) >= a.For
	case !a.At.IsZero():
		return false
	case a.Step == "" || a.step < 0:
		return u.run != a.run
	}
	return u.run != a.run || u.run.cur != a.step
}

// grown is the strength that it has reached.
func (a *armed) grown(now time.Time) float64 {
	if a.Ramp <= 0 {
		return a.Strength
	}
	return a.Strength * min(1, float64(now.Sub(a.began))/float64(a.Ramp))
}

// stepFaults begins and ends faults and works out what they do now.
func (u *unit) stepFaults() {
	u.eff = effects{heater: 1, pump: 1, odd: odd{called: u.plan.Called}}
	if len(u.faults) == 0 {
		return
	}
	for _, a := range u.faults {
		if a.began.IsZero() && !a.spent && a.begins(u) {
			a.start(u)
		}
		if a.began.IsZero() {
			continue
		}
		if a.ends(u) {
			a.spent = true
			a.truth.To = u.now
			u.actionEnds(a)
			u.strandingEnds(a)
			a.began = time.Time{}
			if a.Kind == WasteFull || a.Kind == WashLow || a.Kind == BottleShort {
				u.addChore(a.container()) // somebody sees to it at last
			}
			continue
		}
		a.act(u)
	}
	u.faults = slices.DeleteFunc(u.faults, func(a *armed) bool { return a.spent })
}

func (a *armed) start(u *unit) {
	a.began, a.run, a.step = u.now, u.run, -1
	if r := u.run; r != nil && r.at().id == a.Step {
		a.step = r.cur
	}
	a.truth = u.tell(a.Fault)
	switch a.Kind {
	case WasteFull, WashLow, BottleShort:
		t := u.tank(a.container())
		u.book.put(t.litres, a.Strength*t.capacity)
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

func (k Kind) wantsContainer() bool {
	return k == Leak || k == StuckFloat || k == StuckLevel || k == BottleShort || k == NoisyLevel || k == WrongDrain
}

// container is the one that the fault is about.
func (a *armed) container() string {
	switch {
	case a.Container != "":
		return a.Container
	case a.Kind == WashLow:
		return "wash"
	}
	return "waste"
}

// act adds what the fault does.
func (a *armed) act(u *unit) {
	e := &u.eff
	switch a.Kind {
	case BathOffset:
		e.bath += a.grown(u.now)
	case ThermistorDrift:
		e.probe += a.grown(u.now)
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
		e.dryer += a.grown(u.now)
	case Unattended:
		e.unattended = true
	case Malformed:
		e.malformed, e.takesSeq = a.Strength, a.TakesSeq
	default:
		a.actOutside(u)
	}
}

// actOutside adds what concerns the network and the containers.
func (a *armed) actOutside(u *unit) {
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
		a.actOdd(u)
	}
}

// ofStep takes the fault of a kind that applies to the step at hand, or to the
// whole run, and records it. A fault by run applies once.
func (u *unit) ofStep(k Kind) (Fault, bool) {
	r := u.run
	for _, a := range u.faults {
		if a.Kind != k || a.spent || k.ofStep() && a.Step != r.at().id || (a.Run != 0 && a.Run != r.ordinal) ||
			(!a.At.IsZero() && u.now.Before(a.At)) {
			continue
		}
		a.spent = true
		u.tell(a.Fault).To = u.now
		return a.Fault, true
	}
	return Fault{}, false
}
