package rules

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// noteBathsDone notes that the film has left the last bath: steps that are missing
// now were skipped, and what was urgent for film in a bath is not any more.
func (u *Unit) noteBathsDone() {
	if u.s.Run.BathsEnd {
		return
	}
	u.s.Run.BathsEnd = true
	u.noteMissing()
	u.settleResumed()
}

// noteIdle notes that the unit is idle: a run that was going on is lost, and film that
// waited for the dryer was taken out.
func (u *Unit) noteIdle() {
	s := u.s
	if s.running() {
		u.endRun(lab.OutcomeLost, s.Run.LastT)
	}
	for _, fl := range slices.Clone(s.Films) {
		if fl.Waited {
			u.clearFilmAlerts(fl, s.Clock.T)
			s.forgetFilm(fl)
		} else if fl.LeftT.IsZero() && !fl.Aborted {
			fl.LeftT = s.Clock.T
		}
	}
	s.Pumping = nil
}

// endRun closes the run with its outcome at timeline time t.
func (u *Unit) endRun(outcome string, t time.Time) {
	s := u.s
	where := u.whereFilm()
	if c := s.currentStep(); c != nil && c.EndT.IsZero() {
		u.endStep(t, outcome == lab.OutcomeDone || outcome == lab.OutcomeLost && !c.DrainT.IsZero() && s.Unsure == nothingMissed)
	}
	s.Run.Outcome = outcome
	if outcome != lab.OutcomeDone {
		u.balancesAnew()
	}
	s.Run.EndedAt = lab.At(s.Clock.report(t)).Time
	if outcome == lab.OutcomeDone {
		if s.Run.film() {
			s.LastProcess = s.Run.like()
		}
		u.learnDrains()
		u.judgeShares()
	}
	s.Past[s.Run.like()] = s.Run.past(s.Past[s.Run.like()], u.teaches())
	s.keepPast(s.Run.like())
	s.Run.BathsEnd = s.Run.BathsEnd || outcome == lab.OutcomeDone
	u.settleResumed()
	u.clearWhere(s.Clock.T, func(o *lab.Occurrence) bool {
		switch o.Rule {
		case RulePowerLost, RuleWasteNearlyFull, RuleRunAborted, RuleFilmStranded, RulePowerResumed,
			RuleUnitSilent, RuleClockOff, RuleTelemetryRefused, RuleLevelDisagrees, RuleStripOut:
			return false
		}
		return true
	})
	u.ranSinceStrip()
	u.leaveFilm(where, outcome)
	u.reportRun()
}

// leaveRun forgets what belongs to the run before, when the next one begins.
func (u *Unit) leaveRun() {
	for key, o := range u.s.Open {
		if o.Latched { // people still see it; here it is done with
			delete(u.s.Open, key)
		}
	}
	for _, own := range []string{"bath:", "rotation", "slow", "dryer", "fit:", "short:"} {
		u.dropHolds(own)
	}
}

// noteAborted ends the run, and raises run-aborted where film is wet and not fixed.
func (u *Unit) noteAborted() {
	s := u.s
	if !s.running() {
		return
	}
	unsafe := u.judged() && s.Run.Wet && !u.filmFixed()
	c := s.currentStep()
	u.endRun(lab.OutcomeAborted, s.Clock.T)
	if unsafe && !s.Run.BathsEnd {
		step := ""
		if c != nil {
			step = c.ID
		}
		u.raiseAborted(step)
	}
}

// raiseAborted raises run-aborted; where a developer may still be in the tank it
// says when to drain it by hand.
func (u *Unit) raiseAborted(step string) {
	a := alertKey{rule: RuleRunAborted, run: true}
	w := alertContent{priority: lab.Urgent, message: fmt.Sprintf("Run aborted in %s: film wet, not fixed. Keep the lid closed (dark)", StepWords(step)),
		facts: map[string]any{"step": step}}
	fl := u.filmLeftBy(u.s.Run)
	if fl != nil && fl.Dev {
		rest := u.card(RuleRunAborted).Response
		w.facts["act_at"] = lab.At(u.s.Clock.report(fl.ActT)).String()
		w.facts[lab.FactStillToDo] = "If the developer is still in, drain it by hand now. " + rest
		w.response = fmt.Sprintf("If the unit did not drain it: drain %s by hand at %s. ", StepWords(step), u.clockWords(fl.ActT)) + rest
	}
	if u.raise(a, u.s.Clock.T, w) != nil && fl != nil {
		fl.Open = append(fl.Open, u.keyOf(a))
	}
}

// filmFixed tells whether the film has had its fixer. A fixer that was not received,
// but lies before a step that was, counts as had.
func (u *Unit) filmFixed() bool {
	if !u.s.Run.FixedT.IsZero() {
		return true
	}
	sh := u.sheet()
	i := slices.IndexFunc(sh.Steps, func(sp process.Step) bool { return sp.Fixes })
	return i >= 0 && u.reached() > i && !u.begun(i) && !slices.Contains(u.s.Run.Missed, sh.Steps[i].ID)
}

// like is a name for runs that take the same steps and volumes: those of a process
// and, for other than film, a kind.
func (r *run) like() string {
	if r.film() {
		return r.Process
	}
	return r.Process + "|" + r.Kind
}

// past adds the run to what is known of runs like it, for planning the next. A
// run that was received whole (teaches) replaces what was known; of any other
// only containers and times are taken over, never volumes.
func (r *run) past(old pastRun, teaches bool) pastRun {
	p := pastRun{Whole: true, At: r.EndedAt}
	if !teaches {
		p = pastRun{Steps: slices.Clone(old.Steps), Whole: old.Whole, At: old.At}
	}
	lastML := 0.0
	for _, c := range r.Steps {
		if c.BathT.IsZero() {
			continue
		}
		ps := pastStep{ID: c.ID, N: c.N, DrawFrom: c.DrawFrom, DrainTo: c.DrainTo, SetS: c.SetS,
			BeforeS: c.BathT.Sub(c.FromT).Seconds()}
		lastML = cmp.Or(c.FillML, lastML) // a unit may say it once a run
		if teaches {
			ps.Fills, ps.FillML = max(c.Fills, 1), lastML
		}
		p.put(ps, teaches)
	}
	return p
}

// put adds a step. What the new run does not say of it stays as it was known, and
// so do its volumes unless the run teaches. A step that comes twice in a run
// fills as often as both together.
func (p *pastRun) put(ps pastStep, teaches bool) {
	i := slices.IndexFunc(p.Steps, func(x pastStep) bool { return x.ID == ps.ID })
	if i < 0 {
		p.Steps = append(p.Steps, ps)
		return
	}
	o := &p.Steps[i]
	ps.Fills += o.Fills
	if !teaches {
		ps.FillML = o.FillML
	}
	ps.DrawFrom, ps.DrainTo = cmp.Or(ps.DrawFrom, o.DrawFrom), cmp.Or(ps.DrainTo, o.DrainTo)
	*o = ps
}
