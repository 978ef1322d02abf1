package lab

import (
	"cmp"
	"slices"
	"unicode"
	"unicode/utf8"
)

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
