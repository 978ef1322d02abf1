package rules

import (
	"wetside/internal/process"
)

// book has the sheets that were in force when the run began; outside a run those
// of now.
func (u *Unit) book() *process.Book {
	if r := u.s.Run; r != nil {
		return u.cfg.SheetsAt(r.StartedAt)
	}
	return u.cfg.SheetsAt(u.s.Clock.report(u.s.Clock.T))
}

// sheet is the sheet of the run, nil where there is none.
func (u *Unit) sheet() *process.Sheet {
	if u.s.Run == nil {
		return nil
	}
	sh, ok := u.book().Sheet(u.s.Run.Process)
	if !ok {
		return nil
	}
	return sh
}

// spec is the sheet's step for a step of the run, nil where there is none.
func (u *Unit) spec(c *runStep) *process.Step {
	sh := u.sheet()
	if sh == nil || c == nil || c.Index < 0 {
		return nil
	}
	sp := &sh.Steps[c.Index]
	for _, d := range u.s.Run.Fig.Devs {
		if d.Process == u.s.Run.Process && d.Step == c.ID && sp.Kind == process.Dev {
			sp = u.cfg.stepWith(u.book(), sp, d.Developer)
			break
		}
	}
	if !sp.FromUnit && sp.AtC == nil {
		return sp
	}
	return u.cfg.stepAt(sp, c.aimC(sp))
}

// sheetS is the sheet's time for a step in seconds, false where unknown.
func (u *Unit) sheetS(c *runStep) (float64, bool) {
	sp := u.spec(c)
	if sp == nil {
		return 0, false
	}
	return sp.TimeFor(u.s.Run.Push, c.SetS)
}
