package rules

import (
	"fmt"
	"math"
	"slices"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// judgeSkipped raises step-skipped for the steps that the beginning of step c proves to
// have been skipped, or for c itself where it comes out of order.
func (u *Unit) judgeSkipped(c *runStep) {
	sh, r := u.sheet(), u.s.Run
	if sh == nil || c.Index < 0 || !r.followed() {
		return
	}
	for i := range c.Index {
		if u.lacksStep(i) {
			sp := &sh.Steps[i]
			u.raiseSkipped(c, sp, fmt.Sprintf("%s was skipped: the unit is at %s", capital(sp.Label), sh.Steps[c.Index].Label))
		}
	}
	after := max(r.reachedBefore(c), r.Took.reached(true))
	if after >= len(sh.Steps) {
		return // the film's earlier run was of another process: its steps are not this sheet's
	}
	if c.Index < after && u.lacksStep(c.Index) {
		sp := &sh.Steps[c.Index]
		u.raiseSkipped(c, sp, fmt.Sprintf("%s comes out of order, after %s", capital(sp.Label), sh.Steps[after].Label))
	}
}

// noteMissing notes for the verdict which chemical steps were skipped, when the run
// leaves the baths. It raises no alert: step-skipped is raised when a later step
// begins, and none does.
func (u *Unit) noteMissing() {
	sh, r := u.sheet(), u.s.Run
	if sh == nil || !r.followed() || len(r.Steps) == 0 {
		return
	}
	for i := range sh.Steps {
		if u.lacksStep(i) {
			r.Missed = append(r.Missed, sh.Steps[i].ID)
		}
	}
}

// lacksStep tells whether the run has certainly skipped the sheet's step i, a
// chemical one, and that has not been told yet.
func (u *Unit) lacksStep(i int) bool {
	r, sp := u.s.Run, &u.sheet().Steps[i]
	switch {
	case sp.Wash || sp.Optional || slices.Contains(r.Missed, sp.ID) || u.had(i):
		return false
	case len(r.Unknown) > 0:
		return false // a step with a name that is not on the sheet may be it
	case !r.Whole && i < r.firstIndex():
		return false // before the data begins
	}
	return !u.mayHide(i, sp)
}

func (u *Unit) raiseSkipped(c *runStep, sp *process.Step, message string) {
	u.s.Run.Missed = append(u.s.Run.Missed, sp.ID)
	u.raise(alertKey{rule: RuleStepSkipped, subject: sp.ID, run: true}, u.s.Clock.T,
		alertContent{priority: lab.Urgent, message: message, facts: map[string]any{"skipped": sp.ID, "at": c.ID}})
}

// begun tells whether the film has begun the sheet's step i, in this run or an
// earlier one; had, whether it has been in its bath.
func (u *Unit) begun(i int) bool {
	return u.s.Run.Took.begun(i) || slices.ContainsFunc(u.s.Run.Steps, func(c *runStep) bool { return c.Index == i })
}

func (u *Unit) had(i int) bool {
	return u.s.Run.Took.had(i) || slices.ContainsFunc(u.s.Run.Steps, func(c *runStep) bool { return c.Index == i && !c.BathT.IsZero() })
}

// reachedBefore is the highest sheet step that the run had begun before c.
func (r *run) reachedBefore(c *runStep) int {
	top := -1
	for _, x := range r.Steps {
		if x != c && !x.BathT.IsZero() {
			top = max(top, x.Index)
		}
	}
	return top
}

// firstIndex is the sheet step with which the run's data begins.
func (r *run) firstIndex() int {
	for _, c := range r.Steps {
		if c.Index >= 0 {
			return c.Index
		}
	}
	return math.MaxInt
}

// mayHide tells whether the sheet's step i may have taken place in a hole: one
// that is long enough for its bath, and before which no later step had begun.
func (u *Unit) mayHide(i int, sp *process.Step) bool {
	need := min(60, sp.LeastS/2)
	if sp.LeastS == 0 {
		need = 60
	}
	return slices.ContainsFunc(u.s.Run.Holes, func(h hole) bool { return h.After <= i && h.S >= need })
}
