package judge

import (
	"fmt"
	"time"

	"wetside/internal/lab"
	"wetside/internal/simulation/sim"
	"wetside/rules"
)

// byTheClock checks that readings that are not believed lead to no advice to
// drain, and to no alert that the bath is warm or cool.
func byTheClock(s *playedTrial) (out []string) {
	for _, o := range s.occurrences() {
		if o.Rule == rules.RuleBathTemperature && o.Priority != lab.Low {
			out = append(out, fmt.Sprintf("%s %s: %s", o.Rule, o.Priority, o.Message))
		}
	}
	return append(out, neverSays("Drain now")(s)...)
}

// pushNotTold checks that there is no push error where half of the development
// or more went without believed readings.
func pushNotTold(s *playedTrial) []string {
	if p := s.watchedRun(s.ordinal()).PushErrorStops; p != nil {
		return []string{fmt.Sprintf("push error %+.2f though most of the developer was unread", *p)}
	}
	return nil
}

// doubtful is the alert that readings in doubt must raise in a developer.
func doubtful(step string, says ...string) wanted {
	return wanted{rule: rules.RuleReadingDoubtful, step: step, least: lab.Urgent, says: says}
}

// inFahrenheit is a unit that sends °F all through a run.
func inFahrenheit(seed uint64) *trial {
	t := newTrial(seed, byParity(seed, "c41", "e6-3"), 2)
	t.describe("the whole run")
	t.fault(sim.Fault{Kind: sim.Fahrenheit})
	t.want(doubtful(firstStep(t), "Fahrenheit"))
	t.also = all(byTheClock, pushNotTold, verdicts(lab.Inspect))
	return t
}

// probeJumps is a probe that reads something else from a moment on.
func probeJumps(seed uint64) *trial {
	t := newTrial(seed, colorProcesses[seed%4], 2)
	c := pick(t, 4.0, 9, 25, -6, -15)
	at := between(t.r, 0.2, 0.5)
	st := t.step(firstStep(t))
	t.describe("%+.0f °C at %.0f s", c, at*st.AimS)
	t.fault(sim.Fault{Kind: sim.ThermistorDrift, Step: st.ID, After: seconds(at * st.AimS), For: time.Hour, Strength: c})
	t.want(doubtful(st.ID))
	t.allowed = append(t.allowed, rules.RuleBathTemperature) // low, in baths that begin with it: their readings agree with each other
	t.also = all(byTheClock, verdicts(lab.Inspect))
	return t
}

// openProbe is a probe whose wire is broken.
func openProbe(seed uint64) *trial {
	t := newTrial(seed, colorProcesses[seed%4], 2)
	c := pick(t, 850.0, -200, 150, -40, 0)
	st := t.step(firstStep(t))
	after := between(t.r, 0, 0.4) * st.AimS
	t.describe("%g °C from %.0f s on", c, after)
	t.fault(sim.Fault{Kind: sim.OpenProbe, Step: st.ID, After: seconds(after), For: time.Hour, Strength: c})
	t.want(doubtful(st.ID))
	t.also = all(byTheClock, verdicts(lab.Inspect))
	return t
}

// flatFromTheFill is a probe that shows the same all through a run, after
// runs in which it did not.
func flatFromTheFill(seed uint64) *trial {
	t := newTrial(seed, byParity(seed, "c41", "e6-3"), 7)
	t.describe("the whole run")
	t.fault(sim.Fault{Kind: sim.FrozenProbe})
	t.want(doubtful(firstStep(t)))
	t.also = all(byTheClock, pushNotTold, verdicts(lab.Inspect))
	return t
}

// frozenProbe is one that stands still from a moment in the developer on.
func frozenProbe(seed uint64) *trial {
	t := newTrial(seed, byParity(seed, "c41", "e6-3"), 7)
	st := t.step(firstStep(t))
	after := between(t.r, 30, 50)
	t.describe("from %.0f s on", after)
	t.fault(sim.Fault{Kind: sim.FrozenProbe, Step: st.ID, After: seconds(after), For: time.Hour})
	t.want(doubtful(st.ID))
	t.also = all(byTheClock, verdicts(lab.Inspect))
	return t
}

// heaterHunts is a heater whose bath swings.
func heaterHunts(seed uint64) *trial {
	t := newTrial(seed, byParity(seed, "c41", "c41-kit"), 2)
	c, period := between(t.r, 0.5, 0.9), between(t.r, 60, 90)
	st := t.step(firstStep(t))
	t.describe("±%.2f °C in %.0f s", c, period)
	t.fault(sim.Fault{Kind: sim.HeaterHunts, Step: st.ID, After: seconds(20), Strength: c, Ramp: seconds(period)})
	t.want(wanted{rule: rules.RuleBathTemperature, step: st.ID, says: []string{"swings"}})
	t.also = func(s *playedTrial) []string {
		for _, r := range s.watchedRun(s.ordinal()).Reasons {
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
	t.describe("%+.2f °C, noise 0.2 °C", c)
	t.fault(sim.Fault{Kind: sim.NoisyProbe, Strength: 0.2})
	t.fault(sim.Fault{Kind: sim.BathOffset, Step: st.ID, Strength: c, After: seconds(10)})
	t.want(wanted{rule: rules.RuleBathTemperature, step: st.ID})
	return t
}
