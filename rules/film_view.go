package rules

import (
	"encoding/json"

	"wetside/internal/lab"
)

// filmOf is the film of the run at hand with all its runs, nil where the run
// carries no customers' film.
func (u *Unit) filmOf(r *run) *lab.Film {
	if !r.film() {
		return nil
	}
	if fl := u.filmLeftBy(r); fl != nil {
		return fl.view()
	}
	out := &lab.Film{ID: r.ID, State: u.whereFilm().State, Fixed: u.sheet() != nil && u.filmFixed(), Decided: r.Outcome != lab.OutcomeRunning}
	if r.Took != nil {
		out.ID = r.Took.Runs[0].ID
		for _, x := range r.Took.Runs {
			if x.ID != r.ID {
				out.Runs = append(out.Runs, x.FilmRun)
			}
		}
		out.PushErrorStops = r.Took.PushErr
	}
	out.Runs = append(out.Runs, r.ofFilm(u))
	if c := u.s.currentStep(); c != nil {
		out.Step = c.ID
	}
	switch {
	case r.Away != nil:
		out.State, out.Said, out.Decided = r.Away.What, r.Away.view(), true
	case r.Outcome != lab.OutcomeRunning || r.AtDryer:
		out.State = lab.FilmDone
		if !r.Wet {
			out.State = lab.FilmDry
		}
	}
	return out
}

func (s *filmSaid) view() *lab.FilmSaid {
	if s == nil {
		return nil
	}
	return &lab.FilmSaid{What: s.What, At: lab.At(s.T), By: s.By}
}

// view is film that was left behind, as the records of its runs show it.
func (fl *film) view() *lab.Film {
	out := &lab.Film{ID: fl.Runs[0].ID, State: fl.State, Fixed: fl.Fixed, Step: fl.Step, Decided: fl.away(), Verdict: fl.Verdict,
		PushErrorStops: fl.PushErr, Said: fl.Said.view()}
	for _, r := range fl.Runs {
		out.Runs = append(out.Runs, r.FilmRun)
	}
	if fl.away() {
		out.State = fl.Said.What
	}
	return out
}

// reportFilm gives out the records of the film's earlier runs again: they show
// the same film and, once it is done, the same verdict as the last.
func (u *Unit) reportFilm(now lab.Run) {
	r := u.s.Run
	if r.Took == nil || now.Film == nil {
		return
	}
	for _, x := range r.Took.Runs {
		if x.ID == r.ID {
			continue
		}
		if rec, ok := x.record(now.Film); ok {
			if now.Film.Verdict != nil {
				rec.Verdict, rec.Reasons = now.Verdict, now.Reasons
			}
			u.found.PutRun(rec)
		}
	}
}

// reportLeft gives out the records of the runs of film that was left, with
// what a person said of it.
func (u *Unit) reportLeft(fl *film) {
	for _, x := range fl.Runs {
		if rec, ok := x.record(fl.view()); ok && (u.s.Run == nil || u.s.Run.ID != x.ID) {
			u.found.PutRun(rec)
		}
	}
}

// record is what was found of the run, with its film as it is now.
func (x *filmRun) record(fl *lab.Film) (rec lab.Run, ok bool) {
	if x.Record == nil || json.Unmarshal(x.Record, &rec) != nil {
		return rec, false
	}
	rec.Film = fl
	return rec, true
}

// filmsLeft is what the board shows of film that no run goes on with, newest
// first.
func (u *Unit) filmsLeft() []lab.FilmLeft {
	var out []lab.FilmLeft
	for i := len(u.s.Films) - 1; i >= 0; i-- {
		fl := u.s.Films[i]
		if fl.away() || fl.Waited {
			continue
		}
		v := lab.FilmLeft{RunID: fl.last().ID, Run: fl.last().Run, Process: fl.Process, State: fl.State, Fixed: fl.Fixed,
			Step: fl.Step, LeftAt: lab.AtPtr(u.s.Clock.report(fl.LeftT)), Developer: fl.Dev}
		if fl.Dev && !fl.ActT.IsZero() {
			v.ActAt = lab.AtPtr(u.s.Clock.report(fl.ActT))
		}
		out = append(out, v)
	}
	return out
}

// filmJobs is where film that no run goes on with wants a person.
func (u *Unit) filmJobs() (jobs []lab.Job) {
	for _, fl := range u.s.Films {
		if fl.settled() || fl.Waited || len(fl.Open) == 0 {
			continue
		}
		j := lab.Job{Unit: u.id.String(), What: "see to film in " + StepWords(fl.Step), DueAt: lab.At(u.s.Clock.report(fl.EndT)), Run: fl.last().ID}
		if fl.Dev {
			j.What, j.DueAt = "drain "+StepWords(fl.Step)+" by hand", lab.At(u.s.Clock.report(fl.ActT))
		}
		jobs = append(jobs, j)
	}
	return jobs
}
