package rules_test

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/rules"
)

// On the battery: first what to do with the hands, then until when.
func TestOutlookOnBattery(t *testing.T) {
	s := cutIn(90, false, false)
	b := newBench(t)
	msgs := s.Messages()
	i := slices.IndexFunc(msgs, func(m lab.Message) bool { return m.Received.After(moment(150)) })
	b.Play(msgs[:i])
	v, _ := b.E.View(s.Unit, moment(150))
	o := v.Outlook
	if o == nil || o.Why != "battery" || o.Step != "developer" || o.Action != "go-on" {
		t.Fatalf("outlook %+v, want go-on on the battery", o)
	}
	// drained at the moment of the sheet's development, less the 20 s that it
	// takes by hand; the tank's cooling is not known yet, so within a little
	want := 20 + 90 + (195 - 90) - 20.0
	if off := o.ActAt.Sub(moment(want)).Seconds(); off < -1 || off > 6 {
		t.Errorf("act at %s, want about %s", o.ActAt, moment(want))
	}
	if o.GoOnUntil.After(o.DrainFrom.Time) || !o.TooLateFrom.After(o.ActAt.Time) || o.NowStops == nil || *o.NowStops > -1 {
		t.Errorf("go on until %s, drain from %s, too late from %s, now %v", o.GoOnUntil, o.DrainFrom, o.TooLateFrom, o.NowStops)
	}
	lost := b.Found[slices.Collect(func(yield func(string) bool) {
		for id, x := range b.Found {
			if x.Rule == rules.RulePowerLost && !yield(id) {
				return
			}
		}
	})[0]]
	for what, text := range map[string]string{"outlook": o.Text, "response": lost.Response} {
		if first, _, _ := strings.Cut(text, "\n"); first != "Turn the tank by hand, a turn a second, and note the time." {
			t.Errorf("the first line of the %s is %q", what, first)
		}
	}
	if lost.Facts["act_at"] == nil {
		t.Error("the alert has no time of day to act by")
	}
	jobs := allJobs(b, moment(150))
	if len(jobs) == 0 || jobs[0].What != "drain developer by hand" || !jobs[0].DueAt.Equal(o.ActAt.Time) {
		t.Errorf("jobs %v, want the drain first", jobs)
	}
}

// A minute of a cut says how the tank cools, in a unit that was never seen to:
// the moment to drain comes to where that cooling has it, and what it comes to
// is known better.
func TestOutlookLearnsFromTheCutItself(t *testing.T) {
	for _, tau := range []float64{1400, 2000, 3500, 6000} {
		s := cutIn(150, false, false)
		c := cools(37.8, 110, 260, tau)
		for _, e := range s.Events {
			if m := e.M.Temp; m != nil && m.BathC != nil && e.At >= 20 && e.At < 260 {
				*m.BathC = math.Round(c(e.At)*100) / 100
			}
		}
		b := newBench(t)
		msgs := s.Messages()
		var width, assumed [2]float64
		var act time.Time
		for i, at := range []float64{118, 190} {
			n := slices.IndexFunc(msgs, func(m lab.Message) bool { return m.Received.After(moment(at)) })
			b.Play(msgs[:n])
			msgs = msgs[n:]
			v, _ := b.E.View(s.Unit, moment(at))
			if v.Outlook == nil || v.Outlook.ActAt == nil || v.Outlook.PushLowStops == nil {
				t.Fatalf("outlook %+v at %g", v.Outlook, at)
			}
			width[i] = *v.Outlook.PushHighStops - *v.Outlook.PushLowStops
			assumed[i] = float64(len(v.Outlook.Assumed))
			act = v.Outlook.ActAt.Time
		}
		want := moment(endOf(cools(37.8, 110, 1000, tau), 20) - 20)
		if off := act.Sub(want).Abs(); off > 2*time.Second {
			t.Errorf("cooling with %g s: act at %s, want %s", tau, act, want)
		}
		if width[1] >= width[0] || assumed[1] >= assumed[0] {
			t.Errorf("cooling with %g s: range %g, then %g stop; %g assumptions, then %g", tau, width[0], width[1], assumed[0], assumed[1])
		}
	}
}

// What was advised while one could act stays in the record: a unit that says
// later how long the power was away changes that figure only.
func TestAdviceStays(t *testing.T) {
	s := cutIn(60, true, true)
	r := played(t, s).Runs[rules.RunID(s.Unit, "r1")]
	s = cutIn(60, true, true)
	s.Power(400, "mains", "resumed", 0, 55) // in the bleach
	again := played(t, s).Runs[rules.RunID(s.Unit, "r1")]
	if len(r.Outages) != 1 || len(again.Outages) != 1 {
		t.Fatalf("%d and %d outages, want 1", len(r.Outages), len(again.Outages))
	}
	was, is := r.Outages[0], again.Outages[0]
	if is.Advice != "shorten" || is.Advice != was.Advice || *is.AdvisedRemainingS != *was.AdvisedRemainingS || !is.ActAt.Equal(was.ActAt.Time) || *is.OutageS != 55 {
		t.Errorf("%+v became %+v", was, is)
	}
}

// Silent since a power cut: what to do changes with time alone.
func TestOutlookSilent(t *testing.T) {
	s := cutIn(400, true, false)
	b := newBench(t)
	msgs := s.Messages()
	i := slices.IndexFunc(msgs, func(m lab.Message) bool { return m.Received.After(moment(111)) })
	b.Play(msgs[:i])
	actions := ""
	for at := 120.0; at < 500; at += 10 {
		b.Until(at)
		v, _ := b.E.View(s.Unit, moment(at))
		if v.Outlook == nil {
			continue
		}
		if !strings.HasSuffix(actions, v.Outlook.Action+" ") {
			actions += v.Outlook.Action + " "
		}
		if v.Outlook.Why != "silent" {
			t.Errorf("at %g: %s", at, v.Outlook.Why)
		}
	}
	if actions != "drain-at hold " {
		t.Errorf("actions %q, want drain-at, then hold", actions)
	}
}

// The controller went down while a developer was filled: that is the reason,
// and what came of it (the heater back in a tank half full) stands behind it.
func TestOutageWhileFilling(t *testing.T) {
	s := newScript("c41")
	s.Phase(0, lab.PhaseIdle, "", 0)
	s.Phase(1, lab.PhaseHeating, "developer", 1)
	s.Room(2, 21)
	s.Phase(15, lab.PhaseFilling, "developer", 1)
	s.Bath(170, 365, "developer", 1, between(37.8, 175, 230, 38.05))
	s.WholeStep(395, 785, "bleach", 2, always(38))
	s.Phase(800, "aborted", "", 0)
	s.Without(func(e *event) bool { return e.At > 18 && e.At < 168 })
	for _, e := range s.Events {
		if e.At >= 168 {
			e.M.Boot = "b2"
		}
	}
	s.Boot = "b2"
	s.Power(168, "mains", "resumed", 0, 150)
	s.Phase(168.1, lab.PhaseFilling, "developer", 1)
	r := played(t, s).Runs[rules.RunID(s.Unit, "r1")]
	codes := ""
	for _, y := range r.Reasons {
		if y.Step == "developer" {
			codes += y.Code + " "
		}
	}
	if !strings.HasPrefix(codes, "outage bath-warm ") || !strings.Contains(r.Reasons[0].Text, "while filling") {
		t.Errorf("reasons %q, %v; want the outage first, the bath behind it", codes, r.Reasons)
	}
}
