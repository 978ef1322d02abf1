package judge

import (
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/simulation/sim"
	"wetside/rules"
)

// said is an order that stood in a text at some moment.
type said struct {
	at         time.Time
	rule, run  string
	step, text string
}

// orders looks at every text that would go out at each second, and keeps
// those that give an order to film in a bath.
type orders struct {
	t     *testing.T
	given []said
	read  int
}

var timeOfDay = regexp.MustCompile(`\b\d\d:\d\d:\d\d\b`)

// pastWords are what stands before a time of day that is told, not ordered.
var pastWords = regexp.MustCompile(`(The time to drain, |That time \(|Cleared at |since |had at |from |If it is out by )$`)

// grace is how long after its time an order may still be followed, and a
// second for the look.
const grace = 16 * time.Second

func (o *orders) look(f *replay) {
	now := f.clock
	for _, x := range f.occurrences {
		if x.Quiet {
			continue
		}
		a := lab.Alert{ID: x.ID, Rule: x.Rule, Unit: x.Unit.String(), Run: x.RunID, Step: x.Step, Priority: x.Priority, RaisedAt: lab.At(x.RaisedAt),
			Message: x.Message, Response: x.Response, Facts: x.Facts, Withdrawn: x.Withdrawn}
		if !x.ClearedAt.IsZero() {
			a.ClearedAt = lab.AtPtr(x.ClearedAt)
		}
		u, _ := f.engine.View(x.Unit, now)
		present := lab.Present{At: now, Film: lab.FilmOf(u), Clock: func(t time.Time) string { return t.UTC().Format(time.TimeOnly) }}
		o.read++
		for _, text := range []string{a.Heading(present) + ". " + a.ToDo(present), a.ToDoLasting(present)} {
			o.noPastTime(&a, now, text)
		}
		// while it drains, a part of the film is in the bath still: the truth says when that began
		drains := u.Run != nil && u.Run.Phase == lab.PhaseDraining
		if _, ok := a.OrderedBy(); ok && a.ToDo(present) == a.Response && !drains {
			o.given = append(o.given, said{at: now, rule: a.Rule, run: a.Run, step: a.Step, text: a.Response})
		}
		// and whoever opens it an hour later is told to do nothing in a bath
		late := present
		late.At = now.Add(time.Hour)
		if _, ok := a.OrderedBy(); ok && a.ToDo(late) == a.Response {
			o.t.Errorf("%s: an hour later it still orders %q", a.Rule, a.Response)
		}
	}
}

// noPastTime tells of a time of day in a text that has passed and is not told
// as passed.
func (o *orders) noPastTime(a *lab.Alert, now time.Time, text string) {
	for _, at := range timeOfDay.FindAllStringIndex(text, -1) {
		word := text[at[0]:at[1]]
		t, err := time.Parse(time.TimeOnly, word)
		if err != nil {
			o.t.Fatal(err)
		}
		t = time.Date(now.Year(), now.Month(), now.Day(), t.Hour(), t.Minute(), t.Second(), 0, time.UTC)
		if now.Sub(t) <= grace || now.Sub(t) > 12*time.Hour || pastWords.MatchString(text[:at[0]]) {
			continue
		}
		o.t.Errorf("%s at %s says %q: %s has passed", a.Rule, now.Format(time.TimeOnly), text, word)
	}
}

// untold is how long a bath may have ended that nobody was told of: a message
// that is missing is waited for.
const untold = time.Minute

// inTheBath holds each order against the truth: the film of that run was in
// the bath that it is about, or had left it a moment before.
func (o *orders) inTheBath(truths []sim.RunTruth) {
	for _, g := range o.given {
		for i := range truths {
			t := &truths[i]
			u, err := lab.ParseUnitID(t.Unit)
			if err != nil || rules.RunID(u, t.Run) != g.run {
				continue
			}
			for _, s := range t.Steps {
				if s.Step == g.step && !s.Drained.IsZero() && g.at.Sub(s.Drained) > untold && !again(t, &s) {
					o.t.Errorf("%s at %s orders %q; the film had left %s at %s", g.rule, g.at.Format(time.TimeOnly), g.text, g.step, s.Drained.Format(time.TimeOnly))
				}
			}
		}
	}
}

// again tells whether a step of that name comes once more in the run.
func again(t *sim.RunTruth, s *sim.StepTruth) bool {
	for _, x := range t.Steps {
		if x.Step == s.Step && x.InBath.After(s.InBath) {
			return true
		}
	}
	return false
}

// Whatever happens, no text that goes out gives an order whose time has
// passed, or for a bath that the film is no longer in: looked at each second
// of simulated runs with everything that can go wrong in them.
func TestNoOrderIsGivenTooLate(t *testing.T) {
	o := &orders{t: t}
	count := labtest.Fewer(3, 1) // of the seeds of development; a trial on many has a target of its own
	if n, err := strconv.Atoi(os.Getenv("WETSIDE_ORDERS")); err == nil {
		count = n
	}
	for i := range uint64(count) {
		p, err := playWith(t.Context(), drawScenario(ForDevelopment.First+i), o.look)
		if err != nil {
			t.Fatal(err)
		}
		o.inTheBath(p.truths)
		o.given = o.given[:0]
	}
	for _, r := range toldRows() {
		if count < 50 && !strings.Contains(r.name, "mains lost while a developer drains") && !strings.Contains(r.name, "film in a developer, the unit idle") {
			continue
		}
		x := r.make(ForDevelopment.First + 500_000)
		x.eachSecond = o.look
		s, err := x.play(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		o.inTheBath(s.truths)
		o.given = o.given[:0]
	}
	if o.read < 1000 {
		t.Errorf("only %d texts were read", o.read)
	}
}
