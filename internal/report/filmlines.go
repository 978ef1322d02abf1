package report

import (
	"fmt"
	"strings"

	"wetside/internal/lab"
)

// filmStates say where the film is.
var filmStates = map[string]string{
	lab.FilmDry: "not wet yet", lab.FilmInBath: "in a bath", lab.FilmWet: "wet, in the tank", lab.FilmDone: "dried, or drying",
	lab.FilmMoved: "moved to another tank", lab.FilmDried: "finished by hand and dried", lab.FilmDiscarded: "discarded",
}

// filmLines tell the film's whole way where it is more than this run: it went
// through several, or did not come out of this one by itself.
func filmLines(r lab.Report, o Options) []string {
	f := r.Run.Film
	if f == nil || len(f.Runs) < 2 && (f.State == lab.FilmDone || f.State == lab.FilmDry) {
		return nil
	}
	state := filmStates[f.State]
	if f.State != lab.FilmDry {
		if f.Fixed {
			state += ", fixed"
		} else {
			state += ", not fixed"
		}
	}
	out := []string{strings.ToUpper(state[:1]) + state[1:] + "."}
	if f.Said != nil {
		out[0] += fmt.Sprintf(" So said by %s, %s.", f.Said.By, o.day(f.Said.At))
	}
	if len(f.Runs) < 2 {
		return out
	}
	out[0] += " One film over several runs: they are judged together, and each shows that verdict."
	for _, x := range f.Runs {
		out = append(out, filmRunLine(x, r.Run.ID, o))
	}
	return out
}

func filmRunLine(x lab.FilmRun, this string, o Options) string {
	l := fmt.Sprintf("Run %s, %s", x.Run, o.day(x.StartedAt))
	if x.EndedAt != nil {
		l += " to " + o.clock(*x.EndedAt)
	}
	l += ", " + x.Outcome
	if x.ID == this {
		l += " (this run)"
	}
	if x.Proposed {
		l += "; taken to go on with the film, since it began soon after with a later step"
	}
	return l
}
