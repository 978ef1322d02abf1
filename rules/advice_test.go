package rules_test

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"wetside/internal/lab"
	"wetside/internal/process"
	"wetside/rules"
	"wetside/rules/rulestest"
	"wetside/rules/timeline"
)

// cools is a bath at aim that cools by Newton's law from one moment to
// another with time constant tau in a room of 21 °C, and comes back to it with
// one of 12 s: Incropera and DeWitt's lumped capacitance, equation 5.6, from memory.
func cools(aim, from, to, tau float64) at {
	return func(t float64) float64 {
		if t < from {
			return aim
		}
		c := 21 + (aim-21)*math.Exp(-(min(t, to)-from)/tau)
		return aim - (aim-c)*math.Exp(-max(0, t-to)/12)
	}
}

// cutIn is a run of C-41 whose power goes away in the developer from 110 to
// 110 + away: on the battery, or with the controller down. The developer is in
// from 20; the unit goes on with its own count, which stood meanwhile where
// the controller was down, and ends the step itself.
func cutIn(away float64, down, quiet bool) *script {
	s := newScript("c41")
	s.Phase(0, lab.PhaseIdle, "", 0)
	s.Phase(1, lab.PhaseHeating, "developer", 1)
	s.Room(2, 21)
	s.Phase(15, lab.PhaseFilling, "developer", 1)
	back, end := 110+away, 215.0
	if down {
		end += away
	}
	end = max(end, back+2)
	s.Bath(20, end, "developer", 1, cools(37.8, 110, back, 2000))
	for _, e := range s.Events {
		if e.M.Motion != nil && e.At > 110 && e.At < back {
			*e.M.Motion.RPM = 0
		}
		if st := e.M.Step; st != nil && st.Phase == lab.PhaseInBath {
			count := e.At - 20
			if down && e.At >= back {
				count -= away
			}
			st.ElapsedS = &count
		}
	}
	s.WholeStep(end+30, end+420, "bleach", 2, always(38))
	s.Phase(end+440, lab.PhaseHeating, "wash-1", 3)
	if !down {
		s.Power(110, "battery", "lost", 90, 0)
		s.Power(back, "mains", "restored", 0, away)
		return s
	}
	s.Without(func(e *event) bool { return e.At > 110 && e.At < back })
	for _, e := range s.Events {
		if e.At >= back {
			e.M.Boot = "b2"
		}
	}
	s.Boot = "b2"
	if !quiet {
		s.Power(back-0.01, "mains", "resumed", 0, away)
	}
	s.Phase(back-0.005, lab.PhaseInBath, "developer", 1).ElapsedS = new(90.0)
	return s
}

// eq29 is the equivalent time of t seconds at c °C for C-41: sheets.md.
func eq29(t, c float64) float64 { return t * math.Pow(2.9, (c-37.8)/10) }

// eqOf is that of a bath from one moment to another, summed up here in steps
// of a tenth of a second.
func eqOf(c at, from, to float64) float64 {
	sum := 0.0
	for t := from + 0.05; t < to; t += 0.1 {
		sum += eq29(0.1, c(t))
	}
	return sum
}

// endOf is when a bath that goes on has had the sheet's 195 s.
func endOf(c at, from float64) float64 {
	t := from
	for sum := 0.0; sum < 195; t += 0.1 {
		sum += eq29(0.1, c(t))
	}
	return t
}

// The outages of a developer: what is advised, against the kinetics worked out
// here by hand.
func TestOutageAdvice(t *testing.T) {
	for _, tt := range []struct {
		name        string
		away        float64
		down, quiet bool
		kind        string
		advice      string
	}{
		{"a short one on the battery: cooling makes up for nothing worth a hand", 20, false, false, "battery", "continue"},
		{"on the battery for longer: give it what the cooling took", 100, false, false, "battery", "extend"},
		{"the controller was down and its counter stood", 60, true, false, "restart", "shorten"},
		{"the same, and nothing said of it", 60, true, true, "restart", "shorten"},
		{"so long that nothing helps", 180, true, false, "restart", "discard"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := cutIn(tt.away, tt.down, tt.quiet)
			r := played(t, s).Runs[rules.RunID(s.Unit, "r1")]
			if len(r.Outages) != 1 {
				t.Fatalf("%d outages, want 1", len(r.Outages))
			}
			o := r.Outages[0]
			if o.Kind != tt.kind || o.Advice != tt.advice || math.Abs(*o.OutageS-tt.away) > 0.5 {
				t.Errorf("%s of %g s: %s; want %s of %g s: %s", o.Kind, *o.OutageS, o.Advice, tt.kind, tt.away, tt.advice)
			}
			// what is left of the sheet's 195 s once the power is back
			left := endOf(cools(37.8, 110, 110+tt.away, 2000), 20) - 110 - tt.away
			if tt.advice == "continue" {
				left = 195 - 90 - tt.away
			}
			if math.Abs(*o.AdvisedRemainingS-max(left, 0)) > 2.5 {
				t.Errorf("advised %g s, want %.1f", *o.AdvisedRemainingS, left)
			}
			if !strings.Contains(o.Text, "no number of seconds repairs that") || !strings.Contains(o.Text, "not color balance") {
				t.Errorf("text %q does not say what time cannot repair", o.Text)
			}
			if o.PushStops == nil || *o.PushLowStops > *o.PushStops || *o.PushHighStops < *o.PushStops {
				t.Errorf("push error %v within %v to %v", o.PushStops, o.PushLowStops, o.PushHighStops)
			}
			if len(o.Measured) == 0 || len(o.Assumed) == 0 || len(o.Ask) != 2 {
				t.Errorf("measured %v, estimated %v, assumed %v, ask %v", o.Measured, o.Estimated, o.Assumed, o.Ask)
			}
			if r.Verdict != nil && *r.Verdict == lab.InControl {
				t.Error("film that stood still is called in control")
			}
		})
	}
}

// A run that ended: the outage stands before what it caused, and film time
// ran on by the wall clock.
func TestOutageVerdict(t *testing.T) {
	s := cutIn(60, true, false)
	s.Phase(2000, lab.PhaseAborted, "", 0)
	r := played(t, s).Runs[rules.RunID(s.Unit, "r1")]
	got := rulestest.Reasons(r)
	if len(got) < 2 || got[0] != "outage developer" || !slices.Contains(got, "step-long developer") {
		t.Errorf("reasons %v, want the outage before the step-long that it caused", got)
	}
	dev := r.Steps[0]
	if *dev.TimeS != 255 {
		t.Errorf("time in the developer %g s, want 255 by the wall clock, whatever the unit counted", *dev.TimeS)
	}
	want := eqOf(cools(37.8, 110, 170, 2000), 20, 275)
	if math.Abs(*dev.EquivalentS-want) > 0.5 {
		t.Errorf("equivalent %g s, want %.2f: cooling between the two readings", *dev.EquivalentS, want)
	}
	push := (want - 195) / 30
	if *dev.PushErrorLowStops > push || *dev.PushErrorHighStops < push {
		t.Errorf("push error %g (%g to %g), want %.3f within", *dev.PushErrorStops, *dev.PushErrorLowStops, *dev.PushErrorHighStops, push)
	}
}

// After the power is back the outlook stays until the film is out; what people
// say that they did is counted in, and asked for no more.
func TestPeopleAnswer(t *testing.T) {
	s := cutIn(60, true, false)
	run := rules.RunID(s.Unit, "r1")
	to := lab.At(moment(168))
	b := played(t, s, enters(s.Unit, 300, lab.EntryTurned, run, lab.Turned{From: lab.At(moment(112)), To: &to}))
	o := b.Runs[run].Outages[0]
	if o.StoodS == nil || math.Abs(*o.StoodS-4) > 1 {
		t.Errorf("stood for %v s, want the 4 that it was not turned", o.StoodS)
	}
	to = lab.At(moment(171))
	b = played(t, s, enters(s.Unit, 300, lab.EntryTurned, run, lab.Turned{From: lab.At(moment(110)), To: &to}))
	if o := b.Runs[run].Outages[0]; len(o.Ask) != 1 || !strings.Contains(o.Ask[0], "drained") {
		t.Errorf("asks %v, want only whether it was drained", o.Ask)
	}
	drained := enters(s.Unit, 150, lab.EntryDrained, run, nil)
	drained.Entered = moment(400)
	b = played(t, s, drained)
	dev := b.Runs[run].Steps[0]
	if math.Abs(*dev.TimeS-130) > 0.01 {
		t.Errorf("time in the developer %g s, want 130: a person drained it", *dev.TimeS)
	}
	if w := eqOf(cools(37.8, 110, 170, 2000), 20, 150); math.Abs(*dev.EquivalentS-w) > 1.5 {
		t.Errorf("equivalent %g s, want about %.1f", *dev.EquivalentS, w)
	}
}

// The bleach and the wash: longer does no harm, a wash in standing water is
// done again.
func TestOutageElsewhere(t *testing.T) {
	for _, tt := range []struct{ step, want string }{{"bleach", "continue"}, {"wash-2", "repeat"}} {
		s := newScript("c41")
		s.C41(0)
		r := played(t, s).Runs[rules.RunID(s.Unit, "r1")]
		i := slices.IndexFunc(r.Steps, func(x lab.RunStep) bool { return x.Step == tt.step })
		from := r.Steps[i].StartedAt.Sub(nine).Seconds() + 60
		s.Power(from, "battery", "lost", 90, 0)
		s.Power(from+90, "mains", "restored", 0, 90)
		r = played(t, s).Runs[rules.RunID(s.Unit, "r1")]
		if len(r.Outages) != 1 || r.Outages[0].Advice != tt.want || *r.Verdict != lab.InControl {
			t.Errorf("%s: %+v, %s; want %s", tt.step, r.Outages, *r.Verdict, tt.want)
		}
	}
}

// A developer off its temperature: the push error so far and where it will
// end stand in the alert and in the outlook.
func TestOutlookOffTemperature(t *testing.T) {
	s := newScript("c41")
	dev(s, 295, between(37.8, 100, 300, 39.3))
	b := newBench(t)
	msgs := s.Messages()
	i := slices.IndexFunc(msgs, func(m lab.Message) bool { return m.Received.After(moment(160.5)) })
	b.Play(msgs[:i])
	v, _ := b.E.View(s.Unit, moment(160.5))
	o := v.Outlook
	if o == nil || o.Why != "temperature" || o.Action != "shorten" {
		t.Fatalf("outlook %+v, want shorten for its temperature", o)
	}
	var alert timeline.OccurrenceChange
	for _, x := range b.Found {
		if x.Rule == rules.RuleBathTemperature {
			alert = x
		}
	}
	sofar, _ := alert.Facts["push_error_so_far_stops"].(float64)
	end, _ := alert.Facts["push_error_end_stops"].(float64)
	if sofar <= 0 || end <= sofar || !strings.Contains(alert.Message, "ends +1 stop") {
		t.Errorf("so far %g, end %g in %q", sofar, end, alert.Message)
	}
}

// A unit that has cooled before cools so again: the range is narrower.
func TestCoolingLearned(t *testing.T) {
	s := cutIn(90, false, false)
	b := newBench(t).Play(s.Messages())
	_, blob, _ := b.E.Snapshot(s.Unit)
	var stored struct {
		State struct{ Cools []process.CoolingFit }
	}
	if err := json.Unmarshal(blob, &stored); err != nil {
		t.Fatal(err)
	}
	fits := stored.State.Cools
	if len(fits) != 1 || math.Abs(fits[0].TauS-2000) > 100 {
		t.Fatalf("fits %v, want one near 2000 s, which the readings were made by", fits)
	}
}

// A controller that lost its clock in the cut: its times are replaced by the
// arrivals, and the film's time goes on by the wall clock all the same.
func TestOutageClockLost(t *testing.T) {
	s := cutIn(60, true, true)
	msgs := s.Messages()
	for i := range msgs {
		if m := &msgs[i]; m.Boot == "b2" {
			m.SentAt, m.At, m.AtReplaced = nine.AddDate(-56, 0, 0), m.Received, true
		}
	}
	b := newBench(t).Play(msgs)
	b.Note(b.E.Flush(t.Context(), b))
	r := b.Runs[rules.RunID(s.Unit, "r1")]
	if len(r.Outages) != 1 || math.Abs(*r.Outages[0].OutageS-60) > 0.5 || r.Outages[0].Advice != "shorten" {
		t.Fatalf("outages %+v, want one of 60 s, shorten", r.Outages)
	}
	if math.Abs(*r.Steps[0].TimeS-255) > 0.1 {
		t.Errorf("time in the developer %g s, want 255", *r.Steps[0].TimeS)
	}
}

// Several units at once: one list, soonest first.
func TestJobsOfSeveralUnits(t *testing.T) {
	b := newBench(t)
	var all []lab.Message
	for i, name := range []string{"heron", "avocet", "plover"} {
		s := cutIn(90, false, false)
		for _, e := range s.Events {
			e.M.Unit.Unit = name
			e.At, e.Recv, e.Up = e.At+7*float64(i), e.Recv+7*float64(i), e.Up+7*float64(i)
		}
		all = append(all, s.Messages()...)
	}
	sortByReceived(all)
	i := slices.IndexFunc(all, func(m lab.Message) bool { return m.Received.After(moment(150)) })
	b.Play(all[:i])
	var order []string
	for _, j := range allJobs(b, moment(150)) {
		if j.What == "drain developer by hand" {
			order = append(order, j.Unit)
		}
	}
	if want := []string{"tern-street/heron", "tern-street/avocet", "tern-street/plover"}; !slices.Equal(order, want) {
		t.Errorf("order %v, want %v", order, want)
	}
}
