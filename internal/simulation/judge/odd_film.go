package judge

import (
	"fmt"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
	"wetside/internal/simulation/sim"
	"wetside/rules"
	"wetside/rules/timeline"
)

// colorProcesses are those whose developers have a push table.
var colorProcesses = []string{"c41", "c41-kit", "e6-3", "e6-7"}

// goesIdle is film that the unit forgot in a bath: same boot, new boot, or
// after its will.
func goesIdle(downS []float64, step func(t *trial) string, least lab.Priority) func(uint64) *trial {
	return func(seed uint64) *trial {
		t := newTrial(seed, colorProcesses[seed%4], 2)
		id, down := step(t), pick(t, downS...)
		st := t.step(id)
		at := st.AimS * between(t.r, 0.2, 0.7)
		t.describe("%s at %.0f s, down %.0f s", id, at, down)
		t.tail = 25 * time.Minute
		t.fault(sim.Fault{Kind: sim.GoesIdle, Step: id, After: seconds(at), For: 20 * time.Minute, Strength: down})
		within := 12*time.Second + seconds(down)
		w := wanted{rule: rules.RuleFilmStranded, step: id, least: least, also: func(s *playedTrial, o *timeline.OccurrenceChange) string {
			if why := raisedWithin(sim.GoesIdle, within)(s, o); why != "" {
				return why
			}
			if o.ClearedAt.IsZero() {
				return "stays open after a person said that the film was moved"
			}
			return drainsByHand(s, o, st)
		}}
		t.want(w)
		if down > 40 {
			t.allowed = append(t.allowed, rules.RuleUnitSilent)
		}
		return t
	}
}

// drainsByHand checks when a person is to drain a developer: not before the
// sheet's time, for nothing heats or turns it any more, and not much later.
func drainsByHand(s *playedTrial, o *timeline.OccurrenceChange, st *process.Step) string {
	if st.Kind != process.Dev {
		return ""
	}
	said := s.replay.texts[o.ID].actAt // once the time has passed, the alert names none to come
	if len(said) == 0 {
		return fmt.Sprintf("no time to drain: %v", o.Facts)
	}
	at, err := time.Parse(time.RFC3339, said[len(said)-1])
	if err != nil {
		return err.Error()
	}
	in := at.Sub(s.stepTruth(st.ID).InBath).Seconds()
	want, _ := st.TimeFor(s.last().Push, st.AimS)
	if in < want-personTakesS-3 || in > 1.5*want {
		return fmt.Sprintf("drain %.0f s into the bath; the sheet's time is %.0f s", in, want)
	}
	return ""
}

// personTakesS is what a person takes from going to the unit until the film is out of
// the bath, seconds.
const personTakesS = 20

func firstStep(t *trial) string { return t.sheet.Steps[0].ID }

// unfixed is a step between the developer and the fixer.
func unfixed(t *trial) string {
	return map[string]string{"c41": "bleach", "c41-kit": "bleach", "e6-3": "color-developer", "e6-7": "bleach"}[t.sheet.ID]
}

// rescue is a run that was aborted in a step, and one that goes on from it.
func rescue(continues bool) func(uint64) *trial {
	return func(seed uint64) *trial {
		t := newTrial(seed, byParity(seed, "c41", "e6-7"), 3)
		step := "bleach"
		t.from = 2
		t.last().From, t.last().Continues = step, continues
		t.last().Pause = seconds(between(t.r, 30, 400))
		after := t.step(step).AimS * between(t.r, 0.1, 0.7)
		t.describe("aborted after %.0f s of %s, continues %v", after, step, continues)
		t.fault(sim.Fault{Kind: sim.Aborted, Step: step, After: seconds(after)})
		t.cfg.Schedule.Faults[0].Run = 2
		t.want(wanted{rule: rules.RuleRunAborted, least: lab.Urgent, also: func(_ *playedTrial, o *timeline.OccurrenceChange) string {
			if o.ClearedAt.IsZero() {
				return "stays open though a run took the film on"
			}
			return ""
		}})
		t.also = all(verdicts(lab.InControl, lab.Inspect), func(s *playedTrial) []string {
			run := s.watchedRun(3)
			if run.Film == nil || len(run.Film.Runs) != 2 {
				return []string{fmt.Sprintf("not one film over two runs: %+v", run.Film)}
			}
			return nil
		})
		return t
	}
}

// messagesLostOverStep loses all messages from the draining before the bleach
// until after it.
func messagesLostOverStep(seed uint64) *trial {
	t := newTrial(seed, byParity(seed, "c41", "e6-7"), 3)
	before := t.sheet.Steps[t.sheet.Index("bleach")-1].ID
	long := t.step("bleach").AimS + between(t.r, 45, 70)
	t.describe("%.0f s from the draining of %s", long, before)
	t.fault(sim.Fault{Kind: sim.NetworkLoss, Step: before, Phase: lab.PhaseDraining, After: seconds(between(t.r, 0, 3)), For: seconds(long)})
	t.want(wanted{rule: rules.RuleUnitSilent})
	t.allowed = append(t.allowed, rules.RuleStepShort) // of the next wash only the end was received, and it may be judged by that
	t.also = all(verdicts(lab.Inspect), func(s *playedTrial) []string {
		for _, r := range s.watchedRun(s.ordinal()).Reasons {
			if r.Code == "missing-evidence" && r.Step == "bleach" {
				return nil
			}
		}
		return []string{"no evidence of the bleach, and not said: " + s.verdictSays()}
	})
	return t
}

// unknownPush is a push that the sheet has no time for, aborted or not.
func unknownPush(abort bool) func(uint64) *trial {
	return func(seed uint64) *trial {
		t := newTrial(seed, byParity(seed, "c41", "e6-7"), 2)
		t.last().Push, t.last().SetS = pick(t, 3.0, 3, 4, -3), between(t.r, 200, 600)
		t.describe("push %+g", t.last().Push)
		t.want(wanted{rule: rules.RulePushUnknown, least: lab.Low})
		right := []string{lab.Inspect}
		if abort {
			at := between(t.r, 60, 120)
			t.describe("push %+g, aborted at %.0f s", t.last().Push, at)
			t.fault(sim.Fault{Kind: sim.Aborted, Step: firstStep(t), After: seconds(at)})
			t.want(wanted{rule: rules.RuleRunAborted, least: lab.Urgent})
		}
		t.also = all(verdicts(append(right, lab.OutOfControl)...), func(s *playedTrial) []string {
			if p := s.watchedRun(s.ordinal()).PushErrorStops; p != nil {
				return []string{fmt.Sprintf("push error %+.2f where the sheet has no time", *p)}
			}
			return nil
		})
		return t
	}
}
