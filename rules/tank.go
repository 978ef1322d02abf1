package rules

import (
	"maps"
	"math"
	"slices"
	"strings"
	"time"

	"wetside/internal/lab"
)

// tank is one container as it was heard and counted.
type tank struct {
	Level  float64   `json:"level"`
	Known  bool      `json:"known,omitempty"` // heard, or counted on from what was heard
	HeardT time.Time `json:"heard_t,omitzero"`
	HeardL float64   `json:"heard_l"`         // what the sensor said then
	SaidT  time.Time `json:"said_t,omitzero"` // when a person last said what it holds
	Measured   *measuredLevel     `json:"hand,omitempty"`  // what a person last measured
	PumpT  time.Time `json:"pump_t,omitzero"` // when something was last pumped in or out

	Diffs lastValues `json:"diffs,omitempty"` // between readings while nothing is pumped: the sensor's noise

	Bal      balance   `json:"bal,omitzero"`
	BalMoved float64   `json:"bal_moved,omitzero"`
	Float    bool      `json:"float,omitempty"` // closed now
	OpenT    time.Time `json:"open_t,omitzero"` // since when it is open again
}

// pumping is the fill or drain under way.
type pumping struct {
	From, To  string  `json:",omitempty"`
	N         int     `json:"n"`
	ML        float64 `json:"ml"`
	BaseFrom  float64 `json:"base_from"`
	BaseTo    float64 `json:"base_to"`
	KnownFrom bool    `json:"known_from,omitempty"`
	KnownTo   bool    `json:"known_to,omitempty"`
}

// containerSpecs are the containers of the unit: as declared, else the
// default two; each as large as a person said, where one did.
func (f *Unit) containerSpecs() map[string]lab.ContainerSpec {
	specs := f.s.Declared
	if len(specs) == 0 {
		specs = map[string]lab.ContainerSpec{
			"waste": {Role: lab.RoleWaste, CapacityL: lab.DefaultCapacityL},
			"wash":  {Role: lab.RoleWash, CapacityL: lab.DefaultCapacityL},
		}
	}
	if len(f.s.Capacity) == 0 {
		return specs
	}
	specs = maps.Clone(specs)
	for name, l := range f.s.Capacity {
		if spec, ok := specs[name]; ok {
			spec.CapacityL = l
			specs[name] = spec
		}
	}
	return specs
}

func (f *Unit) tankOf(name string) *tank {
	t := f.s.Tanks[name]
	if t == nil {
		t = &tank{}
		f.s.Tanks[name] = t
	}
	return t
}

// tank folds levels and float switches.
func (f *Unit) tank(m *lab.Tank) {
	now := f.s.Clock.T
	for name, l := range m.LevelsL {
		t := f.tankOf(name)
		if t.Known && !t.HeardT.IsZero() && f.s.Pumping == nil {
			t.Diffs.add(l - t.HeardL)
		}
		t.takeReading(l, now, f.pumps(t))
	}
	for _, name := range m.Full {
		t := f.tankOf(name)
		t.Float = true
	}
	for name, t := range f.s.Tanks {
		if t.Float && !slices.Contains(m.Full, name) {
			t.Float, t.OpenT = false, now
		}
	}
	f.keepTanks()
	for _, name := range sortedKeys(m.LevelsL) {
		if f.s.Tanks[name] == nil {
			continue // forgotten again: more containers than a unit has
		}
		l := m.LevelsL[name]
		f.judgeDrainArriving(name, f.s.Tanks[name].Level)
		f.judgeDraw(name, f.s.Tanks[name].Level)
		f.judgeBalance(name, f.s.Tanks[name], l)
		f.judgeFloat(name, f.s.Tanks[name])
	}
}

// backL is a container's dead band: how much room, or liquid, there must be
// beyond what is needed before a shortage counts as over. Liters.
func (t *tank) backL(capacity float64) float64 {
	return max(levelBack*capacity, levelNoise*t.Diffs.sigma())
}

// differsL is by how much two readings of a container may well differ by its
// sensor's noise alone, liters: two deviations of a difference.
func (t *tank) differsL() float64 { return 2 * math.Sqrt2 * t.Diffs.sigma() }

// levelBack is a share of the capacity, levelNoise so many times the sensor's
// own noise.
const (
	levelBack  = 0.03
	levelNoise = 4
)

// startPump notes the levels at the beginning of a fill or a drain.
func (f *Unit) startPump(c *runStep, fill bool) {
	ml, ok := f.fillML(c.ID, c)
	if !ok {
		f.balancesAnew()
		f.s.Pumping = nil
		return
	}
	p := &pumping{N: c.N, ML: ml}
	if p.From, p.To = f.drawFrom(c.ID, c), f.drainTo(c.ID, c); fill && p.From == "" || !fill && p.To == "" {
		f.balancesAnew() // any of them may be the one
		f.s.Pumping = nil
		return
	}
	if fill {
		p.To = ""
		if t := f.s.Tanks[p.From]; t != nil && t.Known {
			p.BaseFrom, p.KnownFrom = t.Level, true
		}
	} else {
		p.From = ""
		if t := f.s.Tanks[p.To]; t != nil && t.Known {
			p.BaseTo, p.KnownTo = t.Level, true
		}
	}
	f.s.Pumping = p
	if fill {
		f.watchDraw(p)
	} else {
		f.watchDrain(p)
	}
}

// endPump counts a finished fill or drain on, until the sensor says more.
func (f *Unit) endPump() {
	s, p := f.s, f.s.Pumping
	s.Pumping = nil
	if s.Phase == lab.PhaseDraining && s.running() { // the step at hand may be the next one already
		for _, c := range s.Run.Steps {
			if c.N == s.PhaseN && c.ID == s.PhaseStep {
				c.Drains++
			}
		}
	}
	if p == nil || s.Unsure != sure {
		f.balancesAnew()
		return
	}
	if t := s.Tanks[p.From]; t != nil {
		t.pumped(-p.ML / 1000)
		t.PumpT = s.Clock.T
	}
	if t := s.Tanks[p.To]; t != nil {
		t.pumped(p.ML / 1000)
		t.PumpT = s.Clock.T
	}
	if t := s.Tanks[p.From]; t != nil && p.KnownFrom {
		t.Level = max(0, min(t.Level, p.BaseFrom-p.ML/1000))
	}
	if t := s.Tanks[p.To]; t != nil && p.KnownTo {
		t.Level = max(t.Level, p.BaseTo+p.ML/1000)
	}
}

// fillML is how much a fill of a step takes: as the unit said in this run,
// as in its last run of the process, as the last fill of this run.
func (f *Unit) fillML(id string, c *runStep) (float64, bool) {
	if c != nil && c.FillML > 0 {
		return c.FillML, true
	}
	if p, ok := f.pastStep(id); ok && p.FillML > 0 {
		return p.FillML, true
	}
	if f.s.Run != nil && f.s.Run.FillML > 0 {
		return f.s.Run.FillML, true
	}
	return 0, false
}

// drainTo is where a step drains to, "" where that is not known.
func (f *Unit) drainTo(id string, c *runStep) string {
	if c != nil && c.DrainTo != "" {
		return c.DrainTo
	}
	if p, ok := f.pastStep(id); ok && p.DrainTo != "" {
		return p.DrainTo
	}
	if f.foreign(f.s.Run.Process, id) {
		return ""
	}
	return "waste"
}

// drawFrom is where a step draws from, "" where that is not known.
func (f *Unit) drawFrom(id string, c *runStep) string {
	if c != nil && c.DrawFrom != "" {
		return c.DrawFrom
	}
	if p, ok := f.pastStep(id); ok && p.DrawFrom != "" {
		return p.DrawFrom
	}
	return f.defaultDraw(f.s.Run.Process, id)
}

// foreign tells whether the sheet of a process has no such step: where that
// draws and drains nobody guesses.
func (f *Unit) foreign(process, id string) bool {
	sh, ok := f.book().Sheet(process)
	return ok && sh.Index(id) < 0
}

// defaultDraw is where a step draws from if nothing else was heard.
func (f *Unit) defaultDraw(process, id string) string {
	if f.foreign(process, id) {
		return ""
	}
	wash := strings.HasPrefix(id, "wash")
	if sh, ok := f.book().Sheet(process); ok {
		if sp, ok := sh.Step(id); ok {
			wash = sp.Wash
		}
	}
	if wash {
		return "wash"
	}
	return process + "/" + id
}

func (f *Unit) pastStep(id string) (pastStep, bool) {
	if f.s.Run == nil {
		return pastStep{}, false
	}
	for _, p := range f.s.Past[f.s.Run.like()].Steps {
		if p.ID == id {
			return p, true
		}
	}
	return pastStep{}, false
}
