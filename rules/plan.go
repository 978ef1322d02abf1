package rules

import (
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// planned is one step of a run, past, present or to come.
type planned struct {
	ID      string
	N       int
	Rec     *runStep // nil: not reached
	Fills   int      // how many fills it takes, as far as is known
	TimeS   float64  // its time: set, else the sheet's, else the last run's
	BeforeS float64  // heating and filling before its bath
}

// plan lists the steps of the run: those received, then those still to come by
// the sheet, or without one by the last run of the process.
func (u *Unit) plan() []planned {
	r := u.s.Run
	if r == nil {
		return nil
	}
	var out []planned
	for _, c := range r.Steps {
		out = append(out, u.plannedStep(c.ID, c.N, c))
	}
	if r.BathsEnd || r.Outcome != lab.OutcomeRunning {
		return out
	}
	last := 0
	if c := u.s.currentStep(); c != nil {
		last = c.N
	}
	for _, next := range u.stepsAhead() {
		last++
		out = append(out, u.plannedStep(next, last, nil))
	}
	return out
}

// stepsAhead names the steps not yet reached.
func (u *Unit) stepsAhead() []string {
	var ids []string
	if sh := u.sheet(); sh != nil {
		at := u.sheetStepReached(sh)
		if at < 0 && len(u.s.Run.Unknown) > 0 {
			return nil // none of the names is on the sheet: which steps are still to come is not known
		}
		for _, sp := range sh.Steps[min(at+1, len(sh.Steps)):] {
			ids = append(ids, sp.ID)
		}
		return ids
	}
	c := u.s.currentStep()
	for _, p := range u.s.Past[u.s.Run.like()].Steps {
		if c == nil || p.N > c.N {
			ids = append(ids, p.ID)
		}
	}
	return ids
}

// sheetStepReached is the sheet's step at which the run is, -1 for none. A step
// with a name that is not on the sheet counts as the next step of the sheet: it
// may be that one, and then it is not still to come.
func (u *Unit) sheetStepReached(sh *process.Sheet) int {
	at, named := -1, false
	for _, c := range u.s.Run.Steps {
		switch {
		case c.Index >= 0:
			at, named = c.Index, true
		case slices.Contains(u.s.Run.Unknown, c.ID) && named:
			at++
		}
	}
	return at
}

func (u *Unit) plannedStep(id string, n int, c *runStep) planned {
	p := planned{ID: id, N: n, Rec: c, Fills: 1}
	past, known := u.pastStep(id)
	if known {
		p.BeforeS = past.BeforeS
	}
	if p.Fills = past.Fills; p.Fills == 0 {
		p.Fills = u.usualFills(id)
	}
	if c != nil {
		p.Fills = max(p.Fills, c.Fills)
		if !c.EndT.IsZero() {
			p.Fills = c.Fills
		}
	}
	p.TimeS = u.plannedS(id, c, past)
	if !known {
		p.BeforeS = u.s.Usual[string(lab.PhaseFilling)].median()
	}
	return p
}

// usualFills is how often a step fills that this unit has not run yet: as often
// as another wash of this run, else as the sheet says.
func (u *Unit) usualFills(id string) int {
	sp, ok := u.sheet().Step(id)
	if !ok {
		return 1
	}
	if sp.Wash {
		for _, c := range u.s.Run.Steps {
			if other := u.spec(c); other != nil && other.Wash && !c.EndT.IsZero() && c.BathHeard {
				return max(c.Fills, 1)
			}
		}
	}
	return sp.Fills
}

func (u *Unit) plannedS(id string, c *runStep, past pastStep) float64 {
	if c != nil && c.SetS > 0 {
		return c.SetS
	}
	if sp, ok := u.sheet().Step(id); ok {
		if s, ok := sp.TimeFor(u.s.Run.Push, past.SetS); ok {
			return s
		}
	}
	return past.SetS
}

// drainTimeS is how long a drain usually takes.
func (u *Unit) drainTimeS() float64 { return u.s.Usual[string(lab.PhaseDraining)].median() }

// leftS is how long the present step still takes until its last drain, 0
// outside a step.
func (u *Unit) leftS(p planned) float64 {
	c := p.Rec
	if c == nil {
		return p.BeforeS + p.TimeS
	}
	if c.BathT.IsZero() {
		return max(p.BeforeS-u.s.Clock.T.Sub(c.FromT).Seconds(), 0) + p.TimeS
	}
	return max(p.TimeS-u.s.Clock.T.Sub(c.fromT()).Seconds(), 0)
}

// toDryerS is how long until the reels can go to the dryer, seconds.
func (u *Unit) toDryerS() (float64, bool) {
	if !u.s.running() || u.s.Run.BathsEnd {
		return 0, false
	}
	total := 0.0
	for _, p := range u.plan() {
		if p.Rec != nil && !p.Rec.EndT.IsZero() {
			continue
		}
		total += u.leftS(p) + u.drainTimeS()
	}
	return total, total > 0
}

func (u *Unit) inSeconds(s float64) time.Time { return u.s.Clock.T.Add(lab.Seconds(s)) }
