package rules_test

import (
	"reflect"
	"slices"
	"strings"
	"testing"

	"wetside/internal/lab"
	"wetside/internal/process"
	"wetside/rules"
	"wetside/rules/rulestest"
)

// The contract, section 2.1: film is in a bath or wet and no run goes on with
// it.
func TestFilmStranded(t *testing.T) {
	inDeveloper := func(s *script) {
		s.Phase(0, "idle", "", 0)
		s.Phase(1, "heating", "developer", 1)
		s.WholeStep(20, 100, "developer", 1, always(37.8))
		s.Without(func(e *event) bool { return e.At >= 100 })
	}
	runScenarios(t, []scenario{
		{Name: "idle in the developer, same boot", Write: func(s *script) {
			inDeveloper(s)
			ends(s, 101, 200)
		}, Want: []string{"film-stranded developer urgent 101-"}},
		{Name: "idle in the developer, another boot", Write: func(s *script) {
			inDeveloper(s)
			s.Restarts = []float64{120}
			ends(s, 125, 200)
		}, Want: []string{"film-stranded developer urgent 125-"}},
		{Name: "idle again before ten seconds are over", Write: func(s *script) {
			inDeveloper(s)
			s.Phase(101, "idle", "", 0)
			s.Bath(106, 215, "developer", 1, always(37.8))
			at := 235.0
			for i, st := range rulestest.C41Steps[1:] {
				s.WholeStep(at, at+st.S, st.ID, i+2, always(st.C))
				at += st.S + 20
			}
			s.Phase(at, "done", "", 0)
		}},
		{Name: "a flicker of idle that lasts: over as the run speaks again", Write: func(s *script) {
			inDeveloper(s)
			ends(s, 101, 125)
			s.Bath(130, 215, "developer", 1, always(37.8))
			ends(s, 240, 270)
		}, Want: []string{"film-stranded developer urgent 101-130", "film-stranded developer urgent 240-"}},
		{Name: "while draining", Write: func(s *script) {
			s.Phase(0, "idle", "", 0)
			s.Phase(1, "heating", "developer", 1)
			s.WholeStep(20, 215, "developer", 1, always(37.8))
			ends(s, 218, 260)
		}, Want: []string{"film-stranded developer urgent 218-"}},
		{Name: "in the bleach", Write: func(s *script) {
			at := upTo(s, "bleach")
			s.WholeStep(at, at+100, "bleach", 2, always(38))
			s.Without(func(e *event) bool { return e.At >= at+100 })
			ends(s, at+100, at+200)
		}, Want: []string{"film-stranded bleach urgent 335-"}},
		{Name: "fixed, in the second wash", Write: func(s *script) {
			at := upTo(s, "wash-2")
			s.WholeStep(at, at+100, "wash-2", 5, always(38))
			s.Without(func(e *event) bool { return e.At >= at+100 })
			ends(s, at+100, at+200)
		}, Want: []string{"film-stranded wash-2 high 1370-"}},
		{Name: "fetched to the dryer", Write: func(s *script) {
			at := upTo(s, "")
			w := s.Phase(at, "waiting", "final-rinse", 6)
			w.WaitsFor = lab.WaitToDryer
			ends(s, at+60, at+200)
		}},
		{Name: "drying, then idle", Write: func(s *script) {
			at := upTo(s, "")
			s.Phase(at, "drying", "", 0)
			ends(s, at+60, at+200)
		}},
		{Name: "another film's run begins", Write: func(s *script) {
			inDeveloper(s)
			s.Run = "r2"
			s.Phase(104, "heating", "developer", 1)
			s.Phase(114, "heating", "developer", 1)
		}, Want: []string{"film-stranded developer urgent 104-"}},
		{Name: "before any bath", Write: func(s *script) {
			s.Phase(0, "idle", "", 0)
			s.Stays(1, 60, "heating", "developer", 1)
			ends(s, 61, 120)
		}},
		{Name: "a control strip", Write: func(s *script) {
			s.Kind = lab.KindOfRunStrip
			inDeveloper(s)
			ends(s, 101, 200)
		}},
	})
}

// A person says what was done; that ends it, and undoing what was said does
// not.
func TestFilmStrandedIsSaid(t *testing.T) {
	s := newScript("c41")
	s.Phase(0, "idle", "", 0)
	s.Phase(1, "heating", "developer", 1)
	s.WholeStep(20, 100, "developer", 1, always(37.8))
	s.Without(func(e *event) bool { return e.At >= 100 })
	ends(s, 101, 400)
	run := rules.RunID(s.Unit, "r1")
	drained := enters(s.Unit, 215, lab.EntryFilm, "", lab.FilmDoing{What: lab.FilmDrained})

	b := played(t, s, drained)
	b.Want("film-stranded developer urgent 101-215")
	o := b.Only("film-stranded")
	if at, ok := o.Facts["act_at"]; ok || !strings.Contains(o.Response, "Drain it by hand") && !strings.Contains(o.Response, "drain it by hand") {
		t.Errorf("after the time to drain it says %q, to act at %v", o.Response, at)
	}
	r := b.Runs[run]
	if st := r.Steps[0]; st.TimeS == nil || *st.TimeS != 195 || st.PushErrorStops == nil || *st.PushErrorStops > 0 {
		t.Errorf("drained by hand after 195 s while it cooled: %+v", st)
	}
	if r.Film.State != lab.FilmWet || r.Film.Decided || r.Film.Said.What != lab.FilmDrained {
		t.Errorf("the film is %+v", r.Film)
	}

	s2 := *s
	b = played(t, &s2, drained, enters(s.Unit, 300, lab.EntryFilm, run, lab.FilmDoing{What: lab.FilmDiscarded}))
	if f := b.Runs[run].Film; f.State != lab.FilmDiscarded || !f.Decided {
		t.Errorf("given up, the film is %+v", f)
	}
	b = played(t, s, drained, enters(s.Unit, 250, lab.EntryTakesBack, "", lab.TakesBack{ID: drained.ID}))
	b.Want("film-stranded developer urgent 101-")
	if st := b.Runs[run].Steps[0]; st.TimeS != nil || st.PushErrorStops != nil || st.EquivalentS != nil {
		t.Errorf("when the film came out is not known: %+v", st)
	}
	if f := b.View(s.Unit).Film; len(f) != 1 || f[0].State != lab.FilmInBath || f[0].ActAt == nil {
		t.Errorf("the board shows %+v", f)
	}
}

// The contract, section 2.1: one film, several runs.
func TestRescue(t *testing.T) {
	aborted := func(s *script, in float64) float64 {
		at := upTo(s, "bleach")
		s.WholeStep(at, at+in, "bleach", 2, always(38))
		s.Without(func(e *event) bool { return e.At >= at+in })
		s.Phase(at+in, "aborted", "bleach", 2)
		s.Phase(at+in+10, "idle", "", 0)
		return at + in
	}
	one, two := rules.RunID(unitPlover, "r1"), rules.RunID(unitPlover, "r2")
	check := func(t *testing.T, b *bench, continues bool, verdict string) {
		t.Helper()
		first, second := b.Runs[one], b.Runs[two]
		if got := second.Continues; continues != (got != nil && *got == one) {
			t.Errorf("the rescue continues %v", got)
		}
		if second.Verdict == nil || *second.Verdict != verdict {
			t.Errorf("the rescue is judged %v, %+v; want %s", deref(second.Verdict), second.Reasons, verdict)
		}
		if !continues {
			if len(first.Film.Runs) != 1 || len(second.Film.Runs) != 1 {
				t.Errorf("two films, and yet %+v and %+v", first.Film.Runs, second.Film.Runs)
			}
			return
		}
		if !reflect.DeepEqual(first.Film, second.Film) || deref(first.Verdict) != verdict || !reflect.DeepEqual(first.Reasons, second.Reasons) {
			t.Errorf("the two runs of one film differ:\n%+v %s\n%+v %s", first.Film, deref(first.Verdict), second.Film, deref(second.Verdict))
		}
		if len(second.Film.Runs) != 2 || second.Film.ID != one || second.Film.State != lab.FilmDone || !second.Film.Decided || second.Film.PushErrorStops == nil {
			t.Errorf("the film is %+v", second.Film)
		}
	}
	t.Run("the unit says nothing of it", func(t *testing.T) {
		s := newScript("c41")
		at := aborted(s, 80)
		rulestest.Rescue(s, at+120, "r2", "bleach")
		b := played(t, s)
		b.Want("run-aborted bleach urgent 315-435")
		check(t, b, true, lab.InControl)
		if !b.Runs[two].Film.Runs[1].Proposed {
			t.Error("nobody said that it goes on with the film: that is a proposal")
		}
	})
	t.Run("the unit says so, and begins behind the bath that was cut short", func(t *testing.T) {
		s := newScript("c41")
		at := aborted(s, 80)
		rulestest.Rescue(s, at+120, "r2", "wash-1")
		for _, e := range s.Events {
			if e.M.Step != nil && e.M.Step.Run == "r2" {
				e.M.Step.Continues = "r1"
			}
		}
		b := played(t, s)
		check(t, b, true, lab.Inspect)
		if !slices.ContainsFunc(b.Runs[two].Reasons, func(r lab.Reason) bool { return r.Code == "step-short" && r.Step == "bleach" }) {
			t.Errorf("nothing is said of the bleach that was cut short: %+v", b.Runs[two].Reasons)
		}
	})
	t.Run("a person undoes the proposal", func(t *testing.T) {
		s := newScript("c41")
		at := aborted(s, 80)
		end := rulestest.Rescue(s, at+120, "r2", "bleach")
		b := played(t, s, enters(s.Unit, end+60, lab.EntryContinues, two, lab.Continues{}))
		b.Until(end + 120)
		check(t, b, false, lab.OutOfControl)
		b.Want("run-aborted bleach urgent 315-", "step-skipped bleach/developer urgent 435-1815")
	})
	t.Run("a person links what began too late to be likely", func(t *testing.T) {
		s := newScript("c41")
		at := aborted(s, 80)
		end := rulestest.Rescue(s, at+3600+60, "r2", "bleach")
		check(t, played(t, s), false, lab.OutOfControl)
		b := played(t, s, enters(s.Unit, end+60, lab.EntryContinues, two, lab.Continues{Run: one}))
		b.Until(end + 120)
		check(t, b, true, lab.InControl)
	})
	t.Run("the rolls go with the film", func(t *testing.T) {
		s := newScript("c41")
		at := aborted(s, 80)
		rulestest.Rescue(s, at+120, "r2", "bleach")
		next := enters(s.Unit, at+60, lab.EntryLoad, "", lab.Load{Process: "c41", Rolls: []lab.Roll{{TwinCheck: "9"}}})
		b := played(t, s, enters(s.Unit, -30, lab.EntryLoad, "", lab.Load{Process: "c41", Rolls: []lab.Roll{{TwinCheck: "7"}}}), next)
		if got := b.Runs[two].Rolls; len(got) != 1 || got[0].TwinCheck != "7" || got[0].PushErrorStops == nil {
			t.Errorf("the rescue carries %+v; want roll 7 with its push error", got)
		}
		if l := b.View(s.Unit).Load; l == nil || l.Rolls[0].TwinCheck != "9" {
			t.Errorf("the next load is %+v; want roll 9", l)
		}
	})
	t.Run("what the film has had survives a restart of the monitor", func(t *testing.T) {
		s := newScript("c41")
		at := aborted(s, 80)
		rulestest.Rescue(s, at+120, "r2", "bleach")
		msgs := s.Messages()
		b := newBench(t)
		for i, m := range msgs {
			b.Play([]lab.Message{m})
			if i%97 == 0 {
				b.Restarted(s.Unit)
			}
		}
		check(t, b, true, lab.InControl)
	})
}

var unitPlover = newScript("").Unit

func deref(s *string) string {
	if s == nil {
		return "nothing"
	}
	return *s
}

// What an aborted run leaves to do goes on when the time to drain its
// developer has passed: the moment is told as passed, the rest still ordered.
func TestAbortedInDeveloperSaysWhatIsLeft(t *testing.T) {
	b := func() *bench {
		s := newScript("c41")
		s.Phase(0, "idle", "", 0)
		s.Phase(1, "heating", "developer", 1)
		s.WholeStep(20, 100, "developer", 1, always(37.8))
		s.Without(func(e *event) bool { return e.At >= 100 })
		s.Phase(101, "aborted", "developer", 1)
		ends(s, 103, 150)
		return played(t, s)
	}()
	rest := "in the dark, or start a rescue run."
	early := b.Only("run-aborted")
	if early.Facts["act_at"] == nil || !strings.Contains(early.Response, "by hand at 09:") || !strings.HasSuffix(early.Response, rest) {
		t.Errorf("in time it says %q, %v", early.Response, early.Facts)
	}
	if rule := early.Facts[lab.FactStillToDo]; rule != "If the developer is still in, drain it by hand now. Finish bleach, fixer and wash by hand "+rest {
		t.Errorf("afterwards it says %q", rule)
	}
}

// A unit may say that a run goes on with the film of a run of another process:
// the steps of one sheet are not those of the other, and the unit is judged on.
func TestFilmOfAnotherProcessGoesOn(t *testing.T) {
	s := newScript("e6-7")
	sheet, _ := process.Builtin().Sheet("e6-7")
	s.Phase(0, lab.PhaseIdle, "", 0)
	at := 20.0
	for i := range sheet.Steps {
		if i == 1 {
			continue // the place that bleach has on the other sheet
		}
		id := sheet.Steps[i].ID
		set, _ := s.SetS(id)
		s.WholeStep(at, at+set, id, i+1, always(sheet.Steps[i].AimC))
		at += set + 20
	}
	s.Phase(at, lab.PhaseAborted, "", 0)
	s.Process = "c41"
	rulestest.Rescue(s, at+60, "r2", "bleach")
	for _, e := range s.Events {
		if e.M.Step != nil && e.M.Step.Run == "r2" {
			e.M.Step.Continues = "r1"
		}
	}
	b := played(t, s)
	if bad := b.E.SetAside(); len(bad) > 0 {
		t.Fatalf("the unit was set aside: %s", bad[0].Why)
	}
	if r := b.Runs[rules.RunID(s.Unit, "r2")]; r.Outcome != lab.OutcomeDone || r.Film == nil || len(r.Film.Runs) != 2 {
		t.Errorf("the second run: %s, film %+v; want it done, with the film of both", r.Outcome, r.Film)
	}
}
