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

// flow is one fill or drain still to come.
type flow struct {
	Container string
	L         float64
	InS       float64 // seconds from now until it begins
	Step      string
}

// plan lists the steps of the run: those heard, then those the sheet (or the
// last run of the process) has beyond them.
func (f *Unit) plan() []planned {
	r := f.s.Run
	if r == nil {
		return nil
	}
	var out []planned
	for _, c := range r.Steps {
		out = append(out, f.plannedStep(c.ID, c.N, c))
	}
	if r.BathsEnd || r.Outcome != lab.OutcomeRunning {
		return out
	}
	last := 0
	if c := f.s.cur(); c != nil {
		last = c.N
	}
	for _, next := range f.ahead() {
		last++
		out = append(out, f.plannedStep(next, last, nil))
	}
	return out
}

// ahead names the steps not yet reached.
func (f *Unit) ahead() []string {
	var ids []string
	if sh := f.sheet(); sh != nil {
		at := f.sheetStepReached(sh)
		if at < 0 && len(f.s.Run.Unknown) > 0 {
			return nil // no name of the sheet yet: which are still to come, nobody knows
		}
		for _, sp := range sh.Steps[min(at+1, len(sh.Steps)):] {
			ids = append(ids, sp.ID)
		}
		return ids
	}
	c := f.s.cur()
	for _, p := range f.s.Past[f.s.Run.like()].Steps {
		if c == nil || p.N > c.N {
			ids = append(ids, p.ID)
		}
	}
	return ids
}

// sheetStepReached is the sheet's step at which the run stands, -1 for none. A name that
// the sheet does not have stands for the one after, one a name: what may have
// been had is not still to come.
func (f *Unit) sheetStepReached(sh *process.Sheet) int {
	at, named := -1, false
	for _, c := range f.s.Run.Steps {
		switch {
		case c.Index >= 0:
			at, named = c.Index, true
		case slices.Contains(f.s.Run.Unknown, c.ID) && named:
			at++
		}
	}
	return at
}

func (f *Unit) plannedStep(id string, n int, c *runStep) planned {
	p := planned{ID: id, N: n, Rec: c, Fills: 1}
	past, known := f.pastStep(id)
	if known {
		p.BeforeS = past.BeforeS
	}
	if p.Fills = past.Fills; p.Fills == 0 {
		p.Fills = f.usualFills(id)
	}
	if c != nil {
		p.Fills = max(p.Fills, c.Fills)
		if !c.EndT.IsZero() {
			p.Fills = c.Fills
		}
	}
	p.TimeS = f.plannedS(id, c, past)
	if !known {
		p.BeforeS = f.s.Usual[string(lab.PhaseFilling)].median()
	}
	return p
}

// usualFills is how often a step that the unit has not shown yet fills: as
// another wash of this run did, else as the sheet has it.
func (f *Unit) usualFills(id string) int {
	sp, ok := f.sheet().Step(id)
	if !ok {
		return 1
	}
	if sp.Wash {
		for _, c := range f.s.Run.Steps {
			if other := f.spec(c); other != nil && other.Wash && !c.EndT.IsZero() && c.BathHeard {
				return max(c.Fills, 1)
			}
		}
	}
	return sp.Fills
}

func (f *Unit) plannedS(id string, c *runStep, past pastStep) float64 {
	if c != nil && c.SetS > 0 {
		return c.SetS
	}
	if sp, ok := f.sheet().Step(id); ok {
		if s, ok := sp.TimeFor(f.s.Run.Push, past.SetS); ok {
			return s
		}
	}
	return past.SetS
}

// drainTimeS is how long a drain usually takes.
func (f *Unit) drainTimeS() float64 { return f.s.Usual[string(lab.PhaseDraining)].median() }

// leftS is how long the present step still takes until its last drain, 0
// outside a step.
func (f *Unit) leftS(p planned) float64 {
	c := p.Rec
	if c == nil {
		return p.BeforeS + p.TimeS
	}
	if c.BathT.IsZero() {
		return max(p.BeforeS-f.s.Clock.T.Sub(c.FromT).Seconds(), 0) + p.TimeS
	}
	return max(p.TimeS-f.s.Clock.T.Sub(c.fromT()).Seconds(), 0)
}

// flows lists the fills (fill true) or drains still to come in the run, in
// their order, as far as their volumes are known.
func (f *Unit) flows(fill bool) []flow {
	if !f.s.running() || f.s.Run.BathsEnd {
		return nil
	}
	var list []flow
	inS := 0.0
	for _, p := range f.plan() {
		if p.Rec != nil && !p.Rec.EndT.IsZero() {
			continue
		}
		if ml, known := f.fillML(p.ID, p.Rec); known {
			list = append(list, f.stepFlows(p, fill, ml/1000, inS)...)
		}
		inS += f.leftS(p) + f.drainTimeS()
	}
	return list
}

// stepFlows lists what one step still draws or drains.
func (f *Unit) stepFlows(p planned, fill bool, l, inS float64) []flow {
	total, done := p.Fills, 0
	name := f.drainTo(p.ID, p.Rec)
	if fill {
		name = f.drawFrom(p.ID, p.Rec)
	}
	if name == "" {
		return nil
	}
	pumping := f.s.Pumping
	var out []flow
	if p.Rec != nil {
		done = p.Rec.Drains
		if fill {
			done = p.Rec.Fills
			if pumping != nil && pumping.From == name && pumping.N == p.N {
				out = append(out, flow{name, max(0, l-f.moved(name, pumping)), 0, p.ID})
			}
		} else if pumping != nil && pumping.To == name && pumping.N == p.N {
			out = append(out, flow{name, max(0, l-f.moved(name, pumping)), 0, p.ID})
			done++
		}
	}
	left := f.leftS(p)
	for i := done; i < total; i++ {
		at := inS + left
		if total > 1 { // spread over the step, the last drain at its end
			k := float64(i + 1)
			if fill {
				k = float64(i)
			}
			at = inS + left*min(1, (k-float64(done)+1)/float64(total-done))
		} else if fill {
			at = inS
		}
		out = append(out, flow{name, l, at, p.ID})
	}
	return out
}

// moved is how much of the fill or drain under way the level shows already, l.
func (f *Unit) moved(name string, p *pumping) float64 {
	t := f.s.Tanks[name]
	if t == nil || !t.Known {
		return 0
	}
	if p.From == name && p.KnownFrom {
		return max(0, p.BaseFrom-t.Level)
	}
	if p.To == name && p.KnownTo {
		return max(0, t.Level-p.BaseTo)
	}
	return 0
}

// toDryerS is how long until the reels can go to the dryer, seconds.
func (f *Unit) toDryerS() (float64, bool) {
	if !f.s.running() || f.s.Run.BathsEnd {
		return 0, false
	}
	total := 0.0
	for _, p := range f.plan() {
		if p.Rec != nil && !p.Rec.EndT.IsZero() {
			continue
		}
		total += f.leftS(p) + f.drainTimeS()
	}
	return total, total > 0
}

func (f *Unit) after(s float64) time.Time { return f.s.Clock.T.Add(lab.Seconds(s)) }
