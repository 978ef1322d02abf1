package sim

import (
	"maps"
	"math/rand/v2"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// faultTarget is the run that a named fault is made for.
type faultTarget struct {
	r     *rand.Rand
	sheet *process.Sheet
	dev   string // its first developer
	after time.Duration
	sign  float64
}

// faultsByName makes a fault of a kind that can be asked for by name, of a size
// that a lab would see; unit, run and kind are set by the caller.
var faultsByName = map[Kind]func(w faultTarget) Fault{
	BathOffset: func(w faultTarget) Fault {
		return Fault{Step: w.dev, After: w.after, Strength: w.sign * between(w.r, 0.3, 1), Ramp: 40 * time.Second}
	},
	ThermistorDrift: func(w faultTarget) Fault {
		return Fault{Step: w.dev, After: w.after, Strength: w.sign * between(w.r, 4, 25), For: time.Hour}
	},
	WeakHeater:    func(w faultTarget) Fault { return Fault{Step: w.dev, After: w.after, Strength: 0.01} },
	ShortStep:     func(w faultTarget) Fault { return Fault{Step: w.dev, Strength: between(w.r, 15, 45)} },
	LongStep:      func(w faultTarget) Fault { return Fault{Step: w.dev, Strength: between(w.r, 15, 45)} },
	WrongTime:     func(w faultTarget) Fault { return Fault{Step: w.dev, Strength: w.sign * between(w.r, 15, 60)} },
	SkippedStep:   func(w faultTarget) Fault { return Fault{Step: w.other()} },
	NoRotation:    func(w faultTarget) Fault { return Fault{Step: w.dev, After: w.after, Strength: 25} },
	NoBathReading: func(w faultTarget) Fault { return Fault{Step: w.dev, After: w.after, For: 30 * time.Second} },
	PowerCut:      func(w faultTarget) Fault { return Fault{Step: w.dev, After: w.after, For: 90 * time.Second} },
	Restart:       func(w faultTarget) Fault { return Fault{Step: w.dev, After: w.after, For: 45 * time.Second} },
	NetworkCut:    func(w faultTarget) Fault { return Fault{Step: w.dev, After: w.after, For: 2 * time.Minute} },
	Aborted:       func(w faultTarget) Fault { return Fault{Step: w.other(), After: w.after / 3} },
	Unattended:    func(faultTarget) Fault { return Fault{Step: string(lab.PhaseWaiting), For: 8 * time.Minute} },
	HotDryer:      func(w faultTarget) Fault { return Fault{Step: string(lab.PhaseDrying), Strength: between(w.r, 16, 24)} },
	WasteFull:     func(w faultTarget) Fault { return Fault{Strength: between(w.r, 0.8, 0.9), For: 12 * time.Minute} },
	WashLow:       func(w faultTarget) Fault { return Fault{Strength: between(w.r, 0.05, 0.12), For: 9 * time.Minute} },
	PumpWeak: func(w faultTarget) Fault {
		return Fault{Step: w.dev, Phase: lab.PhaseFilling, For: 25 * time.Second, Strength: 0.3}
	},
	GoesIdle: func(w faultTarget) Fault {
		return Fault{Step: w.dev, After: w.after, For: 8 * time.Minute, Strength: float64(20 * w.r.IntN(2))}
	},
	Fahrenheit:  func(faultTarget) Fault { return Fault{} },
	OpenProbe:   func(w faultTarget) Fault { return Fault{Step: w.dev, After: w.after, Strength: 850} },
	FrozenProbe: func(w faultTarget) Fault { return Fault{Step: w.dev, After: w.after / 3, For: time.Hour} },
	NoisyProbe:  func(faultTarget) Fault { return Fault{Strength: 0.2} },
	HeaterHunts: func(w faultTarget) Fault {
		return Fault{Step: w.dev, Strength: between(w.r, 0.5, 0.9), Ramp: 70 * time.Second}
	},
	WrongTemperature: func(w faultTarget) Fault { return Fault{Step: w.dev, Strength: w.sign * between(w.r, 2, 8)} },
	PreheatOff: func(w faultTarget) Fault {
		return Fault{Step: w.dev, Phase: lab.PhaseHeating, Strength: w.sign * between(w.r, 4, 7)}
	},
	ColdWash:       func(faultTarget) Fault { return Fault{Strength: 12} },
	NoisyLevel:     func(faultTarget) Fault { return Fault{Container: "waste", Strength: 0.3} },
	Renamed:        func(w faultTarget) Fault { return Fault{Step: w.other(), Called: "bath-2"} },
	UnknownProcess: func(faultTarget) Fault { return Fault{Called: "house-9"} },
	WrongDrain:     func(w faultTarget) Fault { return Fault{Step: w.other(), Container: recoveryName} },
}

// other is a step of the sheet that is no wash and not the first.
func (w faultTarget) other() string {
	var fit []string
	for _, st := range w.sheet.Steps[1:] {
		if !st.Wash {
			fit = append(fit, st.ID)
		}
	}
	return fit[w.r.IntN(len(fit))]
}

// Choosable lists the kinds that Endless.Faults may name.
func Choosable() []Kind { return slices.Sorted(maps.Keys(faultsByName)) }

// namedFault makes a fault of a kind for a run of a process.
func namedFault(r *rand.Rand, book *process.Book, unit, id string, kind Kind) Fault {
	sheet, _ := book.Sheet(id)
	f := faultsByName[kind](faultTarget{r: r, sheet: sheet, dev: sheet.Steps[0].ID, after: time.Duration(20+r.IntN(90)) * time.Second, sign: float64(1 - 2*r.IntN(2))})
	f.Unit, f.Kind = unit, kind
	return f
}

// randomFault is one of the faults that a lab sees now and then.
func randomFault(r *rand.Rand, book *process.Book, unit, id string) Fault {
	sheet, _ := book.Sheet(id)
	dev := sheet.Steps[0].ID
	any := sheet.Steps[r.IntN(len(sheet.Steps))].ID
	f := Fault{Unit: unit, Step: dev, After: time.Duration(r.IntN(90)) * time.Second}
	sign := float64(1 - 2*r.IntN(2))
	switch r.IntN(14) {
	case 0, 1:
		f.Kind, f.Strength, f.Ramp = BathOffset, sign*between(r, 0.3, 1.0), 40*time.Second
	case 2:
		f.Kind, f.Strength = WeakHeater, 0.01
	case 3:
		f.Kind, f.Strength = ShortStep, between(r, 15, 45)
	case 4:
		f.Kind, f.Strength = WrongTime, sign*between(r, 15, 60)
	case 5:
		f.Kind, f.For = NoRotation, time.Duration(12+r.IntN(40))*time.Second
	case 6:
		f.Kind, f.For = Restart, time.Duration(20+r.IntN(60))*time.Second
	case 7:
		f.Kind, f.For = PowerCut, time.Duration(30+r.IntN(180))*time.Second
	case 8:
		f.Kind, f.Step, f.For = NetworkCut, any, time.Duration(20+r.IntN(200))*time.Second
	case 9:
		f.Kind, f.Step, f.After, f.For = Unattended, string(lab.PhaseWaiting), 0, time.Duration(6+r.IntN(5))*time.Minute
	case 10:
		f.Kind, f.Step, f.Strength = HotDryer, string(lab.PhaseDrying), between(r, 16, 24)
	case 11:
		f.Kind, f.Step, f.After, f.Strength, f.For = WasteFull, "", 0, between(r, 0.8, 0.9), 12*time.Minute
	case 12:
		f.Kind, f.Step, f.After, f.Strength, f.For = WashLow, "", 0, between(r, 0.05, 0.12), 9*time.Minute
	default:
		f.Kind, f.For = NoBathReading, time.Duration(15+r.IntN(30))*time.Second
	}
	return f
}
