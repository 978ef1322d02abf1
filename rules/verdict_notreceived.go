package rules

import (
	"fmt"
	"slices"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// notReceivedReasons says of which steps there is no evidence: a hole in what was
// received could hold them whole, or holds so much of them that what was
// received does not show them done.
func (u *Unit) notReceivedReasons(add addReason) {
	r, sh := u.s.Run, u.sheet()
	for i := range sh.Steps {
		sp := &sh.Steps[i]
		if u.had(i) || slices.Contains(r.Missed, sp.ID) || len(r.Unknown) > 0 || !u.past(i) {
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

// past tells whether the film has gone past the sheet's step i.
func (u *Unit) past(i int) bool {
	r := u.s.Run
	return u.reached() > i || r.Outcome == lab.OutcomeDone && r.BathsEnd
}

// partlyReceived says of a chemical step whose beginning or end lies in a hole
// that what was received of it is less than it needs. A developer's is said
// elsewhere.
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
