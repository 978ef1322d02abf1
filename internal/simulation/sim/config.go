package sim

import (
	"fmt"
	"regexp"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// Config is what a Lab is made of.
type Config struct {
	// Lab is the lab's id. Defaults to "tern-street".
	Lab string
	// Seed decides everything that is left to chance.
	Seed uint64
	// Start is when virtual time begins. Required.
	Start time.Time
	// Schedule is what the units do and what goes wrong. Required.
	Schedule Schedule
	// Book holds the sheets by which the units are set. Defaults to the
	// built-in ones.
	Book *process.Book
	// Step is the length of a step of virtual time, 100 ms to 1 s. Defaults
	// to 500 ms.
	Step time.Duration
	// Cadence is how often the units publish. Zero fields have defaults.
	Cadence Cadence
	// KeepAlive is the units' MQTT keep-alive; the broker publishes the last
	// will one and a half of it after it last heard of them. Defaults to 30 s.
	KeepAlive time.Duration
	// Trace saves with the truth of each run what the film went through in each
	// step of time, and which messages were sent when. It takes about half a
	// megabyte a run. Defaults to false.
	Trace bool
}

// Cadence is how often a unit publishes what did not change.
type Cadence struct {
	BathTemp   time.Duration // in the bath. Defaults to 2.5 s
	BathMotion time.Duration // in the bath. Defaults to 3 s
	Run        time.Duration // temp and motion elsewhere in a run. Defaults to 10 s
	Idle       time.Duration // temp when idle. Defaults to 30 s
	Tank       time.Duration // Defaults to 20 s in a run, 30 s when idle
	Power      time.Duration // Defaults to 10 min
}

// Sparse is the slowest cadence that the contract allows, for long
// histories.
var Sparse = Cadence{BathTemp: 4500 * time.Millisecond, BathMotion: 4500 * time.Millisecond,
	Run: 20 * time.Second, Idle: 60 * time.Second, Tank: 29 * time.Second, Power: 30 * time.Minute}

// Schedule is what the units do and what goes wrong.
type Schedule struct {
	Units  []UnitPlan
	Faults []Fault
}

// UnitPlan is one unit and its work.
type UnitPlan struct {
	// Name is the unit's id. Required.
	Name string
	// Called is the name that it gives itself. Defaults to Name.
	Called string
	// Processes are those it has bottles for. Required.
	Processes []string
	// Model and Firmware stand in its status. Default to made-up ones.
	Model, Firmware string
	// Shifts are when it is switched on, in order. Defaults to always.
	Shifts []Shift
	// Runs are done in order, none before its time.
	Runs []RunPlan
	// Endless makes up runs once Runs are done. Defaults to none.
	Endless *Endless
	// Begin starts the simulation in the middle of the unit's first run.
	Begin *Begin
	// Levels are litres in containers at the start. Default to an empty
	// waste and recovery, full wash and bottles.
	Levels map[string]float64
	// ClockOffset is how far its clock is off. Defaults to at most 0.3 s.
	ClockOffset time.Duration
	// RoomC is the mean temperature of its room. Defaults to 21.5.
	RoomC float64
	// BatteryPct is the battery's charge at the start. Defaults to 100.
	BatteryPct float64
	// ProbeC is by how much the bath's probe reads too high, °C. The unit
	// regulates by the same probe, so that its baths are that much too cool.
	// Defaults to 0.
	ProbeC float64
	// LossW is the heat that the processing tank loses to the room, W/K.
	// Defaults to a figure of the unit's own, 0.8 to 1.9.
	LossW float64
	// ProbeStepC is the step that the bath's probe reads in, °C. Defaults to
	// a hundredth.
	ProbeStepC float64
	// ProbeNoiseC is the noise of its readings, °C. Defaults to 0.02.
	ProbeNoiseC float64
	// FloatsOnly says that its containers have float switches and no level
	// sensors.
	FloatsOnly bool
	// LevelNoise is the noise of its level sensors, a share of what the container
	// holds. Defaults to 0.03 L, of bottles 0.015 L.
	LevelNoise float64
	// LevelOffset is by what share of the capacity they read too high. Defaults
	// to 0.
	LevelOffset float64
	// PumpGain is by what share its fills are larger than it says. Defaults to 0.
	PumpGain float64
	// CarryOverML is what film and reels carry from one bath into the next.
	// Defaults to 0.
	CarryOverML float64
	// EvaporationLH is what the warm wash tank loses, liters an hour. Defaults
	// to 0.
	EvaporationLH float64
	// Untidy says that nobody empties or tops up containers between its runs
	// but as Lab.SeeTo asks for. Defaults to false.
	Untidy bool
	// TapC is the water that people bring, °C. Defaults to 19.
	TapC float64
	// RoomSwingC is how much warmer than the mean its room is in the
	// afternoon, and cooler at night, °C. Defaults to 0.8.
	RoomSwingC float64
	// Cadence is its own where it differs from the lab's: zero fields are
	// the lab's.
	Cadence Cadence
	// Factors are the true temperature factors of the developers in the
	// unit's bottles, for 10 °C, by bottle (process/step). Default to the
	// sheet's best.
	Factors map[string]float64
}

// Shift is a time in which a unit is switched on.
type Shift struct{ On, Off time.Time }

// RunPlan is one run.
type RunPlan struct {
	At      time.Time     // not before; zero: as soon as the unit is ready
	Pause   time.Duration // at least so long after the run before
	Process string
	Push    float64
	Kind    string  // Defaults to film
	FillML  float64 // Defaults to 500
	SetS    float64 // developer's normal time where the sheet has none. Defaults to 390
	AtC     float64 // temperature of all baths. Defaults to the sheet's
	// From is the step that it begins at: a rescue of film that another run
	// left. Defaults to the first.
	From string
	// Continues says that the unit names the run whose film this one takes on:
	// its last.
	Continues bool
	// Steps are set otherwise than by the sheet. Default to none.
	Steps map[string]StepSetting
}

// StepSetting is what a unit is set to for one step; zero fields are the
// sheet's.
type StepSetting struct {
	S     float64
	Fills int
}

// Endless makes up runs of the unit's processes with pauses between.
type Endless struct {
	PauseMin, PauseMax time.Duration // default to 2 and 15 min
	FaultOdds          float64       // that a run gets a fault, 0..1
	Faults             []Kind        // of these kinds (Choosable). Default to those that a lab sees now and then
}

// Begin is where a unit stands at the start: the step of its first run and
// how long it has been in that bath; with Heating, how long heating for that
// step will still take.
type Begin struct {
	Step    string
	In      time.Duration
	Heating time.Duration
}

var unitName = regexp.MustCompile(`^[a-z0-9][a-z0-9-]{0,31}$`)

func (c *Config) complete() error {
	if c.Lab == "" {
		c.Lab = "tern-street"
	}
	if !unitName.MatchString(c.Lab) {
		return lab.Errorf(lab.KindInvalid, "lab %q: want 1-32 of a-z, 0-9 and -, not beginning with -", c.Lab)
	}
	if c.Start.IsZero() {
		return lab.Errorf(lab.KindInvalid, "start is missing; want the moment at which virtual time begins")
	}
	c.Start = c.Start.UTC().Truncate(time.Millisecond)
	if c.Book == nil {
		c.Book = process.Builtin()
	}
	if c.Step == 0 {
		c.Step = 500 * time.Millisecond
	}
	if c.Step < 100*time.Millisecond || c.Step > time.Second {
		return lab.Errorf(lab.KindInvalid, "step %v: want 100 ms to 1 s", c.Step)
	}
	if c.KeepAlive == 0 {
		c.KeepAlive = 30 * time.Second
	}
	c.Cadence.complete()
	return c.Schedule.check(c.Book)
}

// over is the cadence c with the fields that own sets in their place.
func (c Cadence) over(own Cadence) Cadence {
	for _, d := range []struct{ to, by *time.Duration }{{&c.BathTemp, &own.BathTemp}, {&c.BathMotion, &own.BathMotion},
		{&c.Run, &own.Run}, {&c.Idle, &own.Idle}, {&c.Tank, &own.Tank}, {&c.Power, &own.Power}} {
		if *d.by > 0 {
			*d.to = *d.by
		}
	}
	return c
}

func (c *Cadence) complete() {
	for _, d := range []struct {
		to *time.Duration
		by time.Duration
	}{{&c.BathTemp, 2500 * time.Millisecond}, {&c.BathMotion, 3 * time.Second}, {&c.Run, 10 * time.Second},
		{&c.Idle, 30 * time.Second}, {&c.Tank, 29 * time.Second}, {&c.Power, 10 * time.Minute}} {
		if *d.to <= 0 {
			*d.to = d.by
		}
	}
}

func (s *Schedule) check(book *process.Book) error {
	if len(s.Units) == 0 {
		return lab.Errorf(lab.KindInvalid, "schedule has no units; want at least one")
	}
	seen := map[string]bool{}
	for i := range s.Units {
		u := &s.Units[i]
		if !unitName.MatchString(u.Name) || seen[u.Name] {
			return lab.Errorf(lab.KindInvalid, "unit %d is called %q; want a name of its own, 1-32 of a-z, 0-9 and -", i+1, u.Name)
		}
		seen[u.Name] = true
		if err := u.check(book); err != nil {
			return lab.Errorf(lab.KindInvalid, "unit %q: %w", u.Name, err)
		}
	}
	for i, f := range s.Faults {
		if !seen[f.Unit] {
			return lab.Errorf(lab.KindInvalid, "fault %d (%s): there is no unit %q", i+1, f.Kind, f.Unit)
		}
		if err := f.check(); err != nil {
			return lab.Errorf(lab.KindInvalid, "fault %d (%s on %s): %w", i+1, f.Kind, f.Unit, err)
		}
	}
	return nil
}

func (u *UnitPlan) check(book *process.Book) error {
	if len(u.Processes) == 0 {
		return fmt.Errorf("no processes; want at least one of %v", book.IDs())
	}
	has := map[string]bool{}
	for _, p := range u.Processes {
		if _, ok := book.Sheet(p); !ok {
			return fmt.Errorf("process %q has no sheet; want one of %v", p, book.IDs())
		}
		has[p] = true
	}
	for i, r := range u.Runs {
		if !has[r.Process] {
			return fmt.Errorf("run %d: process %q is not one of the unit's %v", i+1, r.Process, u.Processes)
		}
		if sheet, _ := book.Sheet(r.Process); r.From != "" && sheet.Index(r.From) < 0 {
			return fmt.Errorf("run %d: %s has no step %q to begin at", i+1, r.Process, r.From)
		}
	}
	if u.Begin == nil {
		return nil
	}
	if len(u.Runs) == 0 {
		return fmt.Errorf("begin wants a first run to stand in")
	}
	sheet, _ := book.Sheet(u.Runs[0].Process)
	if sheet.Index(u.Begin.Step) < 0 {
		return fmt.Errorf("begin: %s has no step %q", sheet.ID, u.Begin.Step)
	}
	return nil
}
