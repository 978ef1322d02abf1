package judge

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"wetside/internal/simulation/sim"
	"wetside/rules/timeline"
)

// pick is one of a list.
func pick[T any](t *trial, list ...T) T { return list[t.r.IntN(len(list))] }

func byParity(seed uint64, a, b string) string {
	if seed%2 == 0 {
		return a
	}
	return b
}

// raisedWithin tells whether an alert was raised within so long of a fault's beginning.
func raisedWithin(kind sim.Kind, within time.Duration) func(*playedTrial, *timeline.OccurrenceChange) string {
	return func(s *playedTrial, o *timeline.OccurrenceChange) string {
		for _, f := range s.lab.Faults() {
			if f.Fault.Kind == kind {
				if d := o.RaisedAt.Sub(f.From); d < -2*time.Second || d > within {
					return fmt.Sprintf("raised %v after the fault; want at most %v", d.Round(time.Second), within)
				}
				return ""
			}
		}
		return "the fault never came"
	}
}

// actsBy tells whether an alert gave a time of day to act by within so many
// seconds of where it should be.
func actsBy(s *playedTrial, o *timeline.OccurrenceChange, want time.Time, within float64) string {
	why := "no time to act by"
	for _, text := range s.replay.texts[o.ID].actAt {
		at, err := time.Parse(time.RFC3339, text)
		if err != nil {
			return err.Error()
		}
		d := at.Sub(want).Seconds()
		if math.Abs(d) <= within {
			return ""
		}
		why = fmt.Sprintf("the time to act by is %+.0f s off", d)
	}
	return why
}

// verdicts checks the verdict of the last run.
func verdicts(right ...string) func(s *playedTrial) []string {
	return func(s *playedTrial) []string {
		run := s.watchedRun(s.ordinal())
		if run.Verdict == nil {
			return []string{"no verdict"}
		}
		if !slices.Contains(right, *run.Verdict) {
			return []string{s.verdictSays()}
		}
		return nil
	}
}

// neverSays checks that no text since the judged run began says any of these.
func neverSays(words ...string) func(s *playedTrial) []string {
	return func(s *playedTrial) (out []string) {
		for _, o := range s.occurrences() {
			for _, w := range words {
				if strings.Contains(s.replay.texts[o.ID].text, w) {
					out = append(out, fmt.Sprintf("says %q: %s", w, s.replay.texts[o.ID].text))
				}
			}
		}
		return out
	}
}

// all are several checks.
func all(checks ...func(s *playedTrial) []string) func(s *playedTrial) []string {
	return func(s *playedTrial) (out []string) {
		for _, c := range checks {
			out = append(out, c(s)...)
		}
		return out
	}
}

// hookContext is the context of entries that are made in a trial's meanwhile,
// which is given none: they touch nothing but memory.
func hookContext() context.Context { return context.Background() }

// notInvented checks that no loss of power is reported where there was none.
func notInvented(s *playedTrial) (out []string) {
	for _, r := range s.replay.runs {
		for _, o := range r.Outages {
			out = append(out, fmt.Sprintf("an outage of %s that never was", o.Kind))
		}
	}
	return out
}
