package rules

import (
	"strings"

	"wetside/internal/lab"
)

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

// startPump notes the levels at the beginning of a fill or a drain.
func (u *Unit) startPump(c *runStep, fill bool) {
	ml, ok := u.fillML(c.ID, c)
	if !ok {
		u.balancesAnew()
		u.s.Pumping = nil
		return
	}
	p := &pumping{N: c.N, ML: ml}
	if p.From, p.To = u.drawFrom(c.ID, c), u.drainTo(c.ID, c); fill && p.From == "" || !fill && p.To == "" {
		u.balancesAnew() // any container may be the one
		u.s.Pumping = nil
		return
	}
	if fill {
		p.To = ""
		if t := u.s.Tanks[p.From]; t != nil && t.Known {
			p.BaseFrom, p.KnownFrom = t.Level, true
		}
	} else {
		p.From = ""
		if t := u.s.Tanks[p.To]; t != nil && t.Known {
			p.BaseTo, p.KnownTo = t.Level, true
		}
	}
	u.s.Pumping = p
	if fill {
		u.watchDraw(p)
	} else {
		u.watchDrain(p)
	}
}

// endPump adds a finished fill or drain to the levels: they are counted on until
// a sensor reads them.
func (u *Unit) endPump() {
	s, p := u.s, u.s.Pumping
	s.Pumping = nil
	if s.Phase == lab.PhaseDraining && s.running() { // the step at hand may be the next one by now
		for _, c := range s.Run.Steps {
			if c.N == s.PhaseN && c.ID == s.PhaseStep {
				c.Drains++
			}
		}
	}
	if p == nil || s.Unsure != nothingMissed {
		u.balancesAnew()
		for _, t := range s.Tanks {
			if t.Est.Known() {
				t.Est.Pass(unheardL * unheardL)
			}
		}
		return
	}
	specs := u.containerSpecs()
	for name, l := range map[string]float64{p.From: -p.ML / 1000, p.To: p.ML / 1000} {
		t := s.Tanks[name]
		if t == nil {
			continue
		}
		t.pumped(l)
		t.PumpT = s.Clock.T
		t.pump(l, specs[name].CapacityL, s.Clock.T)
	}
}

// fillML is how much a fill of a step takes: what the unit said of it in this
// run, else in the last run of the process, else the last fill of this run.
func (u *Unit) fillML(id string, c *runStep) (float64, bool) {
	if c != nil && c.FillML > 0 {
		return c.FillML, true
	}
	if p, ok := u.pastStep(id); ok && p.FillML > 0 {
		return p.FillML, true
	}
	if u.s.Run != nil && u.s.Run.FillML > 0 {
		return u.s.Run.FillML, true
	}
	return 0, false
}

// drainTo is where a step drains to, "" where that is not known.
func (u *Unit) drainTo(id string, c *runStep) string {
	if c != nil && c.DrainTo != "" {
		return c.DrainTo
	}
	if p, ok := u.pastStep(id); ok && p.DrainTo != "" {
		return p.DrainTo
	}
	if u.foreign(u.s.Run.Process, id) {
		return ""
	}
	return "waste"
}

// drawFrom is where a step draws from, "" where that is not known.
func (u *Unit) drawFrom(id string, c *runStep) string {
	if c != nil && c.DrawFrom != "" {
		return c.DrawFrom
	}
	if p, ok := u.pastStep(id); ok && p.DrawFrom != "" {
		return p.DrawFrom
	}
	return u.defaultDraw(u.s.Run.Process, id)
}

// foreign tells whether the process has a sheet that lacks the step: from where
// such a step draws and where it drains is not guessed.
func (u *Unit) foreign(process, id string) bool {
	sh, ok := u.book().Sheet(process)
	return ok && sh.Index(id) < 0
}

// defaultDraw is where a step draws from if nothing else was heard.
func (u *Unit) defaultDraw(process, id string) string {
	if u.foreign(process, id) {
		return ""
	}
	wash := strings.HasPrefix(id, "wash")
	if sh, ok := u.book().Sheet(process); ok {
		if sp, ok := sh.Step(id); ok {
			wash = sp.Wash
		}
	}
	if wash {
		return "wash"
	}
	return process + "/" + id
}

func (u *Unit) pastStep(id string) (pastStep, bool) {
	if u.s.Run == nil {
		return pastStep{}, false
	}
	for _, p := range u.s.Past[u.s.Run.like()].Steps {
		if p.ID == id {
			return p, true
		}
	}
	return pastStep{}, false
}
