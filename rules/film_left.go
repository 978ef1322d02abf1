package rules

import (
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// whereFilm says where the film of the run is. It must be asked before the run is
// closed, which closes its step too.
func (u *Unit) whereFilm() film {
	s, r, c := u.s, u.s.Run, u.s.currentStep()
	w := film{State: lab.FilmDry}
	if r.Wet {
		w.State = lab.FilmWet
	}
	if c == nil {
		return w
	}
	w.Step, w.N = c.ID, c.N
	open := c.EndT.IsZero() || c.DrainT.IsZero() && c.EndT.Equal(s.Clock.T) // an abort closes the step in the same message
	if c.Fills == 0 || !open || c.ByHand {
		return w
	}
	if !c.DrainT.IsZero() && s.Phase != lab.PhaseDraining && s.Phase != lab.PhaseIdle && s.Phase != lab.PhaseWaiting {
		return w
	}
	w.State = lab.FilmInBath
	if u.isDev(c) {
		w.Dev, w.ActT = true, u.handDrainT(c, s.Clock.T)
	}
	return w
}

// handDrainT is when to begin to drain a developer by hand, which the unit has
// forgotten. It is assumed to cool: nothing heats it any more.
func (u *Unit) handDrainT(c *runStep, t time.Time) time.Time {
	if c.BathT.IsZero() || !c.DrainT.IsZero() {
		return t // only part of the film is covered
	}
	sp, open := u.spec(c), *c
	open.EndT = time.Time{}
	if m, ok := sp.Outlook(u.filmInBath(&open, sp, t, true)); ok && finite(t, m.ActS) != nil {
		return t.Add(lab.Seconds(max(m.ActS, 0)))
	}
	if sheetS, ok := u.sheetS(c); ok {
		return lab.Later(t, c.BathT.Add(lab.Seconds(sheetS-u.fig().HandS)))
	}
	return t
}

// leaveFilm keeps the film of a run that ended without bringing it to the dryer.
// w is where the film was before the run was closed.
func (u *Unit) leaveFilm(w film, outcome string) *film {
	s, r := u.s, u.s.Run
	if !r.film() || u.sheet() == nil || !r.Wet || outcome == lab.OutcomeDone || r.AtDryer || r.Away != nil {
		return nil
	}
	fl := &w
	fl.Process, fl.Push, fl.EndT = r.Process, r.Push, s.Clock.T
	fl.Fixed, fl.FixedT = u.filmFixed(), r.FixedT
	fl.Waited = r.BathsEnd && fl.Fixed
	fl.Aborted = outcome == lab.OutcomeAborted
	if r.Took != nil {
		fl.Runs = slices.Clone(r.Took.Runs)
		fl.Steps, fl.Reasons, fl.Cuts, fl.PushErr = slices.Clone(r.Took.Steps), slices.Clone(r.Took.Reasons), r.cutsLeft(), r.Took.PushErr
		fl.Push = r.Took.Push
	}
	for _, c := range r.Steps {
		if c.Index >= 0 {
			fl.Steps = lab.LastOf(append(fl.Steps, filmStep{c.Index, c.ID, !c.BathT.IsZero()}), stepsKept)
		}
	}
	fl.Missed = slices.Clone(r.Missed)
	if c := s.currentStep(); c != nil && w.State == lab.FilmInBath && outcome == lab.OutcomeLost && c.DrainT.IsZero() {
		c.Stranded = true
	}
	u.cutShort(fl)
	fl.Runs = lab.LastOf(append(fl.Runs, filmRun{FilmRun: r.ofFilm(u)}), filmRunsKept)
	if fl.Waited && s.Phase == lab.PhaseIdle {
		return nil // it waited to be taken to the dryer, and the unit is idle: somebody took it
	}
	s.Films = append(s.Films, fl)
	for len(s.Films) > filmsKept {
		u.clearFilmAlerts(s.Films[0], s.Clock.T)
		s.Films = slices.Clone(s.Films[1:])
	}
	return fl
}

// ofFilm is the run as one of its film's.
func (r *run) ofFilm(f *Unit) lab.FilmRun {
	return lab.FilmRun{ID: r.ID, Run: r.Name, StartedAt: lab.At(r.StartedAt), EndedAt: lab.AtPtr(r.EndedAt), Outcome: r.Outcome, Proposed: r.Proposed}
}

// cutShort notes the step that the end of the run cut short, if it did.
func (u *Unit) cutShort(fl *film) {
	c := u.s.currentStep()
	sp := u.spec(c)
	if sp == nil || c.BathT.IsZero() || c.Stranded || !c.BathHeard || sp.Wash || sp.Kind == process.Dev {
		return // a developer is judged by its push error
	}
	sheetS, ok := u.sheetS(c)
	want := sheetS
	if sp.Kind == process.Min {
		want = sp.LeastS
	}
	if timeS := c.EndT.Sub(c.BathT).Seconds(); ok && timeS < sp.ShortestS(sheetS) && !c.Short {
		fl.Cuts = lab.LastOf(append(fl.Cuts, filmCut{c.Index, c.ID, timeS, want}), stepsKept)
	}
}

// cutsLeft are the steps that were cut short and not given again by this run.
func (r *run) cutsLeft() []filmCut {
	if r.Took == nil {
		return nil
	}
	return slices.DeleteFunc(slices.Clone(r.Took.Cuts), func(x filmCut) bool {
		return slices.ContainsFunc(r.Steps, func(c *runStep) bool { return c.Index == x.Index && !c.BathT.IsZero() })
	})
}

// clearFilmAlerts clears the alerts that tell of the film.
func (u *Unit) clearFilmAlerts(fl *film, t time.Time) {
	for _, key := range fl.Open {
		u.clearKey(key, t)
	}
	fl.Open = nil
}

// filmLeftBy is the film that the run left, nil where it left none.
func (u *Unit) filmLeftBy(r *run) *film {
	for _, fl := range u.s.Films {
		if fl.last().ID == r.ID {
			return fl
		}
	}
	return nil
}

// forgetFilm takes film out of what was left.
func (s *state) forgetFilm(fl *film) {
	s.Films = slices.DeleteFunc(s.Films, func(x *film) bool { return x == fl })
}
