package judge

import (
	"fmt"
	"time"

	"wetside/internal/lab"
	"wetside/internal/simulation/sim"
	"wetside/rules"
)

// byTheClock: no advice to drain is built on readings that nobody believes,
// and the bath is not said to be warm or cool by them.
func byTheClock(s *stage) (out []string) {
	for _, o := range s.heard() {
		if o.Rule == rules.RuleBathTemperature && o.Priority != lab.Low {
			out = append(out, fmt.Sprintf("%s %s: %s", o.Rule, o.Priority, o.Message))
		}
	}
	return append(out, neverSays("Drain now")(s)...)
}

// pushNotTold: where half of the development or more is unread, there is no
// push error.
func pushNotTold(s *stage) []string {
	if p := s.record(s.ordinal()).PushErrorStops; p != nil {
		return []string{fmt.Sprintf("push error %+.2f though most of the developer was unread", *p)}
	}
	return nil
}

// doubtful is wanted of a developer: urgent, and by the clock.
func doubtful(step string, says ...string) wanted {
	return wanted{rule: rules.RuleReadingDoubtful, step: step, least: lab.Urgent, says: says}
}

// inFahrenheit is a unit that sends °F: from a day on, or always.
func inFahrenheit(seed uint64) *trial {
	t := newTrial(seed, pick2(seed, "c41", "e6-3"), 2)
	t.told("the whole run")
	t.fault(sim.Fault{Kind: sim.Fahrenheit})
	t.want(doubtful(firstStep(t), "Fahrenheit"))
	t.also = all(byTheClock, pushNotTold, verdicts(lab.Inspect))
	return t
}

// jumps is a probe that reads something else from a moment on.
func jumps(seed uint64) *trial {
	t := newTrial(seed, colorProcesses[seed%4], 2)
	c := pick(t, 4.0, 9, 25, -6, -15)
	at := between(t.r, 0.2, 0.5)
	st := t.step(firstStep(t))
	t.told("%+.0f °C at %.0f s", c, at*st.AimS)
	t.fault(sim.Fault{Kind: sim.ThermistorDrift, Step: st.ID, After: seconds(at * st.AimS), For: time.Hour, Strength: c})
	t.want(doubtful(st.ID))
	t.may = append(t.may, rules.RuleBathTemperature) // low, in baths that begin with it: their readings agree with each other
	t.also = all(byTheClock, verdicts(lab.Inspect))
	return t
}

// open is a probe that is not there.
func openProbe(seed uint64) *trial {
	t := newTrial(seed, colorProcesses[seed%4], 2)
	c := pick(t, 850.0, -200, 150, -40, 0)
	st := t.step(firstStep(t))
	after := between(t.r, 0, 0.4) * st.AimS
	t.told("%g °C from %.0f s on", c, after)
	t.fault(sim.Fault{Kind: sim.OpenProbe, Step: st.ID, After: seconds(after), For: time.Hour, Strength: c})
	t.want(doubtful(st.ID))
	t.also = all(byTheClock, verdicts(lab.Inspect))
	return t
}

// flatFromTheFill is a probe that shows the same all through a run, after
// runs in which it did not.
func flatFromTheFill(seed uint64) *trial {
	t := newTrial(seed, pick2(seed, "c41", "e6-3"), 7)
	t.told("the whole run")
	t.fault(sim.Fault{Kind: sim.FrozenProbe})
	t.want(doubtful(firstStep(t)))
	t.also = all(byTheClock, pushNotTold, verdicts(lab.Inspect))
	return t
}

// frozen is one that stands still from a moment in the developer on.
func frozen(seed uint64) *trial {
	t := newTrial(seed, pick2(seed, "c41", "e6-3"), 7)
	st := t.step(firstStep(t))
	after := between(t.r, 30, 50)
	t.told("from %.0f s on", after)
	t.fault(sim.Fault{Kind: sim.FrozenProbe, Step: st.ID, After: seconds(after), For: time.Hour})
	t.want(doubtful(st.ID))
	t.also = all(byTheClock, verdicts(lab.Inspect))
	return t
}

// hunts is a heater whose bath swings.
func hunts(seed uint64) *trial {
	t := newTrial(seed, pick2(seed, "c41", "c41-kit"), 2)
	c, period := between(t.r, 0.5, 0.9), between(t.r, 60, 90)
	st := t.step(firstStep(t))
	t.told("±%.2f °C in %.0f s", c, period)
	t.fault(sim.Fault{Kind: sim.HeaterHunts, Step: st.ID, After: seconds(20), Strength: c, Ramp: seconds(period)})
	t.want(wanted{rule: rules.RuleBathTemperature, step: st.ID, says: []string{"swings"}})
	t.also = func(s *stage) []string {
		for _, r := range s.record(s.ordinal()).Reasons {
			if r.Code == "bath-swings" {
				return nil
			}
		}
		return []string{"not among the reasons: " + s.verdictSays()}
	}
	return t
}

// noisyAtTheEdge is a developer that is really a little off, read by a noisy
// probe: one alert, or none, never one after the other.
func noisyAtTheEdge(seed uint64) *trial {
	t := newTrial(seed, "c41", 2)
	st := t.step("developer")
	c := t.sign() * between(t.r, 0.3, 0.5)
	t.told("%+.2f °C, noise 0.2 °C", c)
	t.fault(sim.Fault{Kind: sim.NoisyProbe, Strength: 0.2})
	t.fault(sim.Fault{Kind: sim.BathOffset, Step: st.ID, Strength: c, After: seconds(10)})
	t.want(wanted{rule: rules.RuleBathTemperature, step: st.ID})
	return t
}
