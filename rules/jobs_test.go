package rules_test

import (
	"slices"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/rules"
)

// allJobs are the jobs of every unit, soonest first, as the worker lists them.
func allJobs(b *bench, at time.Time) (out []lab.Job) {
	for _, u := range b.E.Units() {
		out = append(out, b.E.Jobs(u, at)...)
	}
	slices.SortStableFunc(out, lab.SoonestFirst)
	return out
}

// jobsOf are the jobs of a script's unit at a moment, what and when.
func jobsOf(b *bench, at float64) (out []lab.Job) {
	for _, j := range allJobs(b, moment(at)) {
		if j.What == lab.JobFetchDry {
			out = append(out, j)
		}
	}
	return out
}

// Contract, section 1: set_s in drying belongs to that phase. Film is fetched
// when the unit's own drying time is over, and until it says that it stands
// idle again.
func TestFilmIsFetchedFromTheDryer(t *testing.T) {
	dries := func(more func(s *script, end float64)) (*script, float64) {
		s := newScript("c41")
		end := s.C41(0)
		s.Without(func(e *event) bool { return e.At >= end })
		for at := end + 10; at < end+60; at += 10 {
			st := s.Phase(at, lab.PhaseDrying, "", 0)
			st.SetS, st.ElapsedS = new(900.0), new(at-end-10)
		}
		if more != nil {
			more(s, end)
		}
		return s, end
	}
	s, end := dries(nil)
	b := newBench(t).Play(s.Messages())
	got := jobsOf(b, end+60)
	if len(got) != 1 || !got[0].DueAt.Equal(moment(end+910)) || got[0].Patient {
		t.Errorf("while it dries: %+v; want one, due at %v", got, moment(end+910))
	}
	v := b.View(s.Unit)
	if v.Run == nil || v.Run.EndsAt == nil || !v.Run.EndsAt.Equal(moment(end+910)) || v.Run.RemainingS == nil || *v.Run.RemainingS != 860 {
		t.Errorf("the view says %+v; want 860 s left, dry at %v", v.Run, moment(end+910))
	}

	s, end = dries(func(s *script, end float64) { s.Phase(end+70, lab.PhaseDone, "", 0) })
	if got := jobsOf(newBench(t).Play(s.Messages()), end+80); len(got) != 1 || !got[0].DueAt.Equal(moment(end+70)) {
		t.Errorf("once it is done: %+v; want one, due since then", got)
	}
	s, end = dries(func(s *script, end float64) {
		s.Phase(end+70, lab.PhaseDone, "", 0)
		s.Phase(end+100, lab.PhaseIdle, "", 0)
	})
	if got := jobsOf(newBench(t).Play(s.Messages()), end+110); len(got) != 0 {
		t.Errorf("it was fetched: %+v", got)
	}
	s = newScript("c41")
	end = s.C41(0)
	s.Without(func(e *event) bool { return e.At >= end })
	s.Phase(end+10, lab.PhaseDrying, "", 0)
	if got := jobsOf(newBench(t).Play(s.Messages()), end+20); len(got) != 0 {
		t.Errorf("no drying time was told: %+v", got)
	}
}

// The rolls of the run that goes on are its own, not those that are loaded for
// the next one meanwhile.
func TestRollsOfTheRunThatGoesOn(t *testing.T) {
	s := newScript("c41")
	s.Bath(0, 100, "developer", 1, always(37.8))
	unit := s.Unit
	load := func(at float64, checks ...string) lab.Entry {
		l := lab.Load{Process: "c41"}
		for _, c := range checks {
			l.Rolls = append(l.Rolls, lab.Roll{TwinCheck: c})
		}
		return enters(unit, at, lab.EntryLoad, "", l)
	}
	rolls := func(b *bench) (out []string) {
		for _, r := range b.View(unit).Run.Rolls {
			out = append(out, r.TwinCheck)
		}
		return out
	}
	if got := rolls(played(t, s, load(-30, "48213", "48214"), load(50, "60101"))); len(got) != 2 || got[0] != "48213" {
		t.Errorf("the run carries %v; want 48213 and 48214", got)
	}
	if got := rolls(played(t, s, load(50, "60101"))); len(got) != 0 {
		t.Errorf("nobody loaded this run, and it is shown with %v", got)
	}
}

func TestIdleJob(t *testing.T) {
	idle := lab.Unit{ID: "tern-street/plover", Activity: lab.ActivityIdle, Link: lab.LinkOnline, LastHeardAt: lab.AtPtr(moment(0)),
		Light: lab.Light{State: lab.LightNone}, Containers: []lab.Container{{Name: "waste", RunsLeft: new(3)}, {Name: "wash"}}}
	for _, tt := range []struct {
		name string
		but  func(u *lab.Unit)
		want string
	}{
		{"ready, as far as is known", func(*lab.Unit) {}, lab.JobReady},
		{"loaded", func(u *lab.Unit) { u.Load = &lab.Load{Process: "c41", Rolls: []lab.Roll{{TwinCheck: "1"}}} }, lab.JobStart},
		{"an empty load is none", func(u *lab.Unit) { u.Load = &lab.Load{} }, lab.JobReady},
		{"running", func(u *lab.Unit) { u.Activity = lab.ActivityRunning }, ""},
		{"offline", func(u *lab.Unit) { u.Link = lab.LinkOffline }, ""},
		{"never heard", func(u *lab.Unit) { u.LastHeardAt = nil }, ""},
		{"film wet in it", func(u *lab.Unit) { u.Light.State = lab.LightDark }, ""},
		{"film left in it", func(u *lab.Unit) { u.Film = []lab.FilmLeft{{}} }, ""},
		{"on battery", func(u *lab.Unit) { u.Power.Source = lab.SourceBattery }, ""},
		{"no room in the waste", func(u *lab.Unit) { u.Containers[0].RunsLeft = new(0) }, ""},
		{"the float switch is closed", func(u *lab.Unit) { u.Containers[1].FloatShut = true }, ""},
		{"not judged", func(u *lab.Unit) { u.Fault = &lab.UnitFault{} }, ""},
	} {
		u := idle
		u.Containers = append([]lab.Container(nil), idle.Containers...)
		tt.but(&u)
		j, ok := rules.IdleJob(u)
		if ok != (tt.want != "") || ok && (j.What != tt.want || !j.Patient || j.Unit != u.ID) {
			t.Errorf("%s: %+v, %v; want %q", tt.name, j, ok, tt.want)
		}
	}
}
