package sim

import (
	"fmt"
	"math"
	"time"

	"wetside/internal/lab"
)

// What an odd world does: probes and sensors that lie, units that are set or
// named wrong, film that no run goes on with.
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
)

// odd is what they do at the moment.
type odd struct {
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

func (f *Fault) checkOdd() error {
	switch {
	case f.Kind == GoesIdle && (f.For <= 0 || f.For.Seconds() <= f.Strength):
		return fmt.Errorf("for is %v; want how long until a person takes the film out, after the %g s without a controller", f.For, f.Strength)
	case (f.Kind == Renamed || f.Kind == UnknownProcess || f.Kind == MixedUp) && f.Called == "":
		return fmt.Errorf("called is missing; want the name that is said in place of the right one")
	}
	return nil
}

// actOdd adds what the odd world does.
func (a *armed) actOdd(u *unit) {
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
func (e *odd) inUnit(c float64) float64 {
	if e.fahrenheit {
		return c*1.8 + 32
	}
	return c
}

// bathReading is what the bath's probe shows now.
func (u *unit) bathReading() float64 {
	e := &u.eff
	c := u.bath.liquid + u.plan.ProbeC + e.probe + math.Hypot(u.plan.ProbeNoiseC, e.probeNoise)*normal(u.noise)
	if s := u.plan.ProbeStepC; s > 0 {
		c = math.Round(c/s) * s
	}
	c = e.inUnit(min(max(c, -20), 120))
	switch {
	case e.openC != nil:
		c = *e.openC
	case e.stuckProbe && u.lastBathC != nil:
		c = *u.lastBathC
	}
	u.lastBathC = &c
	return c
}

// setOddly sets the step that begins as its faults say.
func (u *unit) setOddly() {
	g := u.run.at()
	if f, ok := u.ofStep(WrongTemperature); ok {
		g.setC += f.Strength
	}
	if f, ok := u.ofStep(Renamed); ok {
		g.called = f.Called
	}
	if f, ok := u.ofStep(WrongDrain); ok {
		g.to = f.Container
	}
}

// runOddly begins a run as its faults and its plan say.
func (u *unit) runOddly(r *run) {
	r.called = r.plan.Process
	if f, ok := u.ofStep(UnknownProcess); ok {
		r.called = f.Called
	}
	if n := len(u.done); r.plan.Continues && n > 1 {
		r.rescues = u.done[n-2].Run
	}
}

// forgetRun has the controller forget its run; where it does not go down, it
// says that it is idle.
func (u *unit) forgetRun(down bool) {
	r := u.run
	r.truth.Stranded, r.truth.Ended, u.idleAt = true, u.now, u.now
	u.run, u.rpm = nil, 0
	if !down {
		u.sayStep()
		u.sayMotion()
	}
}

// strandingEnds has a person drain the tank at last and take the film
// elsewhere.
func (u *unit) strandingEnds(a *armed) {
	if a.Kind != GoesIdle {
		return
	}
	u.book.taken += u.bath.draw(u.bath.litres)
	u.enterAction(lab.EntryFilm, u.now, lab.FilmDoing{What: lab.FilmMoved})
	if a.run != nil {
		u.actions[len(u.actions)-1].Run = a.run.id
	}
}
