package rules

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// Codes of reasons, as the contract has them.
const (
	reasonWarm         = "bath-warm"
	reasonCool         = "bath-cool"
	reasonLong         = "step-long"
	reasonShort        = "step-short"
	reasonSkipped      = "step-skipped"
	reasonRotation     = "rotation"
	reasonOutage       = "outage"
	reasonWrongTime    = "wrong-time"
	reasonWrongProcess = "wrong-process"
	reasonChemistry    = "chemistry"
	reasonDryer        = "dryer"
	reasonNoEvidence   = "missing-evidence"
	reasonSwings       = "bath-swings"
	reasonStepUnknown  = "step-unknown"
)

// causes says which reasons of a step are explained by another one of it.
var causes = map[string][]string{
	reasonOutage:       {reasonLong, reasonShort, reasonCool, reasonRotation, reasonNoEvidence}, // and bath-warm in a warm room: see reason.also
	reasonWrongTime:    {reasonLong, reasonShort},
	reasonWrongProcess: {reasonWrongTime},
	reasonChemistry:    {reasonShort, reasonLong, reasonCool, reasonWarm}, // little liquid does not hold its temperature
}

// reason is a reason for the verdict, with what ranks it.
type reason struct {
	lab.Reason
	level int     // the verdict that it alone would give: 0 in control, 1 inspect, 2 out of control
	share float64 // how much of the step's error it explains, as the logarithm of a ratio
	order int     // its place in the run
	also  string  // one more code that it explains, beside those of causes
}

// verdict judges a run that has ended. It never says that film is spoiled: that
// is for a person to see.
func (u *Unit) verdict(out *lab.Run) {
	if !u.s.Run.followed() || u.sheet() == nil {
		return
	}
	list := u.reasons(out.Outcome)
	list = slices.DeleteFunc(list, func(y reason) bool {
		return y.level == 0 && y.Code == reasonOutage && !slices.ContainsFunc(list, func(z reason) bool {
			return z.Step == y.Step && z.level > 0 && slices.Contains(causes[reasonOutage], z.Code)
		})
	})
	level := 0
	for i := range list {
		list[i].order = i
		level = max(level, list[i].level)
	}
	for _, y := range ranked(list) {
		out.Reasons = append(out.Reasons, y.Reason)
	}
	out.Verdict = new([]string{lab.InControl, lab.Inspect, lab.OutOfControl}[level])
}

// ranked puts the gravest reasons first, and of equal ones that which explains
// most. A reason that another one explains comes right behind that one.
func ranked(list []reason) []reason {
	explains := func(a, b *reason) bool {
		return a.Step == b.Step && (a.also == b.Code || slices.Contains(causes[a.Code], b.Code))
	}
	for range list { // a cause is as grave as what it explains
		for i := range list {
			for j := range list {
				if a, b := &list[i], &list[j]; explains(a, b) {
					a.level = max(a.level, b.level)
				}
			}
		}
	}
	slices.SortStableFunc(list, func(a, b reason) int {
		return cmp.Or(cmp.Compare(b.level, a.level), cmp.Compare(b.share, a.share), cmp.Compare(a.order, b.order))
	})
	for i := 1; i < len(list); i++ {
		for j := range i {
			if explains(&list[i], &list[j]) {
				y := list[i]
				list = slices.Insert(slices.Delete(list, i, i+1), j, y)
				break
			}
		}
	}
	return list
}

// reasons lists all reasons in the order of the run.
func (u *Unit) reasons(outcome string) []reason {
	r := u.s.Run
	var list []reason
	add := u.adderTo(&list)
	if odd := mismatchedRolls(u.loadOf(r, r.EndedAt), r); len(odd) > 0 {
		add(1, math.Inf(1), reasonWrongProcess, "", u.mismatchText(odd, r))
	}
	for _, id := range r.Missed {
		add(2, math.Inf(1), reasonSkipped, id, fmt.Sprintf("%s was skipped or came out of order.", capital(StepWords(id))))
	}
	list = append(list, u.earlierReasons()...)
	list = append(list, u.reasonsOfSteps(r)...)
	for i := range u.sheet().Steps {
		if sp := &u.sheet().Steps[i]; u.leftOut(i, sp) {
			add(1, 0, reasonSkipped, sp.ID, fmt.Sprintf("%s was skipped.", capital(sp.Label)))
		}
	}
	u.notReceivedReasons(add)
	if n := len(r.Unknown); n > 0 {
		add(1, 0, reasonStepUnknown, "", fmt.Sprintf("%s. Which steps the film had is not certain.", unknownWords(r.Unknown, u.sheet())))
	}
	if r.DryerHot {
		add(1, 0, reasonDryer, "", "The dryer was hotter than the sheet allows.")
	}
	switch {
	case outcome == lab.OutcomeAborted:
		u.abortedReason(add)
	case !r.Whole || outcome == lab.OutcomeLost:
		add(1, -1, reasonNoEvidence, "", "Not all data of the run was received.")
	}
	return list
}

// adderTo adds reasons to a list.
func (u *Unit) adderTo(list *[]reason) addReason {
	return func(level int, share float64, code, step, text string) {
		y := reason{Reason: lab.Reason{Code: code, Step: step, Text: text}, level: level, share: share}
		if sp, ok := u.sheet().Step(step); ok && code == reasonOutage && (u.room().Best > sp.AimC || u.filledWithout(step)) {
			y.also = reasonWarm // a warm room warmed it meanwhile, or the heater came on in a half full tank
		}
		*list = append(*list, y)
	}
}

// reasonsOfSteps are the reasons that the run's own steps give.
func (u *Unit) reasonsOfSteps(r *run) (list []reason) {
	if u.sheet() == nil {
		return nil
	}
	for _, c := range r.Steps {
		u.stepReasons(c, u.adderTo(&list))
	}
	return list
}

// earlierReasons are the reasons from the film's earlier runs: the verdict of a
// rescue is on all that happened to the film.
func (u *Unit) earlierReasons() (list []reason) {
	r := u.s.Run
	if r.Took == nil {
		return nil
	}
	for _, y := range r.Took.Reasons {
		list = append(list, reason{Reason: y.Reason, level: y.Level, share: y.Share, also: y.Also})
	}
	add := u.adderTo(&list)
	for _, x := range r.cutsLeft() {
		add(1, 0, reasonShort, x.ID, fmt.Sprintf("%s lasted %s; the sheet says %s. Its run ended in it, and the next went on behind it.",
			capital(StepWords(x.ID)), lab.SpanText(x.TimeS), lab.SpanText(x.WantS)))
	}
	return list
}

// abortedReason says what the film did not get because of an abort. That the run
// was aborted is its outcome, not a reason.
func (u *Unit) abortedReason(add addReason) {
	const after = " No data was received of what the film got after that."
	c, sh := u.s.currentStep(), u.sheet()
	sp := u.spec(c)
	if sp != nil && !c.BathT.IsZero() && c.EndT.Sub(c.fromT()).Seconds() < sp.AimS && c.DrainT.IsZero() {
		add(1, 0, reasonShort, c.ID, fmt.Sprintf("The run was aborted in %s after %s.", sp.Label, lab.SpanText(c.EndT.Sub(c.fromT()).Seconds()))+after)
		return
	}
	for i := max(u.reached(), 0); i < len(sh.Steps); i++ {
		if !u.had(i) && len(u.s.Run.Unknown) == 0 {
			add(1, 0, reasonSkipped, sh.Steps[i].ID, fmt.Sprintf("The run was aborted before %s.", sh.Steps[i].Label)+after)
			return
		}
	}
	add(1, 0, reasonNoEvidence, "", "The run was aborted."+after)
}

// leftOut tells whether a wash was certainly skipped.
func (u *Unit) leftOut(i int, sp *process.Step) bool {
	r := u.s.Run
	if !sp.Wash || sp.Optional || len(r.Unknown) > 0 || u.had(i) || !r.Whole && i < r.firstIndex() || u.mayHide(i, sp) {
		return false
	}
	return u.reached() > i || r.Outcome == lab.OutcomeDone && r.BathsEnd
}

func (u *Unit) mismatchText(odd []mismatch, r *run) string {
	o := odd[0]
	who := "Roll " + o.roll
	if o.roll == "" {
		who = "The load"
	}
	if len(odd) > 1 {
		who += fmt.Sprintf(" (and %d more)", len(odd)-1)
	}
	return fmt.Sprintf("%s was for %s; the unit ran %s.", who, u.processWords(o.process, o.push), u.processWords(r.Process, r.Push))
}

type addReason func(level int, share float64, code, step, text string)
