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
	WrongTemperature, PreheatOff, ColdWash, NoisyLevel, Renamed, UnknownProcess, WrongDrain, MixedUp, HoseOut, Backflow}

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
	// Quiet is a restart without a power message.
	Quiet bool
	// TakesSeq has malformed messages use up sequence numbers, so that they
	// leave holes.
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
	return f.checkNames()
}

func (k Kind) wantsContainer() bool {
	return k == Leak || k == StuckFloat || k == StuckLevel || k == BottleShort || k == NoisyLevel || k == WrongDrain || k == HoseOut || k == Backflow
}

// ofStep takes the fault of a kind that applies to the step at hand, or to the
// whole run, and records it. A fault by run applies once.
func (u *unit) ofStep(k Kind) (Fault, bool) {
	r := u.run
	for _, a := range u.faults {
		if a.Kind != k || a.over || k.ofStep() && a.Step != r.current().id || (a.Run != 0 && a.Run != r.ordinal) ||
			(!a.At.IsZero() && u.now.Before(a.At)) {
			continue
		}
		a.over = true
		u.recordFault(a.Fault).To = u.now
		return a.Fault, true
	}
	return Fault{}, false
}

func (f *Fault) checkNames() error {
	switch {
	case f.Kind == GoesIdle && (f.For <= 0 || f.For.Seconds() <= f.Strength):
		return fmt.Errorf("for is %v; want how long until a person takes the film out, after the %g s without a controller", f.For, f.Strength)
	case (f.Kind == Renamed || f.Kind == UnknownProcess || f.Kind == MixedUp) && f.Called == "":
		return fmt.Errorf("called is missing; want the name that is said in place of the right one")
	}
	return nil
}

// Probes and sensors that read wrong, units that are set or named wrong, and
// film that no run goes on with.
const (
	GoesIdle         Kind = "goes-idle"         // seconds that the controller is down first, 0: it stays up. It forgets the run, whose film stays in the tank; For later a person takes it out
	Fahrenheit       Kind = "fahrenheit"        // - : temperatures are sent in °F
	OpenProbe        Kind = "open-probe"        // °C that the bath's probe shows whatever the bath has
	FrozenProbe      Kind = "frozen-probe"      // - : the bath's probe shows what it showed last
	NoisyProbe       Kind = "noisy-probe"       // °C of noise on the bath's readings (standard deviation)
	HeaterHunts      Kind = "heater-hunts"      // °C by which the bath's set point swings either way, once in Ramp (default 60 s)
	WrongTemperature Kind = "wrong-temperature" // °C by which the set temperature is off
	PreheatOff       Kind = "preheat-off"       // °C by which the bottles are off
	ColdWash         Kind = "cold-wash"         // °C of the wash water, which nothing heats
	NoisyLevel       Kind = "noisy-level"       // liters of noise on the level of Container (standard deviation)
	Renamed          Kind = "renamed"           // - : the unit calls Step by Called
	UnknownProcess   Kind = "unknown-process"   // - : the unit calls the run's process by Called
	WrongDrain       Kind = "wrong-drain"       // - : Step drains into Container
	MixedUp          Kind = "mixed-up"          // - : the unit says that it is the unit Called
	HoseOut          Kind = "hose-out"          // the fraction of what drains into Container that goes to the floor
	Backflow         Kind = "backflow"          // l/min that flow into Container by themselves
)
