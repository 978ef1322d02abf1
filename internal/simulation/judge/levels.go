package judge

import (
	"context"
	"fmt"
	"io"
	"slices"

	"wetside/rules/timeline"
)

// Levels is how well wetside knows what its containers hold: unit-weeks in which
// nothing is wrong, and as many with a fault in each.
type Levels struct {
	sound  []levelOutcome
	faults [][]levelOutcome // as levelFaults
}

// Targets of the issue: false alerts a unit-week, the share of samples in which
// runs left are right, the share of emptyings with one alert, and of faults that
// are told in time.
const (
	mostFalse    = 1. / 50
	leastRight   = 0.99
	leastOne     = 0.99
	leastInTime  = 0.9
	levelWeeks   = 300
	levelSeedsAt = 1_900_000
)

// JudgeLevels judges unit-weeks of a range of seeds: so many sound ones, and as
// many with faults.
func JudgeLevels(ctx context.Context, seeds Seeds, only string) (*Levels, error) {
	n := min(levelWeeks, seeds.Count)
	j := &Levels{sound: make([]levelOutcome, n), faults: make([][]levelOutcome, len(levelFaults))}
	var work []func()
	for i := range n {
		seed := seeds.First + levelSeedsAt + uint64(i)
		if only == "" || only == "sound" {
			work = append(work, func() { j.sound[i] = drawLevelWeek(seed, nil).judge(ctx) })
		}
		k := i % len(levelFaults)
		if f := &levelFaults[k]; only == "" || only == f.name {
			at := len(j.faults[k])
			j.faults[k] = append(j.faults[k], levelOutcome{})
			work = append(work, func() { j.faults[k][at] = drawLevelWeek(seed+5000, f).judge(ctx) })
		}
	}
	inParallel(work)
	for _, list := range append(slices.Clone(j.faults), j.sound) {
		for _, o := range list {
			if o.err != nil {
				return nil, o.err
			}
		}
	}
	return j, nil
}

// levelSums are the sums over the sound weeks.
type levelSums struct{ weeks, samples, right, ranges, emptyings, one, false int }

func (j *Levels) sums() (s levelSums) {
	for _, o := range j.sound {
		if o.week == nil {
			continue
		}
		s.weeks++
		s.samples, s.right, s.ranges = s.samples+o.samples, s.right+o.right, s.ranges+o.ranges
		s.emptyings, s.one, s.false = s.emptyings+o.emptyings, s.one+o.one, s.false+len(o.pages)
	}
	return s
}

func share(n, of int) float64 { return float64(n) / float64(max(of, 1)) }

// inTime counts the faults that began, those told in time, and those named.
func (f *levelFault) inTime(list []levelOutcome) (began, told, inTime, named int) {
	for _, o := range list {
		if o.week == nil || o.began.IsZero() {
			continue
		}
		began++
		if o.found.IsZero() {
			continue
		}
		told++
		if o.named {
			named++
		}
		if o.runs <= f.within {
			inTime++
		}
	}
	return began, told, inTime, named
}

// Failed tells whether a target was missed.
func (j *Levels) Failed() bool {
	s := j.sums()
	if s.weeks == 0 || s.samples == 0 || s.emptyings == 0 || share(s.false, s.weeks) >= mostFalse || share(s.right, s.samples) < leastRight || share(s.one, s.emptyings) < leastOne {
		return true
	}
	for i := range levelFaults {
		if began, _, inTime, _ := levelFaults[i].inTime(j.faults[i]); began == 0 || share(inTime, began) < leastInTime {
			return true
		}
	}
	return false
}

// Print prints its figures.
func (j *Levels) Print(w io.Writer) {
	line := func(missed bool, format string, args ...any) {
		fmt.Fprintf(w, "%-6s  "+format+"\n", append([]any{map[bool]string{true: "MISSED", false: "ok"}[missed]}, args...)...)
	}
	s := j.sums()
	fmt.Fprintf(w, "levels: %d unit-weeks of 25 runs in which nothing is wrong\n", s.weeks)
	line(share(s.false, s.weeks) >= mostFalse, "false alerts of levels and pumps: %d, %.3f a unit-week (under %.2f)", s.false, share(s.false, s.weeks), mostFalse)
	line(share(s.right, s.samples) < leastRight, "runs left right: %.2f %% of %d (at least 99); %.0f %% told as a range", 100*share(s.right, s.samples), s.samples, 100*share(s.ranges, s.samples))
	line(share(s.one, s.emptyings) < leastOne, "one alert an emptying: %.2f %% of %d (at least 99)", 100*share(s.one, s.emptyings), s.emptyings)
	for i := range levelFaults {
		f := &levelFaults[i]
		began, told, inTime, named := f.inTime(j.faults[i])
		line(share(inTime, began) < leastInTime, "%-40s told in %d of %d, within %d run(s) in %d, named as what it is in %d", f.name, told, began, f.within, inTime, named)
	}
}

// Misses lists what was wrong.
func (j *Levels) Misses(w io.Writer, most int) {
	list := func(what string, of []string) {
		for _, x := range of[:min(len(of), most)] {
			fmt.Fprintf(w, "%s  %s\n", what, x)
		}
	}
	var false, wrong, often []string
	for _, o := range j.sound {
		for _, a := range o.pages {
			false = append(false, alertLine(o.week, &a))
		}
		wrong, often = append(wrong, o.wrong...), append(often, o.often...)
	}
	list("false", false)
	list("runs left", wrong)
	list("emptying", often)
	for i := range levelFaults {
		var missed []string
		for _, o := range j.faults[i] {
			if o.week != nil && !o.began.IsZero() && (o.runs > levelFaults[i].within || o.found.IsZero() || !o.named) {
				x := fmt.Sprintf("week %d %s: began %s, told %s, run %d, named %v", o.week.seed, o.week.process, o.began.Format("Mon 15:04"), o.found.Format("Mon 15:04"), o.runs, o.named)
				for _, a := range o.pages {
					x += "\n        " + alertLine(o.week, &a)
				}
				missed = append(missed, x)
			}
		}
		list(levelFaults[i].name, missed)
	}
}

func alertLine(w *levelWeek, o *timeline.OccurrenceChange) string {
	return fmt.Sprintf("week %d %s %s %s %s %s: %s %v", w.seed, w.process, o.RaisedAt.Format("Mon 15:04"), o.Priority, o.Rule, o.Subject, o.Message, o.Facts["fault"])
}

func byRaised(a, b timeline.OccurrenceChange) int { return a.RaisedAt.Compare(b.RaisedAt) }
