package rules

import (
	"encoding/json"
	"reflect"
	"slices"
	"strings"
	"testing"

	"wetside/internal/lab"
)

// upTo writes a run's steps from its first on, up to but without the step
// that stopped names; it gives when the next one may begin.
func upTo(s *script, stopped string) float64 {
	s.phase(0, "idle", "", 0)
	s.phase(1, "heating", "developer", 1)
	at := 20.0
	for i, st := range c41Steps {
		if st.id == stopped {
			return at
		}
		s.step(at, at+st.s, st.id, i+1, always(st.c))
		at += st.s + 20
	}
	return at
}

var c41Steps = []struct {
	id   string
	s, c float64
}{{"developer", 195, 37.8}, {"bleach", 390, 38}, {"wash-1", 195, 38}, {"fixer", 390, 38}, {"wash-2", 195, 38}, {"final-rinse", 90, 38}}

// rescue writes a run that begins with the step named and goes on to the end.
func rescue(s *script, at float64, run, from string) float64 {
	s.run = run
	s.phase(at, "heating", from, 1)
	n, on := 0, false
	at += 20
	for _, st := range c41Steps {
		if on = on || st.id == from; !on {
			continue
		}
		n++
		s.step(at, at+st.s, st.id, n, always(st.c))
		at += st.s + 20
	}
	s.phase(at, "done", "", 0)
	s.phase(at+5, "idle", "", 0)
	return at
}

func ends(s *script, from, to float64) { s.stays(from, to, lab.PhaseIdle, "", 0) }

// The contract, section 2.1: film is in a bath or wet and no run goes on with
// it.
func TestFilmStranded(t *testing.T) {
	inDeveloper := func(s *script) {
		s.phase(0, "idle", "", 0)
		s.phase(1, "heating", "developer", 1)
		s.step(20, 100, "developer", 1, always(37.8))
		s.without(func(e *event) bool { return e.at >= 100 })
	}
	runScenarios(t, []scenario{
		{name: "idle in the developer, same boot", write: func(s *script) {
			inDeveloper(s)
			ends(s, 101, 200)
		}, want: []string{"film-stranded developer urgent 101-"}},
		{name: "idle in the developer, another boot", write: func(s *script) {
			inDeveloper(s)
			s.restarts = []float64{120}
			ends(s, 125, 200)
		}, want: []string{"film-stranded developer urgent 125-"}},
		{name: "idle again before ten seconds are over", write: func(s *script) {
			inDeveloper(s)
			s.phase(101, "idle", "", 0)
			s.bath(106, 215, "developer", 1, always(37.8))
			at := 235.0
			for i, st := range c41Steps[1:] {
				s.step(at, at+st.s, st.id, i+2, always(st.c))
				at += st.s + 20
			}
			s.phase(at, "done", "", 0)
		}},
		{name: "a flicker of idle that lasts: over as the run speaks again", write: func(s *script) {
			inDeveloper(s)
			ends(s, 101, 125)
			s.bath(130, 215, "developer", 1, always(37.8))
			ends(s, 240, 270)
		}, want: []string{"film-stranded developer urgent 101-130", "film-stranded developer urgent 240-"}},
		{name: "while draining", write: func(s *script) {
			s.phase(0, "idle", "", 0)
			s.phase(1, "heating", "developer", 1)
			s.step(20, 215, "developer", 1, always(37.8))
			ends(s, 218, 260)
		}, want: []string{"film-stranded developer urgent 218-"}},
		{name: "in the bleach", write: func(s *script) {
			at := upTo(s, "bleach")
			s.step(at, at+100, "bleach", 2, always(38))
			s.without(func(e *event) bool { return e.at >= at+100 })
			ends(s, at+100, at+200)
		}, want: []string{"film-stranded bleach urgent 335-"}},
		{name: "fixed, in the second wash", write: func(s *script) {
			at := upTo(s, "wash-2")
			s.step(at, at+100, "wash-2", 5, always(38))
			s.without(func(e *event) bool { return e.at >= at+100 })
			ends(s, at+100, at+200)
		}, want: []string{"film-stranded wash-2 high 1370-"}},
		{name: "fetched to the dryer", write: func(s *script) {
			at := upTo(s, "")
			w := s.phase(at, "waiting", "final-rinse", 6)
			w.WaitsFor = lab.WaitToDryer
			ends(s, at+60, at+200)
		}},
		{name: "drying, then idle", write: func(s *script) {
			at := upTo(s, "")
			s.phase(at, "drying", "", 0)
			ends(s, at+60, at+200)
		}},
		{name: "another film's run begins", write: func(s *script) {
			inDeveloper(s)
			s.run = "r2"
			s.phase(104, "heating", "developer", 1)
			s.phase(114, "heating", "developer", 1)
		}, want: []string{"film-stranded developer urgent 104-"}},
		{name: "before any bath", write: func(s *script) {
			s.phase(0, "idle", "", 0)
			s.stays(1, 60, "heating", "developer", 1)
			ends(s, 61, 120)
		}},
		{name: "a control strip", write: func(s *script) {
			s.kind = lab.KindOfRunStrip
			inDeveloper(s)
			ends(s, 101, 200)
		}},
	})
}

// A person says what was done; that ends it, and undoing what was said does
// not.
func TestFilmStrandedIsSaid(t *testing.T) {
	s := newScript("c41")
	s.phase(0, "idle", "", 0)
	s.phase(1, "heating", "developer", 1)
	s.step(20, 100, "developer", 1, always(37.8))
	s.without(func(e *event) bool { return e.at >= 100 })
	ends(s, 101, 400)
	run := RunID(s.unit, "r1")
	drained := enters(s.unit, 215, lab.EntryFilm, "", lab.FilmDoing{What: lab.FilmDrained})

	b := played(t, s, drained)
	b.want("film-stranded developer urgent 101-215")
	o := b.only("film-stranded")
	if at, ok := o.Facts["act_at"]; ok || !strings.Contains(o.Response, "Drain it by hand") && !strings.Contains(o.Response, "drain it by hand") {
		t.Errorf("after the time to drain it says %q, to act at %v", o.Response, at)
	}
	r := b.runs[run]
	if st := r.Steps[0]; st.TimeS == nil || *st.TimeS != 195 || st.PushErrorStops == nil || *st.PushErrorStops > 0 {
		t.Errorf("drained by hand after 195 s while it cooled: %+v", st)
	}
	if r.Film.State != lab.FilmWet || r.Film.Decided || r.Film.Said.What != lab.FilmDrained {
		t.Errorf("the film is %+v", r.Film)
	}

	s2 := *s
	b = played(t, &s2, drained, enters(s.unit, 300, lab.EntryFilm, run, lab.FilmDoing{What: lab.FilmDiscarded}))
	if f := b.runs[run].Film; f.State != lab.FilmDiscarded || !f.Decided {
		t.Errorf("given up, the film is %+v", f)
	}
	b = played(t, s, drained, enters(s.unit, 250, lab.EntryTakesBack, "", lab.TakesBack{ID: drained.ID}))
	b.want("film-stranded developer urgent 101-")
	if st := b.runs[run].Steps[0]; st.TimeS != nil || st.PushErrorStops != nil || st.EquivalentS != nil {
		t.Errorf("when the film came out is not known: %+v", st)
	}
	if f := b.e.View2(s.unit).Film; len(f) != 1 || f[0].State != lab.FilmInBath || f[0].ActAt == nil {
		t.Errorf("the board shows %+v", f)
	}
}

// The contract, section 2.1: one film, several runs.
func TestRescue(t *testing.T) {
	aborted := func(s *script, in float64) float64 {
		at := upTo(s, "bleach")
		s.step(at, at+in, "bleach", 2, always(38))
		s.without(func(e *event) bool { return e.at >= at+in })
		s.phase(at+in, "aborted", "bleach", 2)
		s.phase(at+in+10, "idle", "", 0)
		return at + in
	}
	one, two := RunID(unitPlover, "r1"), RunID(unitPlover, "r2")
	check := func(t *testing.T, b *bench, continues bool, verdict string) {
		t.Helper()
		first, second := b.runs[one], b.runs[two]
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
		rescue(s, at+120, "r2", "bleach")
		b := played(t, s)
		b.want("run-aborted bleach urgent 315-435")
		check(t, b, true, lab.InControl)
		if !b.runs[two].Film.Runs[1].Proposed {
			t.Error("nobody said that it goes on with the film: that is a proposal")
		}
	})
	t.Run("the unit says so, and begins behind the bath that was cut short", func(t *testing.T) {
		s := newScript("c41")
		at := aborted(s, 80)
		rescue(s, at+120, "r2", "wash-1")
		for _, e := range s.events {
			if e.m.Step != nil && e.m.Step.Run == "r2" {
				e.m.Step.Continues = "r1"
			}
		}
		b := played(t, s)
		check(t, b, true, lab.Inspect)
		if !slices.ContainsFunc(b.runs[two].Reasons, func(r lab.Reason) bool { return r.Code == whyShort && r.Step == "bleach" }) {
			t.Errorf("nothing is said of the bleach that was cut short: %+v", b.runs[two].Reasons)
		}
	})
	t.Run("a person undoes the proposal", func(t *testing.T) {
		s := newScript("c41")
		at := aborted(s, 80)
		end := rescue(s, at+120, "r2", "bleach")
		b := played(t, s, enters(s.unit, end+60, lab.EntryContinues, two, lab.Continues{}))
		b.until(end + 120)
		check(t, b, false, lab.OutOfControl)
		b.want("run-aborted bleach urgent 315-", "step-skipped bleach/developer urgent 435-1815")
	})
	t.Run("a person links what began too late to be likely", func(t *testing.T) {
		s := newScript("c41")
		at := aborted(s, 80)
		end := rescue(s, at+takesOnS+60, "r2", "bleach")
		check(t, played(t, s), false, lab.OutOfControl)
		b := played(t, s, enters(s.unit, end+60, lab.EntryContinues, two, lab.Continues{Run: one}))
		b.until(end + 120)
		check(t, b, true, lab.InControl)
	})
	t.Run("the rolls go with the film", func(t *testing.T) {
		s := newScript("c41")
		at := aborted(s, 80)
		rescue(s, at+120, "r2", "bleach")
		next := enters(s.unit, at+60, lab.EntryLoad, "", lab.Load{Process: "c41", Rolls: []lab.Roll{{TwinCheck: "9"}}})
		b := played(t, s, enters(s.unit, -30, lab.EntryLoad, "", lab.Load{Process: "c41", Rolls: []lab.Roll{{TwinCheck: "7"}}}), next)
		if got := b.runs[two].Rolls; len(got) != 1 || got[0].TwinCheck != "7" || got[0].PushErrorStops == nil {
			t.Errorf("the rescue carries %+v; want roll 7 with its push error", got)
		}
		if l := b.e.View2(s.unit).Load; l == nil || l.Rolls[0].TwinCheck != "9" {
			t.Errorf("the next load is %+v; want roll 9", l)
		}
	})
	t.Run("what the film has had survives a restart of the monitor", func(t *testing.T) {
		s := newScript("c41")
		at := aborted(s, 80)
		rescue(s, at+120, "r2", "bleach")
		msgs := s.messages()
		b := newBench(t)
		for i, m := range msgs {
			b.play([]lab.Message{m})
			if i%97 == 0 {
				b.restarted(s.unit)
			}
		}
		check(t, b, true, lab.InControl)
	})
}

var unitPlover = newScript("").unit

func deref(s *string) string {
	if s == nil {
		return "nothing"
	}
	return *s
}

// only is the one occurrence of a rule.
func (b *bench) only(rule string) OccurrenceChange {
	b.tb.Helper()
	for _, o := range b.found {
		if o.Rule == rule {
			return o
		}
	}
	b.tb.Fatalf("no %s was found: %v", rule, b.lines())
	return OccurrenceChange{}
}

// View2 is the unit's view as of its last message.
func (e *Engine) View2(u lab.UnitID) lab.Unit {
	v, _ := e.View(u, e.units[u].Arr.Last)
	return v
}

// restarted goes on with the unit's state as it is stored.
func (b *bench) restarted(u lab.UnitID) {
	b.tb.Helper()
	version, blob, _ := b.e.Snapshot(u)
	if !json.Valid(blob) {
		b.tb.Fatal("the state is not JSON")
	}
	b.e = NewEngine(Config{})
	if err := b.e.Restore(u, version, blob); err != nil {
		b.tb.Fatal(err)
	}
}

// What an aborted run leaves to do goes on when the time to drain its
// developer has passed: the moment is told as passed, the rest still ordered.
func TestAbortedInDeveloperSaysWhatIsLeft(t *testing.T) {
	b := func() *bench {
		s := newScript("c41")
		s.phase(0, "idle", "", 0)
		s.phase(1, "heating", "developer", 1)
		s.step(20, 100, "developer", 1, always(37.8))
		s.without(func(e *event) bool { return e.at >= 100 })
		s.phase(101, "aborted", "developer", 1)
		ends(s, 103, 150)
		return played(t, s)
	}()
	rest := "in the dark, or start a rescue run."
	early := b.only("run-aborted")
	if early.Facts["act_at"] == nil || !strings.Contains(early.Response, "by hand at 09:") || !strings.HasSuffix(early.Response, rest) {
		t.Errorf("in time it says %q, %v", early.Response, early.Facts)
	}
	if rule := early.Facts[lab.FactStillToDo]; rule != "If the developer is still in, drain it by hand now. Finish bleach, fixer and wash by hand "+rest {
		t.Errorf("afterwards it says %q", rule)
	}
}
