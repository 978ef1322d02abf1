package rules

import (
	"encoding/json"
	"slices"

	"wetside/internal/lab"
)

// takesOn finds the film that a run goes on with as it begins: by what a person
// entered, else by what the unit says, else by what is likely (proposed: a
// person can undo it). named is the run that the film is of, where person or
// unit names one.
func (u *Unit) takesOn(st *lab.Step) (fl *film, named string, proposed bool) {
	id := RunID(u.id, st.Run)
	switch said, ok := u.saidContinues(id); {
	case ok && said == "":
		return nil, "", false
	case ok:
		return u.filmOfRun(said), said, false
	}
	if fl := u.filmOfRun(id); fl != nil {
		return fl, "", false // the run itself left it, and goes on
	}
	if st.Continues != "" && st.Continues != st.Run {
		named = RunID(u.id, st.Continues)
		return u.filmOfRun(named), named, false
	}
	return u.likelyFilm(st), "", true
}

// saidContinues is what a person says of which run's film the run id takes on:
// "" none.
func (u *Unit) saidContinues(id string) (run string, ok bool) {
	for _, k := range u.entries {
		var b lab.Continues
		if k.What == lab.EntryContinues && k.RunID == id && json.Unmarshal(k.Body, &b) == nil && b.Run != id {
			run, ok = b.Run, true
		}
	}
	return run, ok
}

// filmOfRun is the film left by a run, nil where none is known.
func (u *Unit) filmOfRun(id string) *film {
	for _, fl := range slices.Backward(u.s.Films) {
		if fl.holds(id) {
			return fl
		}
	}
	return nil
}

// likelyFilm is the film that a run most likely goes on with: wet, of the same
// process and left a short while ago, when the run begins behind the sheet's
// first step.
func (u *Unit) likelyFilm(st *lab.Step) *film {
	sh, ok := u.book().Sheet(st.Process)
	if !ok || sh.Index(st.Step) < 1 || st.Kind != "" && st.Kind != lab.KindOfRunFilm {
		return nil
	}
	for _, fl := range slices.Backward(u.s.Films) {
		if fl.Process == st.Process && !fl.away() && u.s.Clock.T.Sub(fl.EndT) <= lab.Seconds(takesOnS) {
			return fl
		}
	}
	return nil
}

// leavesFilm tells of film that a run which begins does not take on. Fixed film
// that only waited for the dryer has been taken out by then.
func (u *Unit) leavesFilm(taken *film) {
	t := u.s.Clock.T
	for _, fl := range slices.Clone(u.s.Films) {
		switch {
		case fl == taken || fl.settled():
		case fl.Waited:
			u.clearFilmAlerts(fl, t)
			u.s.forgetFilm(fl)
		default:
			u.raiseStranded(fl, t)
		}
	}
}

// takeOn gives the run the film that others left.
func (u *Unit) takeOn(fl *film, named string, proposed bool) {
	r := u.s.Run
	if fl == nil {
		if named != "" {
			r.Continues = named
			r.Whole = false // what it had before is not known
		}
		return
	}
	u.clearFilmAlerts(fl, u.s.Clock.T)
	u.s.forgetFilm(fl)
	r.Took, r.Continues, r.Proposed = fl, fl.last().ID, proposed
	if named != "" {
		r.Continues = named
	}
	r.Wet, r.FixedT, r.Missed = true, fl.FixedT, slices.Clone(fl.Missed)
	r.Load = fl.Load
}

// keepFilm copies the record of the run at hand to the film that it left, before
// another run takes the run's place.
func (u *Unit) keepFilm() {
	r := u.s.Run
	if r == nil {
		return
	}
	fl := u.filmLeftBy(r)
	if fl == nil {
		return
	}
	rec := u.runRecord()
	if fl.last().Record = nil; len(fl.Runs) > 0 {
		if b, err := json.Marshal(rec); err == nil && len(b) <= filmRecordMost {
			fl.last().Record = b
		}
	}
	if rec.PushErrorStops != nil {
		fl.PushErr, fl.Push = rec.PushErrorStops, r.Push
	}
	fl.Verdict = rec.Verdict
	if l := u.loadOf(r, r.EndedAt); l != nil {
		fl.Load = &loaded{Load: *l, T: r.StartedAt}
	}
	for _, y := range u.reasonsOfSteps(r) {
		fl.Reasons = lab.LastOf(append(fl.Reasons, filmReason{y.Reason, y.level, y.share, y.also}), stepsKept)
	}
}

// takesOnLate takes film on when the unit names it only after the run began.
func (u *Unit) takesOnLate(st *lab.Step) {
	r := u.s.Run
	if st.Continues == "" || st.Continues == st.Run || r.Continues != "" || !r.film() {
		return
	}
	if _, ok := u.saidContinues(r.ID); ok {
		return
	}
	named := RunID(u.id, st.Continues)
	u.takeOn(u.filmOfRun(named), named, false)
	u.reportRun()
}
