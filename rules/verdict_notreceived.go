package rules

import (
	"fmt"
	"slices"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// notReceivedReasons adds the steps that there is no evidence of: they were due in
// a hole, or so much of them lies in one that what was received does not show
// that they were long enough.
func (u *Unit) notReceivedReasons(add addReason) {
	r, sh := u.s.Run, u.sheet()
	for i := range sh.Steps {
		sp := &sh.Steps[i]
		if u.had(i) || slices.Contains(r.Missed, sp.ID) || len(r.Unknown) > 0 || !u.filmPast(i) {
			continue
		}
		hidden := !sp.Optional && (r.Whole || i >= r.firstIndex()) && u.mayHide(i, sp)
		switch {
		case sp.Kind == process.Dev, hidden && !sp.Wash:
			add(1, 0, reasonNoEvidence, sp.ID, fmt.Sprintf("No evidence of %s: no data was received while it was due.", sp.Label))
		case hidden:
			add(0, 0, reasonNoEvidence, sp.ID, fmt.Sprintf("No data was received while %s was due.", sp.Label))
		}
	}
	for _, c := range r.Steps {
		u.partlyReceived(c, add)
	}
}

// filmPast tells whether the film has gone past the sheet's step i.
func (u *Unit) filmPast(i int) bool {
	r := u.s.Run
	return u.reached() > i || r.Outcome == lab.OutcomeDone && r.BathsEnd
}

// partlyReceived adds a chemical step whose beginning or end lies in a hole, where
// what was received of it is shorter than it must be. Developers have their own
// reason (stepReasons).
func (u *Unit) partlyReceived(c *runStep, add addReason) {
	sp := u.spec(c)
	if sp == nil || sp.Wash || sp.Optional || sp.Kind == process.Dev || c.BathT.IsZero() || c.EndT.IsZero() || c.BathHeard && !c.EndLost {
		return
	}
	want, ok := u.sheetS(c)
	if !ok {
		return
	}
	end := c.EndT
	if c.EndLost {
		end = c.HeardT
	}
	heardS, least := max(end.Sub(c.fromT()).Seconds(), 0), sp.ShortestS(want)
	if heardS >= least {
		return
	}
	add(1, 0, reasonNoEvidence, c.ID, fmt.Sprintf("%s was received for %s; it takes %s at least. No data was received of the rest.",
		capital(sp.Label), lab.SpanText(heardS), lab.SpanText(least)))
}
