package rules_test

import (
	"encoding/json"
	"strings"
	"testing"

	"wetside/internal/lab"
	"wetside/rules"
)

// cutDraining is a developer that is drained from 295; the mains go at 300 and
// come back at 360, and the unit drains on until 380.
func cutDraining() *script {
	s := newScript("c41")
	dev(s, 295, always(37.8))
	s.Stays(305, 380, lab.PhaseDraining, "developer", 1)
	s.Power(300, "battery", "lost", 90, 0)
	s.Power(360, "mains", "restored", 0, 60)
	s.WholeStep(390, 780, "bleach", 2, always(38))
	s.Phase(795, lab.PhaseHeating, "wash-1", 3)
	return s
}

// The mains go while a developer drains: by hand, now, with the clock and
// what it comes to; then the unit drains at once.
func TestOutageWhileDraining(t *testing.T) {
	s := cutDraining()
	b := heardBy(t, s, 330)
	b.Says(rules.RulePowerLost, "drain it by hand now", "Drain developer by hand now", "out by 09:05:20", "stop", "works on the film that it covers")
	if lost := b.The(rules.RulePowerLost); strings.Contains(lost.Message+lost.Response, "Turn the tank") || lost.Facts["act_at"] == nil {
		t.Errorf("%q, %q, act_at %v", lost.Message, lost.Response, lost.Facts["act_at"])
	}
	v, _ := b.E.View(s.Unit, moment(330))
	if o := v.Outlook; o == nil || o.Why != "battery" || o.Action != "drain" || o.PushStops == nil || *o.PushStops < 0.5 || *o.PushLowStops > 0.1 {
		// 55 s more at 37.8 °C are 1.4 stops of 195 to 250 s; what is not covered has none of it
		t.Errorf("outlook %+v", v.Outlook)
	}
	if jobs := allJobs(b, moment(330)); len(jobs) == 0 || jobs[0].What != "drain developer by hand" || !jobs[0].DueAt.Equal(moment(300)) {
		t.Errorf("jobs %v", jobs)
	}

	b = heardBy(t, s, 370)
	b.Says(rules.RulePowerResumed, "Mains power is back after 1:00 while", "Let it drain at once, by hand", "Hold the rolls for inspection")
	v, _ = b.E.View(s.Unit, moment(370))
	o := b.Outage(s)
	if o.Advice != "drain" || v.Outlook == nil || v.Outlook.Action != "drain" || v.Outlook.Text != o.Text || !v.Outlook.ActAt.Equal(o.ActAt.Time) {
		t.Errorf("advice %q, outlook %+v: want both to drain", o.Advice, v.Outlook)
	}
	if jobs := allJobs(b, moment(370)); len(jobs) == 0 || jobs[0].What != "drain developer by hand" {
		t.Errorf("jobs %v", jobs)
	}
	if p := b.The(rules.RulePowerResumed).Priority; p != lab.Urgent {
		t.Errorf("%s while it can still be drained", p)
	}

	b = heardBy(t, s, 400)
	if o := b.The(rules.RulePowerResumed); o.Priority != lab.High || !strings.Contains(o.Response, "That time has passed: developer has ended. Hold the rolls") {
		t.Errorf("%s %q once it has drained", o.Priority, o.Response)
	}
	if v, _ = b.E.View(s.Unit, moment(400)); v.Outlook != nil {
		t.Errorf("outlook %+v once it has drained", v.Outlook)
	}
	if got := b.Outage(s); got.Advice != "drain" || got.Text != o.Text {
		t.Errorf("the record says %q, %q: what was advised stands", got.Advice, got.Text)
	}
}

// On its battery the unit counts to the end and means to drain: its pump
// stands, and the order changes.
func TestCounterEndsOnBattery(t *testing.T) {
	s := newScript("c41")
	dev(s, 295, always(37.8))
	s.Power(200, "battery", "lost", 90, 0)
	b := heardBy(t, s, 290)
	b.Says(rules.RulePowerLost, "in developer: turn the tank by hand")
	b = heardBy(t, s, 296)
	b.Says(rules.RulePowerLost, "while developer drains: drain it by hand now")
	b = newBench(t)
	s = newScript("c41")
	dev(s, 295, always(37.8))
	s.Power(200, "battery", "lost", 90, 0)
	s.Stays(305, 350, lab.PhaseDraining, "developer", 1)
	b.Due = []lab.Entry{enters(s.Unit, 320, lab.EntryDrained, rules.RunID(s.Unit, "r1"), nil)}
	b.Play(s.Messages())
	if v, _ := b.E.View(s.Unit, moment(350)); v.Outlook != nil {
		t.Errorf("outlook %+v though a person drained it", v.Outlook)
	}
}

// Back while it fills: part of the film is covered.
func TestBackWhileFilling(t *testing.T) {
	s := newScript("c41")
	s.Phase(0, "idle", "", 0)
	s.Phase(10, "heating", "developer", 1)
	s.Stays(95, 160, "filling", "developer", 1)
	s.Bath(160, 355, "developer", 1, always(37.8))
	s.Power(98, "battery", "lost", 90, 0)
	s.Power(150, "mains", "restored", 0, 52)
	b := heardBy(t, s, 120)
	b.Says(rules.RulePowerLost, "while developer fills: part of the film is covered", "Finish the fill by hand")
	if jobs := allJobs(b, moment(120)); len(jobs) == 0 || jobs[0].What != "finish filling developer" {
		t.Errorf("jobs %v", jobs)
	}
	b = heardBy(t, s, 155)
	o := b.Outage(s)
	b.Says(rules.RulePowerResumed, "part of the film is covered", "Finish filling developer", "by hand if the unit does not go on", "Hold the rolls for inspection")
	v, _ := b.E.View(s.Unit, moment(155))
	if o.Advice != "continue" || v.Outlook == nil || v.Outlook.Action != "fill" || v.Outlook.Text != o.Text {
		t.Errorf("advice %q, outlook %+v", o.Advice, v.Outlook)
	}
	b = heardBy(t, s, 250)
	if got := b.Outage(s); got.Text != o.Text || b.The(rules.RulePowerResumed).Priority != lab.High {
		t.Errorf("%s, %q: the advice of the fill stands, its time has passed", b.The(rules.RulePowerResumed).Priority, got.Text)
	}
}

// No sheet, no film, no bath on the film: what is said fits.
func TestOutageElsewhereThanInABath(t *testing.T) {
	for _, tt := range []struct {
		name, process, kind string
		at                  float64
		lost, back          string
		advice              string // "": null
	}{
		{"a process without a sheet", "k99", "", 150, "check which bath it is", "check which bath", ""},
		{"a flush", "c41", "flush", 150, "No customers' film", "no customers' film", ""},
		{"before the first bath", "c41", "", 50, "the film is dry", "the film is dry", "continue"},
		{"heating with wet film", "c41", "", 313, "the film is wet, no bath on it", "the film is wet, no bath on it", "continue"},
		{"waiting with wet film", "c41", "", 308, "after developer: the film is wet", "the film is wet, no bath on it", "continue"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := newScript(tt.process)
			s.Kind = tt.kind
			dev(s, 295, always(37.8))
			if tt.at > 295 {
				s.Phase(305, "heating", "bleach", 2)
			}
			if tt.name == "waiting with wet film" {
				s.Without(func(e *event) bool { return e.At == 305 })
				s.Phase(305, "waiting", "developer", 1).WaitsFor = lab.WaitTopUpWash
				s.Add(306, lab.ChannelStep, lab.Message{Step: &lab.Step{Phase: "heating", Run: "r1", Process: "c41", Step: "bleach", N: 2}})
			}
			s.Power(tt.at, "battery", "lost", 90, 0)
			s.Power(tt.at+3, "mains", "restored", 0, 3)
			b := heardBy(t, s, tt.at+1)
			if tt.name != "waiting with wet film" {
				b.Says(rules.RulePowerLost, tt.lost)
			}
			if o := b.The(rules.RulePowerLost); strings.Contains(o.Message+o.Response, "Turn the tank") {
				t.Errorf("says %q, %q with nothing to turn for", o.Message, o.Response)
			}
			b = heardBy(t, s, tt.at+4)
			b.Says(rules.RulePowerResumed, tt.back)
			o := b.Outage(s)
			raw, _ := json.Marshal(o)
			var m map[string]any
			if json.Unmarshal(raw, &m) != nil || o.Advice != tt.advice || tt.advice == "" && (m["advice"] != nil || !strings.Contains(string(raw), `"advice":null`)) {
				t.Errorf("advice %q in %s, want %q", o.Advice, raw, tt.advice)
			}
		})
	}
}

// A restart: the event comes first, and the step message after it tells where
// the film really is.
func TestRestartWhileDraining(t *testing.T) {
	s := cutDraining()
	s.Without(func(e *event) bool { return e.M.Power != nil || e.At > 300 && e.At < 360 })
	for _, e := range s.Events {
		if e.At >= 360 {
			e.M.Boot = "b2"
		}
	}
	s.Boot = "b2"
	s.Power(360, "mains", "resumed", 0, 60)
	if o := heardBy(t, s, 372).Outage(s); o.Advice != "drain" || o.Kind != "restart" {
		t.Errorf("%s: advice %q, want drain", o.Kind, o.Advice)
	}
	// the same event, but the unit says that it is in the bleach's fill by now
	s = cutDraining()
	s.Without(func(e *event) bool { return e.M.Power != nil || e.At > 300 })
	s.Boot = "b2"
	s.Power(360, "mains", "resumed", 0, 60)
	s.Phase(362, lab.PhaseFilling, "bleach", 2)
	if o := heardBy(t, s, 372).Outage(s); o.Advice != "continue" || !strings.Contains(o.Text, "Finish filling bleach") {
		t.Errorf("advice %q, %q: want that of the fill", o.Advice, o.Text)
	}
}

// Contract, section 2: urgent while the advice can still be followed, then
// high until the last bath is done, then low.
func TestResumedLowers(t *testing.T) {
	s := newScript("c41")
	end := s.C41(0)
	s.Power(100, "battery", "lost", 90, 0)
	s.Power(130, "mains", "restored", 0, 30)
	for _, x := range []struct {
		at   float64
		want lab.Priority
	}{{131, lab.Urgent}, {212, lab.Urgent}, {260, lab.High}, {end - 100, lab.High}, {end + 1, lab.Low}} {
		if got := heardBy(t, s, x.at).The(rules.RulePowerResumed).Priority; got != x.want {
			t.Errorf("%s at %g, want %s", got, x.at, x.want)
		}
	}
}
