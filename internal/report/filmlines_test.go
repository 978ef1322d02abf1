package report

import (
	"bytes"
	"io"
	"strings"
	"testing"

	"wetside/internal/lab"
)

// A film over two runs is told whole in each report; one that came out of its
// run as it should is no news.
func TestFilmOverTwoRuns(t *testing.T) {
	r := largeReport()
	text := func() string {
		return strings.Join(strings.Fields(string(written(t, func(w io.Writer) error { return Text(w, r, Options{}) }))), " ")
	}
	at := r.Run.StartedAt
	r.Run.Film = &lab.Film{State: lab.FilmDone, Fixed: true, Runs: []lab.FilmRun{{ID: r.Run.ID, Run: r.Run.Run, StartedAt: at, Outcome: "done"}}}
	if got := text(); strings.Contains(got, "The film ---") {
		t.Errorf("a film that is done is told of: %s", got)
	}
	r.Run.Film.State, r.Run.Film.Fixed = lab.FilmWet, false
	r.Run.Film.Runs = append(r.Run.Film.Runs, lab.FilmRun{ID: "run-rescue", Run: "r-78", StartedAt: at, Outcome: "running", Proposed: true})
	got := text()
	for _, want := range []string{"Wet, in the tank, not fixed. One film over several runs", "(this run)", "Run r-78", "taken to go on with the film"} {
		if !strings.Contains(got, want) {
			t.Errorf("the text does not say %q", want)
		}
	}
	pdf := func() []byte { return written(t, func(w io.Writer) error { return PDF(w, r, Options{}) }) }
	with := pdf()
	r.Run.Film = nil
	if without := pdf(); bytes.Equal(with, without) || len(with) <= len(without) {
		t.Error("the document does not tell of the film")
	}
	r.Run.Film = &lab.Film{State: lab.FilmDiscarded, Fixed: true, Said: &lab.FilmSaid{What: lab.FilmDiscarded, At: at, By: "Wren"},
		Runs: []lab.FilmRun{{ID: r.Run.ID, Run: r.Run.Run, StartedAt: at, Outcome: "aborted"}}}
	if got := text(); !strings.Contains(got, "Discarded, fixed. So said by Wren") {
		t.Errorf("the text does not say who gave it up: %s", got)
	}
}
