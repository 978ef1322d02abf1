package escalate

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
)

var nine = time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)

// ladder has steps a minute and three apart.
func ladder() []lab.DutyStep {
	return []lab.DutyStep{{Who: lab.WhoFirst}, {Who: lab.WhoSecond, AfterS: 60}, {Who: lab.WhoEverybody, AfterS: 180}}
}

func duty() Duty {
	return Duty{
		Plan: lab.DutyPlan{Urgent: ladder(), High: ladder(), RepeatUrgentS: 120, RepeatHighS: 900, RetriesS: []int{0, 5, 15, 30, 60},
			Flood: lab.DutyFlood{Pages: 2, InS: 60, GatherS: 5}},
		On: []string{"Wren", "Robin"}, Reachable: []string{"Heron", "Robin", "Wren"}, Dark: map[string]time.Time{},
	}
}

func alert(id, unit string, p lab.Priority) lab.Alert {
	return lab.Alert{ID: id, Unit: unit, Run: "r1", Priority: p, State: lab.Unacknowledged, Occurrence: 1, RaisedAt: lab.At(nine)}
}

func page(a lab.Alert, at time.Time) lab.NewPage {
	return lab.NewPage{Page: lab.Page{AlertID: a.ID, Occurrence: a.Occurrence, Priority: a.Priority, CreatedAt: at}, Alert: a}
}

// play lets time pass second by second and gives whom each step called:
// "+60 Robin".
func play(d Duty, news []lab.NewPage, length time.Duration, each func(now time.Duration, c *lab.PageCase, d *Duty)) (log []string, cases []lab.PageCase) {
	for after := time.Duration(0); after <= length; after += time.Second {
		now := nine.Add(after)
		if each != nil {
			for i := range cases {
				each(after, &cases[i], &d)
			}
		}
		var fresh []lab.NewPage
		fresh, news = news, nil
		for _, ch := range Take(fresh, slices.DeleteFunc(slices.Clone(cases), func(c lab.PageCase) bool { return !c.EndedAt.IsZero() }), d, now) {
			if ch.Case.ID == 0 {
				ch.Case.ID = int64(len(cases) + 1)
				cases = append(cases, ch.Case)
			} else {
				cases[ch.Case.ID-1] = ch.Case
			}
			for _, p := range ch.Pages {
				line := fmt.Sprintf("+%d %s", int(after.Seconds()), p.Person)
				if p.NotBefore.After(now) {
					line += fmt.Sprintf(" held to +%d", int(p.NotBefore.Sub(nine).Seconds()))
				}
				log = append(log, line)
			}
		}
	}
	return log, cases
}

func check(t *testing.T, what string, got []string, want ...string) {
	t.Helper()
	if !slices.Equal(got, want) {
		t.Errorf("%s:\n got %s\nwant %s", what, strings.Join(got, "; "), strings.Join(want, "; "))
	}
}

// First, second, everybody; the last step repeats. The first escalation comes
// at a quarter of the time to respond at most: 60 s of 4 min for what is
// urgent, sooner where the rule says less.
func TestSteps(t *testing.T) {
	a := alert("a", "tern-street/plover", lab.Urgent)
	log, _ := play(duty(), []lab.NewPage{page(a, nine)}, 6*time.Minute+time.Second, nil)
	check(t, "urgent", log, "+0 Wren", "+60 Robin", "+240 Wren", "+240 Robin", "+240 Heron", "+360 Wren", "+360 Robin", "+360 Heron")

	slow := duty()
	slow.Plan.Urgent[1].AfterS = 600
	log, _ = play(slow, []lab.NewPage{page(a, nine)}, 2*time.Minute, nil)
	check(t, "a plan slower than a quarter of the time to respond", log, "+0 Wren", "+60 Robin")

	a.Facts = map[string]any{"respond_s": 120.0}
	log, _ = play(duty(), []lab.NewPage{page(a, nine)}, time.Minute, nil)
	check(t, "a rule with two minutes to respond", log, "+0 Wren", "+30 Robin")

	a.Facts = map[string]any{"act_at": lab.At(nine.Add(80 * time.Second)).String()}
	log, _ = play(duty(), []lab.NewPage{page(a, nine)}, time.Minute, nil)
	check(t, "to act in 80 s", log, "+0 Wren", "+20 Robin")
}

// Whatever ends the need ends the calls; what only rests goes on when it is
// back, and nobody is called meanwhile.
func TestWhatEndsIt(t *testing.T) {
	set := func(f func(*lab.Alert)) func(time.Duration, *lab.PageCase, *Duty) {
		return func(after time.Duration, c *lab.PageCase, _ *Duty) {
			if after >= 30*time.Second {
				f(&c.Members[0].Alert)
			}
		}
	}
	for what, f := range map[string]func(*lab.Alert){
		"acknowledged": func(a *lab.Alert) {
			a.AcknowledgedAt, a.AcknowledgedBy = lab.AtPtr(nine.Add(30*time.Second)), "Robin"
			a.State = lab.Acknowledged
		},
		"closed":     func(a *lab.Alert) { a.State = lab.Closed },
		"withdrawn":  func(a *lab.Alert) { a.State, a.Withdrawn = lab.Closed, true },
		"came again": func(a *lab.Alert) { a.Occurrence = 2 },
	} {
		log, cases := play(duty(), []lab.NewPage{page(alert("a", "tern-street/plover", lab.Urgent), nine)}, 10*time.Minute, set(f))
		check(t, what, log, "+0 Wren")
		if cases[0].EndedAt.IsZero() || cases[0].Why == "" {
			t.Errorf("%s: the case is open (%q)", what, cases[0].Why)
		}
	}
	for what, f := range map[string]func(*lab.Alert){
		"shelved": func(a *lab.Alert) { a.ShelvedUntil = lab.AtPtr(nine.Add(time.Hour)) },
		"held":    func(a *lab.Alert) { a.Held = lab.HeldChattering },
		"cleared": func(a *lab.Alert) { a.State = lab.ClearedUnacknowledged },
	} {
		log, cases := play(duty(), []lab.NewPage{page(alert("a", "tern-street/plover", lab.Urgent), nine)}, 10*time.Minute, set(f))
		check(t, what, log, "+0 Wren")
		if !cases[0].EndedAt.IsZero() {
			t.Errorf("%s: the case is over", what)
		}
	}
	log, _ := play(duty(), []lab.NewPage{page(alert("a", "tern-street/plover", lab.Urgent), nine)}, 6*time.Minute, func(after time.Duration, c *lab.PageCase, _ *Duty) {
		c.Members[0].Alert.ShelvedUntil = nil
		if after > 30*time.Second && after < 200*time.Second {
			c.Members[0].Alert.ShelvedUntil = lab.AtPtr(nine.Add(200 * time.Second))
		}
	})
	if len(log) < 2 || log[0] != "+0 Wren" || !strings.HasSuffix(log[1], " Robin") {
		t.Errorf("shelved for a while: %v; want to go on with Robin", log)
	}
}

// What came and went before anybody was told is told once.
func TestOverBeforeItWasTold(t *testing.T) {
	a := alert("a", "tern-street/plover", lab.Urgent)
	a.State = lab.ClearedUnacknowledged
	log, _ := play(duty(), []lab.NewPage{page(a, nine)}, 10*time.Minute, nil)
	check(t, "fresh", log, "+0 Wren")
	log, _ = play(duty(), []lab.NewPage{page(a, nine.Add(-10*time.Minute))}, 10*time.Minute, nil)
	check(t, "stale", log)
}

// Quiet hours hold back what is high, never what is urgent, nor the monitor's
// own failure.
func TestQuietHours(t *testing.T) {
	quiet := duty()
	quiet.Quiet = nine.Add(5 * time.Minute)
	end := func(after time.Duration, _ *lab.PageCase, d *Duty) {
		if after >= 5*time.Minute {
			d.Quiet = time.Time{}
		}
	}
	log, _ := play(quiet, []lab.NewPage{page(alert("a", "tern-street/plover", lab.High), nine)}, 5*time.Minute, end)
	check(t, "high", log, "+300 Wren")
	log, _ = play(quiet, []lab.NewPage{page(alert("a", "tern-street/plover", lab.Urgent), nine)}, time.Minute, nil)
	check(t, "urgent", log, "+0 Wren", "+60 Robin")
	own := alert("a", "", lab.High)
	own.Rule, own.Run = "page-failing", ""
	log, _ = play(quiet, []lab.NewPage{page(own, nine)}, time.Second, nil)
	check(t, "the monitor's own", log, "+0 Wren")
}

// A phone in the dark stays dark: what is urgent goes on at once, what is
// high waits for the light.
func TestDark(t *testing.T) {
	d := duty()
	d.Dark["Wren"] = nine.Add(100 * time.Second)
	log, _ := play(d, []lab.NewPage{page(alert("a", "tern-street/plover", lab.Urgent), nine)}, time.Second, nil)
	check(t, "urgent", log, "+0 Wren held to +100", "+0 Robin")
	log, _ = play(d, []lab.NewPage{page(alert("a", "tern-street/plover", lab.High), nine)}, time.Second, nil)
	check(t, "high", log, "+0 Wren held to +100")
	d.Dark["Robin"], d.Dark["Heron"] = nine.Add(50*time.Second), nine.Add(time.Hour)
	log, _ = play(d, []lab.NewPage{page(alert("a", "tern-street/plover", lab.Urgent), nine)}, 10*time.Second, nil)
	for _, line := range log {
		if !strings.Contains(line, "held") {
			t.Errorf("everybody is in the dark and %s was called", line)
		}
	}
}

// Where the plan reaches nobody, everybody who can be reached is called.
func TestNobodyOnDuty(t *testing.T) {
	d := duty()
	d.On = nil
	log, _ := play(d, []lab.NewPage{page(alert("a", "tern-street/plover", lab.High), nine)}, time.Second, nil)
	check(t, "nobody on duty", log, "+0 Heron", "+0 Robin", "+0 Wren")
	d.Plan.High = []lab.DutyStep{{Who: lab.WhoNamed, Person: "Siskin"}}
	log, _ = play(d, []lab.NewPage{page(alert("a", "tern-street/plover", lab.High), nine)}, time.Second, nil)
	check(t, "only one who cannot be reached", log, "+0 Heron", "+0 Robin", "+0 Wren")
	d.Reachable = nil
	if log, _ = play(d, []lab.NewPage{page(alert("a", "tern-street/plover", lab.High), nine)}, 2*time.Minute, nil); len(log) > 0 {
		t.Errorf("nobody can be reached and %v was called", log)
	}
}

// Alerts of one unit's run, or of one cause, are one call: what joins pages
// again only when it is more pressing.
func TestOneCauseOneCall(t *testing.T) {
	high, urgent := alert("a", "tern-street/plover", lab.High), alert("b", "tern-street/plover", lab.Urgent)
	other := alert("c", "tern-street/heron", lab.High)
	log, cases := play(duty(), []lab.NewPage{page(high, nine), page(alert("a2", "tern-street/plover", lab.High), nine), page(other, nine)}, time.Second, nil)
	check(t, "two of plover, one of heron", log, "+0 Wren", "+0 Wren")
	if len(cases) != 2 || len(cases[0].Members) != 2 {
		t.Errorf("%d cases", len(cases))
	}
	changes := Take([]lab.NewPage{page(urgent, nine.Add(30*time.Second))}, cases, duty(), nine.Add(30*time.Second))
	if len(changes) != 1 || len(changes[0].Pages) != 1 || changes[0].Pages[0].Person != "Wren" || changes[0].Case.Base != 1 {
		t.Errorf("what is urgent joins: %+v", changes)
	}
	high.Facts, other.Facts = map[string]any{"group": "circuit left"}, map[string]any{"group": "circuit left"}
	log, _ = play(duty(), []lab.NewPage{page(high, nine), page(other, nine)}, time.Second, nil)
	check(t, "two units of one circuit", log, "+0 Wren")
}

// Something urgent that joins an urgent case of one unit goes out at once to
// all who were called so far, and puts back no step; what many units share is
// one call.
func TestNewUrgentGoesOutAtOnce(t *testing.T) {
	d := duty()
	_, cases := play(d, []lab.NewPage{page(alert("a", "tern-street/plover", lab.Urgent), nine)}, 70*time.Second, nil)
	due := cases[0].DueAt
	now := nine.Add(75 * time.Second)
	changes := Take([]lab.NewPage{page(alert("b", "tern-street/plover", lab.Urgent), now), page(alert("c", "tern-street/plover", lab.Urgent), now)}, cases, d, now)
	if len(changes) != 1 || len(changes[0].Pages) != 2 || changes[0].Pages[0].Person != "Wren" || changes[0].Pages[1].Person != "Robin" {
		t.Fatalf("two more that are urgent: %+v; want one page to each who was called", changes)
	}
	c := changes[0].Case
	if !c.DueAt.Equal(due) || changes[0].Pages[0].Step != 2 || c.Step-c.Base != 2 || c.Fresh {
		t.Errorf("the next step is due at %v, %d steps made; want %v, 2; step %d, fresh %t", c.DueAt, c.Step-c.Base, due, changes[0].Pages[0].Step, c.Fresh)
	}
	if changes[0].Pages[0].NotBefore.After(now) {
		t.Error("it waits")
	}
	again := Take([]lab.NewPage{page(alert("d", "tern-street/plover", lab.High), now)}, cases, d, now)
	if len(again) != 1 || len(again[0].Pages) != 0 {
		t.Errorf("what is high joins what is urgent: %+v; want silence", again)
	}

	// first, second and everybody were called: each hears of it once
	_, cases = play(d, []lab.NewPage{page(alert("k", "tern-street/plover", lab.Urgent), nine)}, 250*time.Second, nil)
	later := nine.Add(260 * time.Second)
	changes = Take([]lab.NewPage{page(alert("l", "tern-street/plover", lab.Urgent), later)}, cases, d, later)
	var called []string
	for _, ch := range changes {
		for _, p := range ch.Pages {
			called = append(called, p.Person)
		}
	}
	check(t, "after all were called", called, "Wren", "Robin", "Heron")

	cause := map[string]any{"group": "circuit left"}
	first, second := alert("e", "tern-street/plover", lab.Urgent), alert("f", "tern-street/heron", lab.Urgent)
	first.Facts, second.Facts = cause, cause
	_, cases = play(d, []lab.NewPage{page(first, nine)}, 10*time.Second, nil)
	if changes = Take([]lab.NewPage{page(second, now)}, cases, d, nine.Add(20*time.Second)); len(changes) != 1 || len(changes[0].Pages) != 0 {
		t.Errorf("a second unit of one cause: %+v; want silence", changes)
	}

	// all who were called are in the dark now: the next step comes at once
	d.Dark["Wren"] = nine.Add(time.Hour)
	_, cases = play(duty(), []lab.NewPage{page(alert("g", "tern-street/plover", lab.Urgent), nine)}, 10*time.Second, nil)
	changes = Take([]lab.NewPage{page(alert("h", "tern-street/plover", lab.Urgent), nine.Add(20*time.Second))}, cases, d, nine.Add(20*time.Second))
	if len(changes) != 1 || len(changes[0].Pages) != 2 || !changes[0].Pages[0].NotBefore.Equal(d.Dark["Wren"]) || changes[0].Pages[1].Person != "Robin" {
		t.Errorf("Wren in the dark: %+v; want Robin called at once", changes)
	}
}

// The last resort calls everybody who may look at a phone, nobody in the dark
// and nobody twice; where all are in the dark it looks again when the first
// comes out, and within a minute.
func TestLastResort(t *testing.T) {
	d := duty()
	d.Plan.Urgent = []lab.DutyStep{{Who: lab.WhoNamed, Person: "Wren"}}
	d.Dark["Wren"], d.Dark["Heron"] = nine.Add(20*time.Second), nine.Add(50*time.Second)
	d.Reachable = []string{"Heron", "Robin", "Wren", "Merle"}
	log, _ := play(d, []lab.NewPage{page(alert("a", "tern-street/plover", lab.Urgent), nine)}, time.Second, nil)
	check(t, "two may look", log, "+0 Wren held to +20", "+0 Robin", "+0 Merle")
	d.Reachable = []string{"Heron", "Wren"}
	log, cases := play(d, []lab.NewPage{page(alert("a", "tern-street/plover", lab.Urgent), nine)}, 0, nil)
	check(t, "nobody may look", log, "+0 Wren held to +20")
	if want := nine.Add(20 * time.Second); !cases[0].DueAt.Equal(want) {
		t.Errorf("it looks again at %v; want %v, when the first comes out of the dark", cases[0].DueAt, want)
	}
	d.Dark["Wren"], d.Dark["Heron"] = nine.Add(time.Hour), nine.Add(2*time.Hour)
	_, cases = play(d, []lab.NewPage{page(alert("a", "tern-street/plover", lab.Urgent), nine)}, 0, nil)
	if want := nine.Add(nobodyAgain); !cases[0].DueAt.Equal(want) {
		t.Errorf("it looks again at %v; want %v", cases[0].DueAt, want)
	}
}

// Whom nothing has reached lately is tried, and the next is called at once,
// for what is high too; whom an alert names is called with the first step.
func TestFailingAndTold(t *testing.T) {
	d := duty()
	d.Failing = []string{"Wren"}
	for _, p := range []lab.Priority{lab.Urgent, lab.High} {
		log, _ := play(d, []lab.NewPage{page(alert("a", "tern-street/plover", p), nine)}, time.Second, nil)
		check(t, string(p), log, "+0 Wren", "+0 Robin")
	}
	d.Failing = []string{"Wren", "Robin", "Heron"}
	log, _ := play(d, []lab.NewPage{page(alert("a", "tern-street/plover", lab.High), nine)}, 59*time.Second, nil)
	check(t, "nothing reaches anybody: all are tried", log[:3], "+0 Wren", "+0 Robin", "+0 Wren")

	own := alert("a", "", lab.High)
	own.Rule, own.Run, own.Facts = "page-failing", "", map[string]any{FactTell: []any{"Robin", "Heron", "Wren", "Siskin", 7}}
	log, _ = play(duty(), []lab.NewPage{page(own, nine)}, 59*time.Second, nil)
	check(t, "told besides the first", log, "+0 Wren", "+0 Robin", "+0 Heron")
}

// What the next step would do is what Advance does.
func TestNext(t *testing.T) {
	high := alert("a", "tern-street/plover", lab.High)
	first := Take([]lab.NewPage{page(high, nine)}, nil, duty(), nine)[0].Case
	last := first
	last.Step = 2
	done := first
	done.Members = []lab.PageMember{{AlertID: "a", Occurrence: 1, Priority: lab.High, Since: nine, Answered: nine, AnsweredBy: "Robin"}}
	with := func(edit func(*Duty)) Duty {
		d := duty()
		edit(&d)
		return d
	}
	for _, c := range []struct {
		what  string
		c     lab.PageCase
		d     Duty
		asks  string
		want  []string
		quiet bool
	}{
		{"the second", first, duty(), "Wren", []string{"Robin"}, false},
		{"everybody but who asks", last, duty(), "Wren", []string{"Robin", "Heron"}, false},
		{"alone in the lab", last, with(func(d *Duty) { d.On, d.Reachable = []string{"Wren"}, []string{"Wren"} }), "Wren", nil, false},
		{"the others work in the dark", last, with(func(d *Duty) { d.Dark["Robin"], d.Dark["Heron"] = nine.Add(time.Hour), nine.Add(time.Hour) }), "Wren", nil, false},
		{"the others cannot be reached", last, with(func(d *Duty) { d.Failing = []string{"Robin", "Heron"} }), "Wren", nil, false},
		{"quiet hours", first, with(func(d *Duty) { d.Quiet = nine.Add(time.Hour) }), "Wren", nil, true},
		{"answered meanwhile", done, duty(), "Wren", nil, false},
	} {
		got := Next(c.c, c.d, nine.Add(time.Second), c.asks)
		if !slices.Equal(got.People, c.want) || got.Quiet.IsZero() == c.quiet {
			t.Errorf("%s: %+v; want %v, quiet %v", c.what, got, c.want, c.quiet)
		}
	}
}
