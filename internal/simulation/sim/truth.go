package sim

import (
	"math"
	"time"
)

// FaultTruth is a fault as it really was, for tests and for judging the rules.
type FaultTruth struct {
	Fault Fault
	Unit  string // "lab/unit"
	Run   string // the run's id, "" outside a run
	Step  string // the step at hand when it began
	From  time.Time
	To    time.Time // zero while it lasts
}

// RunTruth is what really happened in a run, whatever was published.
type RunTruth struct {
	Unit, Run, Process, Kind string
	Ordinal                  int // the unit's Ordinal-th run
	Push                     float64
	Began, Ended             time.Time // Ended is zero while it runs
	Aborted                  bool
	Stranded                 bool // the unit forgot it with its film in a bath
	Steps                    []StepTruth
	// Trace and Said are kept where Config.Trace is set.
	Trace []FilmMoment
	Sent  []Sent
}

// StepTruth is what the film went through in one step.
type StepTruth struct {
	N               int
	Step            string
	SetS            float64 // by the sheet, for the push asked for
	ControllerSetS  float64 // what the controller was set to
	Fills           int
	InBath          time.Time // the first entry of the liquid
	Drained         time.Time // the start of the last draining; zero while in the bath
	TimeS           float64   // from the one to the other
	WetS            float64   // of that, with liquid on the film
	MinC, MaxC      float64   // after the first 30 s
	MeanC           float64
	EquivalentS     float64 // at the sheet's temperature and by its best factor; 0 for other than developers
	TrueEquivalentS float64 // the same by the true factor of what was in the bottle
	StillS          float64 // of WetS, neither turned by the unit nor by hand
	ByHand          bool    // drained by a person
	sumC            float64
}

// addBath adds dt seconds at c.
func (s *StepTruth) addBath(c float64, g *programStep, dt float64) {
	s.WetS += dt
	s.sumC += c * dt
	s.MeanC = s.sumC / s.WetS
	if s.WetS > 30 {
		if s.MinC == 0 || c < s.MinC {
			s.MinC = c
		}
		s.MaxC = max(s.MaxC, c)
	}
	if g.factor > 0 {
		s.EquivalentS += dt * math.Pow(g.factor, (c-g.aimC)/10)
		s.TrueEquivalentS += dt * math.Pow(g.trueFactor, (c-g.aimC)/10)
	}
}

// liquidBalance adds up what people brought and took and what was spilled, so
// that tests can account for every liter.
type liquidBalance struct{ brought, taken, floor float64 }

// put adds a level that people changed.
func (b *liquidBalance) put(was, is float64) {
	if is > was {
		b.brought += is - was
	} else {
		b.taken += was - is
	}
}

// recordFault records that a fault begins.
func (u *unit) recordFault(f Fault) *FaultTruth {
	t := &FaultTruth{Fault: f, Unit: u.id.String(), From: u.now}
	if r := u.run; r != nil {
		t.Run, t.Step = r.id, r.current().id
	}
	u.truths = append(u.truths, t)
	return t
}
