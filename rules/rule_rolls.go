package rules

import (
	"fmt"
	"slices"
	"strings"

	"wetside/internal/lab"
)

// mismatch is a roll that is for another process or push than the unit is set to.
type mismatch struct {
	roll    string // its twin check; "" where the load as a whole is meant
	process string
	push    float64
}

// wants tells whether the run does what is asked for. A process may be named
// without its variant (e6 is done by e6-7), or not at all.
func wants(process string, push float64, r *run) bool {
	return lab.DoesProcess(r.Process, process) && push-r.Push < roundingSlack && r.Push-push < roundingSlack
}

// mismatchedRolls are the rolls of a load that are for something else than the
// run. A roll without a process of its own is for what the load is for.
func mismatchedRolls(l *lab.Load, r *run) []mismatch {
	if l == nil {
		return nil
	}
	var out []mismatch
	for _, x := range l.Rolls {
		process, push := x.Process, x.Push
		if process == "" {
			process = l.Process
			if push == 0 {
				push = l.Push
			}
		}
		if !wants(process, push, r) {
			out = append(out, mismatch{x.TwinCheck, process, push})
		}
	}
	if len(l.Rolls) == 0 && !wants(l.Process, l.Push, r) {
		out = append(out, mismatch{"", l.Process, l.Push})
	}
	return out
}

// rollMismatch compares what is loaded with what the unit is set to, and raises
// roll-mismatch. Only customers' film counts.
func (u *Unit) rollMismatch() {
	s := u.s
	r := s.Run
	if !s.running() || r.BathsEnd {
		return
	}
	a, l := alertKey{rule: RuleRollMismatch, run: true}, u.loadOf(r, s.now())
	list := mismatchedRolls(l, r)
	if !r.film() || len(list) == 0 {
		u.clear(a, s.Clock.T)
		return
	}
	w := u.mismatchContent(l, list)
	if u.open(a) != nil {
		u.change(a, w, true)
		return
	}
	u.raise(a, s.Clock.T, w)
}

func (u *Unit) mismatchContent(l *lab.Load, list []mismatch) alertContent {
	r := u.s.Run
	w := alertContent{priority: lab.Urgent, facts: map[string]any{"process": r.Process, "push": r.Push}}
	wet := slices.ContainsFunc(r.Steps, func(c *runStep) bool { return !c.BathT.IsZero() })
	if wet {
		w.priority = lab.High
		w.response = "The first bath is in: let the run go on. Mark these rolls and hold them for inspection; tell the customer."
		u.correctFor(l, list, &w)
	}
	names := []string{}
	for _, o := range list {
		names = append(names, o.roll)
	}
	first := list[0]
	set := u.processWords(r.Process, r.Push)
	want := u.processWords(first.process, first.push)
	who := "Roll " + first.roll
	switch {
	case first.roll == "":
		who, names = "The load", []string{}
	case len(list) == len(l.Rolls) && len(list) > 1:
		who = fmt.Sprintf("All %d rolls", len(list))
	case len(list) > 1:
		who = fmt.Sprintf("Roll %s and %d more", first.roll, len(list)-1)
	}
	verb := "is for"
	if strings.HasPrefix(who, "All") || strings.HasSuffix(who, "more") {
		verb = "are for"
	}
	w.message = fmt.Sprintf("%s %s %s; the unit is set to %s", who, verb, want, set)
	w.facts["rolls"], w.facts["wants_process"], w.facts["wants_push"] = names, first.process, first.push
	return w
}

// correctFor says how the first bath can still be corrected: where all rolls are
// for one other push of the same process, the time of day at which to drain.
func (u *Unit) correctFor(l *lab.Load, list []mismatch, w *alertContent) {
	c := u.s.currentStep()
	sp := u.spec(c)
	if sp == nil || sp.Push == nil || sp.FromUnit || !c.EndT.IsZero() || !c.DrainT.IsZero() || c.BathT.IsZero() {
		return
	}
	first := list[0]
	if len(list) < len(l.Rolls) || !wants(first.process, u.s.Run.Push, u.s.Run) {
		return // some are for what is set, or for another process altogether
	}
	for _, o := range list {
		if o.push != first.push || o.process != first.process {
			w.response = "The first bath is in, and the rolls are for different processes or pushes: let the run go on. Mark them and hold them for inspection; tell the customers."
			return
		}
	}
	wantS, ok := sp.TimeFor(first.push, c.SetS)
	at := c.fromT().Add(lab.Seconds(wantS))
	if !ok || !at.After(u.s.Clock.T) {
		return
	}
	w.facts["wants_s"], w.facts["act_at"] = wantS, lab.At(u.s.Clock.report(at)).String()
	w.response = fmt.Sprintf("Set %s to %s at the unit now: drain at %s. Then the rolls get the push they are for.", sp.Label, lab.SpanText(wantS), u.clockWords(at))
}
