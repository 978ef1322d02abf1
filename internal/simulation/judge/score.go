package judge

import (
	"fmt"
	"math"
	"slices"
	"time"

	"wetside/internal/process"
)

// Score is what all runs of a range add up to.
type Score struct {
	Seeds    Seeds
	Took     time.Duration
	Lines    []Line
	outcomes []outcome
}

// Line is one figure with its target.
type Line struct {
	What   string
	Got    string
	Target string // "" for a figure without one
	OK     bool
}

// Failed tells whether a target was missed.
func (s *Score) Failed() bool {
	return slices.ContainsFunc(s.Lines, func(l Line) bool { return l.Target != "" && !l.OK })
}

// The targets. Those of verdict, reason, push error and coverage were set from
// outside; the others are our own.
const (
	verdictShare  = 0.97
	reasonShare   = 0.95
	errorStops    = 0.05
	coverShare    = 0.95
	widthReadings = 1.25 // times the narrowest that the probe, the kinetics and the push times allow
	widthOutage   = 1.5
	regretStops   = 0.10 // before the power is back
	adviceStops   = 0.17 // afterwards: the tightest inspect edge of any sheet
	equivalentOff = 0.01 // of the sheet's time, for developers that do not push
	wordShare     = 0.95
)

func newScore(seeds Seeds, out []outcome) *Score {
	s := &Score{Seeds: seeds, outcomes: out}
	s.verdicts()
	s.reasons()
	s.pushErrors()
	s.powerLosses()
	s.adviceLines()
	s.outlookLines()
	s.cleanRuns()
	return s
}

func (s *Score) line(what string, ok bool, target, got string, args ...any) {
	s.Lines = append(s.Lines, Line{What: what, Got: fmt.Sprintf(got, args...), Target: target, OK: ok})
}

// share adds a line of so many out of so many. Nothing to count is a miss: a
// target that nothing was tried on is not reached.
func (s *Score) share(what string, right, of int, least float64) {
	got := 0.0
	if of > 0 {
		got = float64(right) / float64(of)
	}
	s.line(what, of > 0 && got >= least, fmt.Sprintf("at least %.0f %%", 100*least), "%.1f %% (%d of %d)", 100*got, right, of)
}

func (s *Score) verdicts() {
	right, of, left, gone := 0, 0, 0, 0
	for i := range s.outcomes {
		switch o := &s.outcomes[i]; {
		case o.missing:
			gone++
			of++
		case o.leftOut:
			left++
		default:
			of++
			if o.verdictOK() {
				right++
			}
		}
	}
	s.share("verdict right", right, of, verdictShare)
	s.line("left out: on an edge", left <= s.Seeds.Count/5, "at most 20 %", "%d of %d", left, s.Seeds.Count)
	s.line("runs without a record or verdict", gone == 0, "none", "%d", gone)
}

func (o *outcome) verdictOK() bool {
	return !o.missing && o.verdict >= o.low && o.verdict <= o.high
}

func (s *Score) reasons() {
	right, of := 0, 0
	for i := range s.outcomes {
		if o := &s.outcomes[i]; o.judgedBy {
			of++
			if o.firstOK {
				right++
			}
		}
	}
	s.share("first reason right", right, of, reasonShare)
}

func (s *Score) pushErrors() {
	var errs, needs []float64
	widths := map[string][]float64{}
	ratios := map[string][]float64{}
	missing, missed := 0, map[string]int{}
	count := map[string]int{}
	for i := range s.outcomes {
		for _, v := range s.outcomes[i].pushes {
			if v.Missing {
				missing++
				continue
			}
			if v.Readings {
				errs = append(errs, math.Abs(v.Got-v.Shown))
			}
			for _, g := range v.groups() {
				count[g]++
				if !v.Covered {
					missed[g]++
				}
				widths[g] = append(widths[g], v.High-v.Low)
				ratios[g] = append(ratios[g], (v.High-v.Low)/(v.NarrowestHigh-v.NarrowestLow))
			}
			if v.Outage {
				needs = append(needs, v.shareUsed())
			}
		}
	}
	s.line("error of the push error, where readings exist", len(errs) > 0 && quantile(errs, 0.95) <= errorStops,
		fmt.Sprintf("95th at most %.2f stop", errorStops), "50th %.4f, 95th %.4f, most %.3f stop (%d)", quantile(errs, 0.5), quantile(errs, 0.95), quantile(errs, 1), len(errs))
	s.line("developers without a push error", true, "", "%d", missing)
	for _, g := range []string{"all", "outages", "outages, readings", "outages, none, cooling seen", "outages, none, never seen"} {
		s.share("truth within low..high: "+g, count[g]-missed[g], count[g], coverShare)
		most := widthOutage
		if g == "all" || g == "outages, readings" {
			most = widthReadings
		}
		s.line("width of low..high: "+g, len(ratios[g]) > 0 && quantile(ratios[g], 0.5) <= most, fmt.Sprintf("median at most %.2f of the narrowest", most),
			"median %.3f stop, 95th %.3f; %.2f and %.2f times the narrowest", quantile(widths[g], 0.5), quantile(widths[g], 0.95), quantile(ratios[g], 0.5), quantile(ratios[g], 0.95))
	}
	s.line("share of the half width that outages used", true, "", "50th %.2f, 95th %.2f", quantile(needs, 0.5), quantile(needs, 0.95))
}

// groups are those that a push error counts in.
func (v *judgedPush) groups() []string {
	g := []string{"all"}
	switch {
	case !v.Outage:
		return g
	case v.Readings:
		return append(g, "outages", "outages, readings")
	case v.Known:
		return append(g, "outages", "outages, none, cooling seen")
	}
	return append(g, "outages", "outages, none, never seen")
}

// shareUsed is how far the truth lies towards the bound on its side, 0 to 1 within
// the range.
func (v *judgedPush) shareUsed() float64 {
	d := v.Film - v.Got
	side := v.High - v.Got
	if d < 0 {
		side = v.Got - v.Low
	}
	return math.Abs(d) / max(side, 1e-6)
}

// powerLosses judges whether the losses of power are in the records, and what
// developers that do not push are said to have got.
func (s *Score) powerLosses() {
	right, of, invented, missing := 0, 0, 0, 0
	var off []float64
	for i := range s.outcomes {
		o := &s.outcomes[i]
		invented += o.invented
		for _, c := range o.powerLosses {
			if of++; c.Right {
				right++
			}
		}
		for _, v := range o.equivalents {
			if v.Missing {
				missing++
			} else {
				off = append(off, v.Off)
			}
		}
	}
	s.line("error of the equivalent time of other developers", len(off) > 0 && missing == 0 && quantile(off, 0.95) <= equivalentOff,
		fmt.Sprintf("95th at most %.0f %%", 100*equivalentOff), "50th %.2f %%, 95th %.2f %%, most %.2f %% (%d; %d without)", 100*quantile(off, 0.5),
		100*quantile(off, 0.95), 100*quantile(off, 1), len(off), missing)
	s.share(fmt.Sprintf("losses of power in the record, within %d s", nearEnoughS), right, of, coverShare)
	s.line("outages in the record that never were", invented == 0, "none", "%d", invented)
}

func (s *Score) adviceLines() {
	var off, regret []float64
	missing, of, fits := 0, 0, 0
	for i := range s.outcomes {
		for _, a := range s.outcomes[i].advice {
			of++
			if a.Right {
				fits++
			}
			if a.Missing {
				missing++
				continue
			}
			off, regret = append(off, math.Abs(a.OffS)), append(regret, a.Costs)
		}
	}
	s.share("advice: the word fits the physics", fits, of, wordShare)
	s.line("advice: cost against the best moment to drain", len(regret) > 0 && quantile(regret, 0.95) <= adviceStops,
		fmt.Sprintf("95th at most %.2f stop", adviceStops), "50th %.3f, 95th %.3f, most %.3f stop; 50th %.1f s, 95th %.1f s off", quantile(regret, 0.5),
		quantile(regret, 0.95), quantile(regret, 1), quantile(off, 0.5), quantile(off, 0.95))
	s.line("outages in a developer without advice in seconds", missing == 0, "none", "%d of %d", missing, of)
}

// outlookLines judge what the board said before the power was back.
func (s *Score) outlookLines() {
	var cost, blind []float64
	of, said, fits, ranged, covered := 0, 0, 0, 0, 0
	for i := range s.outcomes {
		for _, o := range s.outcomes[i].outlooks {
			if of++; o.Missing {
				continue
			}
			if said++; o.Right {
				fits++
			}
			if o.Ranged {
				if ranged++; o.Covered {
					covered++
				}
			}
			switch {
			case o.Action != process.DrainAt:
			case o.NothingKnown:
				blind = append(blind, o.Costs)
			default:
				cost = append(cost, o.Costs)
			}
		}
	}
	s.share("before the power is back: the board says what to do", said, of, 1)
	s.share("before the power is back: it fits the physics", fits, said, wordShare)
	s.share("before the power is back: the film would end within its range", covered, ranged, coverShare)
	s.line("before the power is back: cost of draining as it says", len(cost) > 0 && quantile(cost, 0.95) <= regretStops,
		fmt.Sprintf("95th at most %.2f stop", regretStops), "50th %.3f, 95th %.3f stop (%d)", quantile(cost, 0.5), quantile(cost, 0.95), len(cost))
	s.line("the same with nothing read and the unit never seen to cool", true, "", "50th %.3f, 95th %.3f stop (%d)", quantile(blind, 0.5), quantile(blind, 0.95), len(blind))
}

func (s *Score) cleanRuns() {
	runs, wrong, paged := 0, 0, 0
	for i := range s.outcomes {
		o := &s.outcomes[i]
		if o.clean {
			runs++
			paged += len(o.pages)
			if o.missing || o.verdict != inControl {
				wrong++
			}
		}
		for _, b := range o.before {
			runs++
			paged += len(b.pages)
			if b.verdict != inControl {
				wrong++
			}
		}
	}
	s.line("runs without fault called other than in-control", runs > 0 && wrong == 0, "none", "%d of %d", wrong, runs)
	s.line("pages in runs without fault", runs > 0 && paged == 0, "none", "%d in %d runs", paged, runs)
}

// quantile of a list, by the nearest rank.
func quantile(list []float64, q float64) float64 {
	if len(list) == 0 {
		return math.NaN()
	}
	l := slices.Sorted(slices.Values(list))
	return l[min(len(l)-1, max(0, int(math.Ceil(q*float64(len(l))))-1))]
}
