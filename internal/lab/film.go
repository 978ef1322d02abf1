package lab

import "slices"

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
	ID             string    `json:"id"`    // of its first run
	Runs           []FilmRun `json:"runs"`  // oldest first
	State          string    `json:"state"` // Film...
	Fixed          bool      `json:"fixed"`
	Step           string    `json:"step,omitempty"`   // the last it was in
	Decided        bool      `json:"decided"`          // it is done, or a person said what was done with it
	Verdict        *string   `json:"verdict"`          // of the whole way; null while a run goes on with it
	PushErrorStops *float64  `json:"push_error_stops"` // of its developer, against Push
	Push           float64   `json:"push"`
	Said           *FilmSaid `json:"said,omitempty"`
}

// FilmRun is one of the runs of a film.
type FilmRun struct {
	ID        string `json:"id"`
	Run       string `json:"run"`
	StartedAt Time   `json:"started_at"`
	EndedAt   *Time  `json:"ended_at"`
	Outcome   string `json:"outcome"`
	// Proposed: nobody said that it goes on with the film; it began soon after
	// with a later step. A person can undo that.
	Proposed bool `json:"proposed,omitempty"`
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
	What string `json:"what"`
	At   Time   `json:"at"`
	By   string `json:"by,omitempty"`
}

// Continues says of which run of the same unit a run takes on the film; ""
// of none.
type Continues struct {
	Run string `json:"run"`
}

// FilmLeft is film that no run goes on with, as the board shows it.
type FilmLeft struct {
	RunID     string `json:"run"` // the last it was in
	Run       string `json:"run_name"`
	Process   string `json:"process"`
	State     string `json:"state"`
	Fixed     bool   `json:"fixed"`
	Step      string `json:"step,omitempty"`
	LeftAt    *Time  `json:"left_at"`          // since when no run goes on with it
	ActAt     *Time  `json:"act_at,omitempty"` // in a developer: by when to drain it by hand
	Developer bool   `json:"developer,omitempty"`
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
