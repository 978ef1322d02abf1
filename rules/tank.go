package rules

import (
	"maps"
	"math"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/rules/level"
)

// tank is one container: its level as it was read, or counted on since.
type tank struct {
	Level    float64        `json:"level"`           // the best estimate, or where a reading of this moment says that it is on the way
	Known    bool           `json:"known,omitempty"` // read, or counted on from a reading or an entry
	HeardT   time.Time      `json:"heard_t,omitzero"`
	HeardL   float64        `json:"heard_l"`         // what the sensor said then
	SaidT    time.Time      `json:"said_t,omitzero"` // when a person last entered what it holds
	Measured *measuredLevel `json:"hand,omitempty"`  // what a person last measured
	PumpT    time.Time      `json:"pump_t,omitzero"` // when something was last pumped in or out

	Est   level.Estimate `json:"est,omitzero"`
	EstT  time.Time      `json:"est_t,omitzero"` // up to when time has passed for it
	Odd   reading        `json:"odd,omitzero"`   // a reading that does not fit, until the next tells what it was
	Moved *moved         `json:"moved,omitempty"`

	PumpedL float64   `json:"pumped_l,omitempty"` // since the last reading that was taken in
	Still   still     `json:"still,omitzero"`
	Share   runShare  `json:"share,omitzero"`
	AgreesT time.Time `json:"agrees_t,omitzero"` // since when probe and balance agree again

	Diffs lastValues `json:"diffs,omitempty"` // between readings while nothing is pumped: the sensor's noise

	Bal      balance   `json:"bal,omitzero"`
	BalMoved float64   `json:"bal_moved,omitzero"` // of states from before 2026-12
	Float    bool      `json:"float,omitempty"`    // closed now
	OpenT    time.Time `json:"open_t,omitzero"`    // when it opened
}

// containerSpecs are the containers of the unit: those that it declares, else a
// waste and a wash container. A size that a person entered counts.
func (u *Unit) containerSpecs() map[string]lab.ContainerSpec {
	specs := u.s.Declared
	if len(specs) == 0 {
		specs = map[string]lab.ContainerSpec{
			"waste": {Role: lab.RoleWaste, CapacityL: lab.DefaultCapacityL},
			"wash":  {Role: lab.RoleWash, CapacityL: lab.DefaultCapacityL},
		}
	}
	if len(u.s.Capacity) == 0 {
		return specs
	}
	specs = maps.Clone(specs)
	for name, l := range u.s.Capacity {
		if spec, ok := specs[name]; ok {
			spec.CapacityL = l
			specs[name] = spec
		}
	}
	return specs
}

func (u *Unit) tankOf(name string) *tank {
	t := u.s.Tanks[name]
	if t == nil {
		t = &tank{}
		u.s.Tanks[name] = t
	}
	return t
}

// takeLevels takes a message of levels and float switches.
func (u *Unit) takeLevels(m *lab.Tank) {
	now, specs := u.s.Clock.T, u.containerSpecs()
	for name, l := range m.LevelsL {
		t := u.tankOf(name)
		if t.Known && !t.HeardT.IsZero() && u.s.Pumping == nil && !t.peopleMoved(l, now) {
			t.Diffs.add(l - t.HeardL)
		}
		t.Still.note(t.Known && l == t.HeardL, now)
		into := specs[name].Role == lab.RoleWaste || specs[name].Role == lab.RoleRecovery
		t.takeReading(l, specs[name].CapacityL, now, arrivesAs{pumped: u.pumps(t), moving: u.moves(name), into: into})
	}
	for _, name := range m.Full {
		t := u.tankOf(name)
		t.Float = true
	}
	for name, t := range u.s.Tanks {
		if t.Float && !slices.Contains(m.Full, name) {
			t.Float, t.OpenT = false, now
		}
	}
	u.keepTanks()
	for _, name := range slices.Sorted(maps.Keys(m.LevelsL)) {
		if u.s.Tanks[name] == nil {
			continue // beyond the cap of containers
		}
		l := m.LevelsL[name]
		u.judgeDrainArriving(name, l)
		u.judgeDraw(name, l)
		u.judgeStuck(name, u.s.Tanks[name])
		u.judgeBalance(name, u.s.Tanks[name])
		u.judgeUnanswered(name, u.s.Tanks[name])
		u.judgeFloat(name, u.s.Tanks[name])
	}
}

// backL is how much more room, or liquid, than needed a container must have before
// a shortage is over, liters: a dead band, so that the alert does not flicker.
func (t *tank) backL(capacity float64) float64 {
	return max(levelBack*capacity, levelNoise*t.Diffs.sigma())
}

// differsL is how far two readings may differ by the sensor's noise alone, liters:
// two standard deviations of their difference.
func (t *tank) differsL() float64 { return 2 * math.Sqrt2 * t.Diffs.sigma() }

// The dead band is levelBack of the capacity, or levelNoise times the sensor's
// noise where that is more.
const (
	levelBack  = 0.03
	levelNoise = 4
)
