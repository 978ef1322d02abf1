package lab

import (
	"reflect"
	"strings"
	"testing"
	"time"
)

var sayingNoon = time.Date(2026, 3, 1, 15, 50, 48, 0, time.UTC)

func wall(at time.Time) string { return at.Format("15:04:05") }

// What is to be done is said as long as it can be, and never as an order once
// its moment has passed or it has cleared.
func TestToDoHoldsAtTheMoment(t *testing.T) {
	const order = "Press the button to drain at 15:50:48."
	bleach := FilmAt{Run: "run-1", Step: "bleach", Label: "Bleach", Behind: []string{"developer"}}
	cleared := At(sayingNoon.Add(10 * time.Second))
	for _, c := range []struct {
		name  string
		alert Alert
		after time.Duration
		film  FilmAt
		want  string
		last  string // in a text that cannot change
	}{
		{name: "before", after: -time.Minute, want: order, last: order + " (Good until 15:50:48. After that, check which bath the film is in and hold the rolls.)"},
		{name: "at its moment", after: 0, want: order},
		{name: "within the grace", after: 15 * time.Second, want: order},
		{name: "passed", after: 16 * time.Second, want: "That time (15:50:48) has passed: check which bath the film is in now. Hold the rolls for inspection."},
		{name: "passed, and the film has gone on", after: time.Minute, film: bleach,
			want: "That bath has ended: the film is in the bleach. Hold the rolls for inspection."},
		{name: "to come, but the film has gone on", after: -time.Minute, film: bleach,
			want: "That bath has ended: the film is in the bleach. Hold the rolls for inspection.",
			last: "That bath has ended: the film is in the bleach. Hold the rolls for inspection."},
		{name: "passed, and the film is there still", after: time.Minute, film: FilmAt{Run: "run-1", Step: "developer", Label: "Developer"},
			want: "That time (15:50:48) has passed and the film is still in the developer: follow the advice in the unit's lane now. Hold the rolls for inspection."},
		{name: "passed, with something left to do", after: time.Minute, alert: Alert{Rule: "run-aborted", Facts: map[string]any{FactStillToDo: "Finish the bleach by hand."}},
			want: "That time (15:50:48) has passed: check which bath the film is in now. Finish the bleach by hand."},
		{name: "another run goes on", after: time.Minute, film: FilmAt{Run: "run-2", Step: "bleach", Label: "Bleach", Behind: []string{"developer"}},
			want: "That time (15:50:48) has passed: check which bath the film is in now. Hold the rolls for inspection."},
		{name: "cleared", alert: Alert{ClearedAt: &cleared}, after: 12 * time.Second, want: "Cleared at 15:50:58. Look at the run's report before its rolls are released."},
		{name: "withdrawn", alert: Alert{Withdrawn: true}, want: "Withdrawn: later data shows that it did not happen. There is nothing to do."},
		{name: "a tank may be emptied later too", alert: Alert{Rule: "waste-will-not-fit"}, after: time.Hour, want: order, last: order},
		{name: "a tank that was emptied", alert: Alert{Rule: "waste-will-not-fit", ClearedAt: &cleared}, after: time.Hour, want: "Cleared at 15:50:58. There is nothing to do."},
	} {
		a := c.alert
		if a.Rule == "" {
			a.Rule = "bath-temperature"
		}
		a.Run, a.Step, a.Response, a.Facts = "run-1", "developer", order, map[string]any{"act_at": At(sayingNoon).String(), FactStillToDo: a.Facts[FactStillToDo]}
		now := Present{At: sayingNoon.Add(c.after), Film: c.film, Clock: wall}
		if got := a.ToDo(now); got != c.want {
			t.Errorf("%s: %q; want %q", c.name, got, c.want)
		}
		if got := a.ToDoLasting(now); c.last != "" && got != c.last {
			t.Errorf("%s: %q lasts; want %q", c.name, got, c.last)
		}
		if got := a.ToDoLasting(now); a.Spent(now) && strings.Contains(got, order) {
			t.Errorf("%s: %q orders what is over", c.name, got)
		}
	}
	left := Alert{Rule: "run-aborted", Facts: map[string]any{"act_at": At(sayingNoon).String()}}
	late := Present{At: sayingNoon.Add(time.Minute), Clock: wall}
	if !left.Spent(late) {
		t.Error("with nothing left to do it is not spent")
	}
	if left.Facts[FactStillToDo] = "Finish the bleach by hand."; left.Spent(late) {
		t.Error("it is spent with something left to do")
	}
	power := Alert{Rule: "power-lost", Message: "Mains power lost in developer: turn the tank by hand", ClearedAt: &cleared}
	if got := power.Heading(Present{At: sayingNoon, Clock: wall}); got != "Cleared: Mains power lost in developer" {
		t.Errorf("mains that are back: %q", got)
	}
	power.ClearedAt = nil
	if got := power.Heading(Present{At: sayingNoon, Clock: wall}); got != power.Message {
		t.Errorf("mains that are away: %q", got)
	}
}

// Where film is comes from the run that goes on; a unit that is not heard may
// have gone on.
func TestFilmOf(t *testing.T) {
	u := Unit{Link: LinkOnline, Run: &UnitRun{ID: "run-1", Step: "wash", Label: "Wash", Plan: []PlanStep{
		{Step: "developer", State: "past"}, {Step: "wash", State: "past"}, {Step: "bleach", State: "past"}, {Step: "wash", State: "now"}, {Step: "fixer", State: "ahead"}}}}
	want := FilmAt{Run: "run-1", Step: "wash", Label: "Wash", Behind: []string{"developer", "bleach"}}
	if got := FilmOf(u); !reflect.DeepEqual(got, want) {
		t.Errorf("%+v; want %+v", got, want)
	}
	u.Link = LinkSilent
	if got := FilmOf(u); !reflect.DeepEqual(got, FilmAt{}) {
		t.Errorf("of a silent unit: %+v; want nothing", got)
	}
	u.Link, u.Run = LinkOnline, nil
	if got := FilmOf(u); !reflect.DeepEqual(got, FilmAt{}) {
		t.Errorf("without a run: %+v; want nothing", got)
	}
}
