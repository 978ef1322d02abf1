package sim

import (
	"maps"
	"math/rand/v2"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// where is the run that a chosen fault is made for.
type where struct {
	r     *rand.Rand
	sheet *process.Sheet
	dev   string // its first developer
	after time.Duration
	sign  float64
}

// chosen makes a fault of a kind that can be asked for by name, as a lab would
// see it; unit, run and kind are set by the caller.
var chosen = map[Kind]func(w where) Fault{
	BathOffset: func(w where) Fault {
		return Fault{Step: w.dev, After: w.after, Strength: w.sign * between(w.r, 0.3, 1), Ramp: 40 * time.Second}
	},
	ThermistorDrift: func(w where) Fault {
		return Fault{Step: w.dev, After: w.after, Strength: w.sign * between(w.r, 4, 25), For: time.Hour}
	},
	WeakHeater:    func(w where) Fault { return Fault{Step: w.dev, After: w.after, Strength: 0.01} },
	ShortStep:     func(w where) Fault { return Fault{Step: w.dev, Strength: between(w.r, 15, 45)} },
	LongStep:      func(w where) Fault { return Fault{Step: w.dev, Strength: between(w.r, 15, 45)} },
	WrongTime:     func(w where) Fault { return Fault{Step: w.dev, Strength: w.sign * between(w.r, 15, 60)} },
	SkippedStep:   func(w where) Fault { return Fault{Step: w.other()} },
	NoRotation:    func(w where) Fault { return Fault{Step: w.dev, After: w.after, Strength: 25} },
	NoBathReading: func(w where) Fault { return Fault{Step: w.dev, After: w.after, For: 30 * time.Second} },
	PowerCut:      func(w where) Fault { return Fault{Step: w.dev, After: w.after, For: 90 * time.Second} },
	Restart:       func(w where) Fault { return Fault{Step: w.dev, After: w.after, For: 45 * time.Second} },
	NetworkCut:    func(w where) Fault { return Fault{Step: w.dev, After: w.after, For: 2 * time.Minute} },
	Aborted:       func(w where) Fault { return Fault{Step: w.other(), After: w.after / 3} },
	Unattended:    func(where) Fault { return Fault{Step: string(lab.PhaseWaiting), For: 8 * time.Minute} },
	HotDryer:      func(w where) Fault { return Fault{Step: string(lab.PhaseDrying), Strength: between(w.r, 16, 24)} },
	WasteFull:     func(w where) Fault { return Fault{Strength: between(w.r, 0.8, 0.9), For: 12 * time.Minute} },
	WashLow:       func(w where) Fault { return Fault{Strength: between(w.r, 0.05, 0.12), For: 9 * time.Minute} },
	PumpWeak: func(w where) Fault {
		return Fault{Step: w.dev, Phase: lab.PhaseFilling, For: 25 * time.Second, Strength: 0.3}
	},
	GoesIdle: func(w where) Fault {
		return Fault{Step: w.dev, After: w.after, For: 8 * time.Minute, Strength: float64(20 * w.r.IntN(2))}
	},
	Fahrenheit:  func(where) Fault { return Fault{} },
	OpenProbe:   func(w where) Fault { return Fault{Step: w.dev, After: w.after, Strength: 850} },
	FrozenProbe: func(w where) Fault { return Fault{Step: w.dev, After: w.after / 3, For: time.Hour} },
	NoisyProbe:  func(where) Fault { return Fault{Strength: 0.2} },
	HeaterHunts: func(w where) Fault {
		return Fault{Step: w.dev, Strength: between(w.r, 0.5, 0.9), Ramp: 70 * time.Second}
	},
	WrongTemperature: func(w where) Fault { return Fault{Step: w.dev, Strength: w.sign * between(w.r, 2, 8)} },
	PreheatOff: func(w where) Fault {
		return Fault{Step: w.dev, Phase: lab.PhaseHeating, Strength: w.sign * between(w.r, 4, 7)}
	},
	ColdWash:       func(where) Fault { return Fault{Strength: 12} },
	NoisyLevel:     func(where) Fault { return Fault{Container: "waste", Strength: 0.3} },
	Renamed:        func(w where) Fault { return Fault{Step: w.other(), Called: "bath-2"} },
	UnknownProcess: func(where) Fault { return Fault{Called: "house-9"} },
	WrongDrain:     func(w where) Fault { return Fault{Step: w.other(), Container: recoveryName} },
}

// other is a step of the sheet that is no wash and not the first.
func (w where) other() string {
	var fit []string
	for _, st := range w.sheet.Steps[1:] {
		if !st.Wash {
			fit = append(fit, st.ID)
		}
	}
	return fit[w.r.IntN(len(fit))]
}

// Choosable lists the kinds that Endless.Faults may name.
func Choosable() []Kind { return slices.Sorted(maps.Keys(chosen)) }

// chosenFault is one of a kind for a run of a process.
func chosenFault(r *rand.Rand, book *process.Book, unit, id string, kind Kind) Fault {
	sheet, _ := book.Sheet(id)
	f := chosen[kind](where{r: r, sheet: sheet, dev: sheet.Steps[0].ID, after: time.Duration(20+r.IntN(90)) * time.Second, sign: float64(1 - 2*r.IntN(2))})
	f.Unit, f.Kind = unit, kind
	return f
}
