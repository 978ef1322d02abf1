package rules

import (
	"encoding/json"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// film is film that its run has left behind: in a bath or wet, and no run goes
// on with it. It stays so, whatever the unit does, until a run takes it on or
// a person says what was done with it.
type film struct {
	Runs    []filmRun  `json:"runs"` // oldest first; the last left it
	Process string     `json:"process"`
	Push    float64    `json:"push"`
	Steps   []filmStep `json:"steps"`
	Missed  []string   `json:"missed,omitempty"`
	Reasons    []filmReason  `json:"whys,omitempty"` // what its steps so far are to be blamed for
	Cuts    []filmCut  `json:"cuts,omitempty"`
	FixedT  time.Time  `json:"fixed_t,omitzero"`
	Fixed   bool       `json:"fixed,omitempty"`
	Load    *loaded    `json:"load,omitempty"`
	PushErr *float64   `json:"push_err,omitempty"`
	Verdict *string    `json:"verdict,omitempty"`

	State   string    `json:"state"`
	Step    string    `json:"step,omitempty"`
	N       int       `json:"n,omitempty"`
	Dev     bool      `json:"dev,omitempty"`      // a developer was on it
	Waited  bool      `json:"waited,omitempty"`   // fixed, it waited for a person to take it to the dryer
	Aborted bool      `json:"aborted,omitempty"`  // run-aborted tells of it
	EndT    time.Time `json:"end_t"`              // when its run was heard last
	LeftT   time.Time `json:"left_t,omitzero"`    // the first message that shows that no run goes on with it
	ActT    time.Time `json:"act_t,omitzero"`     // by when to drain a developer by hand
	TooLate bool      `json:"too_late,omitempty"` // said that this time has passed
	Said    *filmSaid `json:"said,omitempty"`
	Open    []string  `json:"open,omitempty"` // keys of the conditions that tell of it
}

// filmSaid is what a person says was done with the film.
type filmSaid struct {
	What string    `json:"what"`
	T    time.Time `json:"t"`
	By   string    `json:"by,omitempty"`
}

// filmRun is one run of a film. Record is what was found of it, for its later
// runs to give out with what became of the film.
type filmRun struct {
	lab.FilmRun
	Record json.RawMessage `json:"record,omitempty"`
}

// filmStep is a step that the film has begun; Had, that it was in its bath.
type filmStep struct {
	Index int    `json:"index"`
	ID    string `json:"id"`
	Had   bool   `json:"had,omitempty"`
}

// filmReason is a reason that an earlier run of the film gives.
type filmReason struct {
	lab.Reason
	Level int     `json:"level"`
	Share float64 `json:"share"`
	Also  string  `json:"also,omitempty"`
}

// filmCut is a step that ended with its run, too early; a later run may give
// it again.
type filmCut struct {
	Index int     `json:"index"`
	ID    string  `json:"id"`
	TimeS float64 `json:"time_s"`
	WantS float64 `json:"want_s"`
}

// What is kept of film that was left: no unit in order leaves more.
const (
	filmsKept      = 3
	filmRunsKept   = 6
	filmRecordMost = 48 << 10 // bytes of an earlier run's record
)

// A film that is wet and undecided is taken on by a run that begins within
// this at a later step, seconds, unless a person says otherwise.
const takesOnS = 3600

// strandedS is how long a unit must say that it is idle, seconds.
const strandedS = 10

// settled tells whether nobody needs to do anything about the film any more:
// one that was drained by hand is still wet in its tank.
func (fl *film) settled() bool { return fl.Said != nil }

// away tells whether the film is out of the unit, by what a person said.
func (fl *film) away() bool { return fl.Said != nil && fl.Said.What != lab.FilmDrained }

func (fl *film) last() *filmRun { return &fl.Runs[len(fl.Runs)-1] }

func (fl *film) holds(runID string) bool {
	return slices.ContainsFunc(fl.Runs, func(r filmRun) bool { return r.ID == runID })
}

// had tells whether the film has been in the bath of the sheet's step i.
func (fl *film) had(i int) bool {
	return fl != nil && slices.ContainsFunc(fl.Steps, func(x filmStep) bool { return x.Index == i && x.Had })
}

func (fl *film) begun(i int) bool {
	return fl != nil && slices.ContainsFunc(fl.Steps, func(x filmStep) bool { return x.Index == i })
}

// reached is the highest sheet step that the film had begun, -1 for none.
func (fl *film) reached(inBath bool) int {
	top := -1
	if fl != nil {
		for _, x := range fl.Steps {
			if x.Had || !inBath {
				top = max(top, x.Index)
			}
		}
	}
	return top
}

// whereFilm says where the film of the run is: before a run is closed, for it
// closes its step.
func (f *Unit) whereFilm() film {
	s, r, c := f.s, f.s.Run, f.s.cur()
	w := film{State: lab.FilmDry}
	if r.Wet {
		w.State = lab.FilmWet
	}
	if c == nil {
		return w
	}
	w.Step, w.N = c.ID, c.N
	open := c.EndT.IsZero() || c.DrainT.IsZero() && c.EndT.Equal(s.Clock.T) // an abort closes it in the same message
	if c.Fills == 0 || !open || c.ByHand {
		return w
	}
	if !c.DrainT.IsZero() && s.Phase != lab.PhaseDraining && s.Phase != lab.PhaseIdle && s.Phase != lab.PhaseWaiting {
		return w
	}
	w.State = lab.FilmInBath
	if f.isDev(c) {
		w.Dev, w.ActT = true, f.handDrainT(c, s.Clock.T)
	}
	return w
}

// handDrainT is when to begin to drain a developer by hand that nobody counts
// any more: nothing is taken to heat it.
func (f *Unit) handDrainT(c *runStep, t time.Time) time.Time {
	if c.BathT.IsZero() || !c.DrainT.IsZero() {
		return t // only part of the film is covered
	}
	sp, open := f.spec(c), *c
	open.EndT = time.Time{}
	if m, ok := sp.Outlook(f.filmInBath(&open, sp, t, true)); ok && finite(t, m.ActS) != nil {
		return t.Add(lab.Seconds(max(m.ActS, 0)))
	}
	if sheetS, ok := f.sheetS(c); ok {
		return lab.Later(t, c.BathT.Add(lab.Seconds(sheetS-f.fig().HandS)))
	}
	return t
}

// leaveFilm keeps what a run leaves behind that has ended without bringing its
// film to the dryer. w is where the film was before the run was closed.
func (f *Unit) leaveFilm(w film, outcome string) *film {
	s, r := f.s, f.s.Run
	if !r.film() || f.sheet() == nil || !r.Wet || outcome == lab.OutcomeDone || r.AtDryer || r.Away != nil {
		return nil
	}
	fl := &w
	fl.Process, fl.Push, fl.EndT = r.Process, r.Push, s.Clock.T
	fl.Fixed, fl.FixedT = f.fixed(), r.FixedT
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
	if c := s.cur(); c != nil && w.State == lab.FilmInBath && outcome == lab.OutcomeLost && c.DrainT.IsZero() {
		c.Stranded = true
	}
	f.cutShort(fl)
	fl.Runs = lab.LastOf(append(fl.Runs, filmRun{FilmRun: r.ofFilm(f)}), filmRunsKept)
	if fl.Waited && s.Phase == lab.PhaseIdle {
		return nil // it was fetched
	}
	s.Films = append(s.Films, fl)
	for len(s.Films) > filmsKept {
		f.clearFilmAlerts(s.Films[0], s.Clock.T)
		s.Films = slices.Clone(s.Films[1:])
	}
	return fl
}

// ofFilm is the run as one of its film's.
func (r *run) ofFilm(f *Unit) lab.FilmRun {
	return lab.FilmRun{ID: r.ID, Run: r.Name, StartedAt: lab.At(r.StartedAt), EndedAt: lab.AtPtr(r.EndedAt), Outcome: r.Outcome, Proposed: r.Proposed}
}

// cutShort notes the step that ended with the run, where that was too early.
func (f *Unit) cutShort(fl *film) {
	c := f.s.cur()
	sp := f.spec(c)
	if sp == nil || c.BathT.IsZero() || c.Stranded || !c.BathHeard || sp.Wash || sp.Kind == process.Dev {
		return // a developer is judged by its push error
	}
	sheetS, ok := f.sheetS(c)
	want := sheetS
	if sp.Kind == process.Min {
		want = sp.LeastS
	}
	if timeS := c.EndT.Sub(c.BathT).Seconds(); ok && timeS < sp.ShortestS(sheetS) && !c.Short {
		fl.Cuts = lab.LastOf(append(fl.Cuts, filmCut{c.Index, c.ID, timeS, want}), stepsKept)
	}
}

// cutsLeft are the steps cut short that no run of the film has given again.
func (r *run) cutsLeft() []filmCut {
	if r.Took == nil {
		return nil
	}
	return slices.DeleteFunc(slices.Clone(r.Took.Cuts), func(x filmCut) bool {
		return slices.ContainsFunc(r.Steps, func(c *runStep) bool { return c.Index == x.Index && !c.BathT.IsZero() })
	})
}

// clearFilmAlerts ends what tells of film that needs nobody any more.
func (f *Unit) clearFilmAlerts(fl *film, t time.Time) {
	for _, key := range fl.Open {
		f.clearKey(key, t)
	}
	fl.Open = nil
}

// filmLeftBy is the film that the run left, nil where it left none.
func (f *Unit) filmLeftBy(r *run) *film {
	for _, fl := range f.s.Films {
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
