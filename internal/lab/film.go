package lab

import (
	"cmp"
	"slices"
	"unicode"
	"unicode/utf8"
)

// Where the film of a run is. Film is the object, a run only its vehicle: what
// an aborted run leaves wet another run may take on.
const (
	FilmDry       = "dry"       // loaded, no bath on it yet
	FilmInBath    = "in-bath"   // a bath is on it
	FilmWet       = "wet"       // out of a bath, not yet at the dryer
	FilmDone      = "done"      // dried, or on its way there fixed
	FilmMoved     = "moved"     // a person took it elsewhere, by what they said
	FilmDried     = "dried"     // a person dried it
	FilmDiscarded = "discarded" // a person gave it up
)

// Film is the film of a run with its whole way: one film may go through
// several runs.
type Film struct {
	ID             string    `json:"id" doc:"The id of its first run."`
	Runs           []FilmRun `json:"runs" doc:"The runs it went through, oldest first."`
	State          string    `json:"state" enum:"dry,in-bath,wet,done,moved,dried,discarded" doc:"Where it is. dry: no bath on it yet. in-bath. wet: out of a bath, not yet at the dryer. done: dried or drying. The rest by what a person said."`
	Fixed          bool      `json:"fixed" doc:"Whether it has been fixed."`
	Step           string    `json:"step,omitempty" doc:"The last step it was in."`
	Decided        bool      `json:"decided" doc:"It is done, or a person said what was done with it."`
	Verdict        *string   `json:"verdict" enum:"in-control,inspect,out-of-control" doc:"How the whole way is judged; null while a run goes on with it."`
	PushErrorStops *float64  `json:"push_error_stops" doc:"What the errors of its developer amount to, stops against push."`
	Push           float64   `json:"push" doc:"The push that its developer was run for, stops."`
	Said           *FilmSaid `json:"said,omitempty" doc:"What a person said was done with it; absent while nobody has."`
}

// FilmRun is one of the runs of a film.
type FilmRun struct {
	ID        string `json:"id"`
	Run       string `json:"run" doc:"The run's name by the unit."`
	StartedAt Time   `json:"started_at"`
	EndedAt   *Time  `json:"ended_at"`
	Outcome   string `json:"outcome" enum:"running,done,aborted,lost" doc:"How it ended."`
	Proposed  bool   `json:"proposed,omitempty" doc:"Nobody said that it goes on with the film: it began soon after, with a later step. A person can undo that."`
}

// What people do with film that no run goes on with.
const (
	FilmDrained = "drained" // the bath, by hand; the film stays in the tank
)

// FilmDoings are what people say was done with film.
var FilmDoings = []string{FilmDrained, FilmMoved, FilmDried, FilmDiscarded}

// FilmDoing says what a person did with the film of a unit.
type FilmDoing struct {
	What string `json:"what"` // FilmDoings
	Note string `json:"note,omitempty"`
}

func (d FilmDoing) check() error { return oneOfThese("what", d.What, FilmDoings) }

// FilmSaid is what a person said was done with film.
type FilmSaid struct {
	What string `json:"what" enum:"drained,moved,dried,discarded" doc:"What was done."`
	At   Time   `json:"at" doc:"When it was done."`
	By   string `json:"by,omitempty"`
}

// Continues says of which run of the same unit a run takes on the film; ""
// of none.
type Continues struct {
	Run string `json:"run"`
}

// FilmLeft is film that no run goes on with, as the board shows it.
type FilmLeft struct {
	RunID     string `json:"run" doc:"The id of the last run it was in."`
	Run       string `json:"run_name" doc:"That run's name by the unit."`
	Process   string `json:"process"`
	State     string `json:"state" enum:"in-bath,wet" doc:"Where it is."`
	Fixed     bool   `json:"fixed" doc:"Whether it has been fixed."`
	Step      string `json:"step,omitempty" doc:"The last step it was in."`
	LeftAt    *Time  `json:"left_at" doc:"Since when no run goes on with it, by the unit's clock; null while that is not known."`
	ActAt     *Time  `json:"act_at,omitempty" doc:"In a developer: by when to drain it by hand."`
	Developer bool   `json:"developer,omitempty" doc:"Whether a developer is on it."`
}

// FilmAfter are the runs that went on with the run's film, in their order.
func (r *Run) FilmAfter() []FilmRun {
	if r.Film == nil {
		return nil
	}
	i := slices.IndexFunc(r.Film.Runs, func(x FilmRun) bool { return x.ID == r.ID })
	if i < 0 {
		return nil
	}
	return r.Film.Runs[i+1:]
}

// FilmAt is which bath a unit's film is in at the moment, as far as was heard.
// The zero value: nobody knows.
type FilmAt struct {
	Run    string   // the id of the run that goes on
	Step   string   // its step
	Label  string   // what people call that, as the sheet has it
	Behind []string // the steps of the run that it has left
}

// FilmOf says where the film of a unit is. A unit that is not heard may have
// gone on: of that nothing is known.
func FilmOf(u Unit) FilmAt {
	if u.Run == nil || u.Link != LinkOnline || u.Run.Step == "" {
		return FilmAt{}
	}
	at := FilmAt{Run: u.Run.ID, Step: u.Run.Step, Label: cmp.Or(u.Run.Label, u.Run.Step)}
	ahead := []string{u.Run.Step}
	for _, s := range u.Run.Plan {
		if s.State == "past" {
			at.Behind = append(at.Behind, s.Step)
		} else {
			ahead = append(ahead, s.Step)
		}
	}
	at.Behind = slices.DeleteFunc(at.Behind, func(step string) bool { return slices.Contains(ahead, step) })
	return at
}

// left tells whether the film of a run has left the bath of a step.
func (f FilmAt) left(run, step string) bool {
	return f.Run != "" && f.Run == run && slices.Contains(f.Behind, step)
}

// stands tells whether the film of a run is in the bath of a step.
func (f FilmAt) stands(run, step string) bool {
	return f.Run != "" && f.Run == run && f.Step == step
}

// words say where the film of a run is, for a sentence.
func (f FilmAt) words(run string) string {
	if f.Run == "" || f.Run != run {
		return "check which bath the film is in now"
	}
	return "the film is in the " + f.bath()
}

// bath names the bath that the film is in, within a sentence.
func (f FilmAt) bath() string {
	r, n := utf8.DecodeRuneInString(f.Label)
	return string(unicode.ToLower(r)) + f.Label[n:]
}
