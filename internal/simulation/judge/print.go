package judge

import (
	"cmp"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
	"text/tabwriter"
)

// Print prints the table.
func (s *Score) Print(w io.Writer) {
	fmt.Fprintf(w, "%d runs, seeds %d to %d (%s)\n\n", s.Seeds.Count, s.Seeds.First, s.Seeds.First+uint64(s.Seeds.Count)-1, s.Seeds.Name)
	s.confusion(w)
	s.byTrouble(w)
	t := tabwriter.NewWriter(w, 0, 8, 2, ' ', 0)
	for _, l := range s.Lines {
		mark := ""
		if l.Target != "" {
			mark = map[bool]string{true: "ok", false: "MISSED"}[l.OK]
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\n", mark, l.What, l.Got, l.Target)
	}
	t.Flush()
}

func (s *Score) confusion(w io.Writer) {
	var n [3][4]int
	for i := range s.outcomes {
		if o := &s.outcomes[i]; !o.leftOut && !o.missing && o.low == o.high && o.verdict >= 0 {
			n[o.low][o.verdict]++
		}
	}
	t := tabwriter.NewWriter(w, 0, 8, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "truly \\ called\tin-control\tinspect\tout-of-control\t")
	for i, l := range levels {
		fmt.Fprintf(t, "%s\t%d\t%d\t%d\t\n", l, n[i][0], n[i][1], n[i][2])
	}
	t.Flush()
	fmt.Fprintln(w)
}

type troubleCounts struct{ runs, left, verdicts, reasons, firsts int }

func (s *Score) byTrouble(w io.Writer) {
	by := map[string]*troubleCounts{}
	for i := range s.outcomes {
		o := &s.outcomes[i]
		c := by[o.scenario.name]
		if c == nil {
			c = &troubleCounts{}
			by[o.scenario.name] = c
		}
		c.runs++
		switch {
		case o.leftOut:
			c.left++
		case o.verdictOK():
			c.verdicts++
		}
		if o.judgedBy {
			if c.reasons++; o.firstOK {
				c.firsts++
			}
		}
	}
	t := tabwriter.NewWriter(w, 0, 8, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "what goes wrong\truns\tleft out\tverdict right\tfirst reason right\t")
	for _, name := range slices.Sorted(maps.Keys(by)) {
		c := by[name]
		fmt.Fprintf(t, "%s\t%d\t%d\t%d of %d\t%d of %d\t\n", name, c.runs, c.left, c.verdicts, c.runs-c.left, c.firsts, c.reasons)
	}
	t.Flush()
	fmt.Fprintln(w)
}

// Misses prints what was wrong, run by run, at most so many of a kind.
func (s *Score) Misses(w io.Writer, most int) {
	seen := map[string]int{}
	say := func(kind string, o *outcome, format string, args ...any) {
		if seen[kind]++; seen[kind] <= most {
			fmt.Fprintf(w, "%s  ONE=%d  %s %s (%s %+g): %s\n", kind, o.scenario.seed, o.scenario.name, o.scenario.strength, o.scenario.process, o.scenario.push, fmt.Sprintf(format, args...))
		}
	}
	for i := range s.outcomes {
		o := &s.outcomes[i]
		if o.missing {
			say("no record", o, "")
			continue
		}
		if !o.leftOut && !o.verdictOK() {
			say("verdict", o, "called %s (%s); truly %s to %s: %s", levels[o.verdict], o.first, levels[o.low], levels[o.high], strings.Join(o.why, "; "))
		}
		if o.judgedBy && !o.firstOK {
			say("reason", o, "%q; want one of %v: %s", o.first, o.scenario.want.firstReasons, strings.Join(o.why, "; "))
		}
		missPushes(o, say)
		if o.clean && len(o.pages) > 0 {
			say("page", o, "%s", strings.Join(o.pages, "; "))
		}
		for _, b := range o.before {
			if b.verdict != inControl || len(b.pages) > 0 {
				say("clean run before", o, "verdict %d %v, pages %v", b.verdict, b.reasons, b.pages)
			}
		}
	}
	for _, k := range slices.SortedFunc(maps.Keys(seen), cmp.Compare[string]) {
		fmt.Fprintf(w, "%d of kind %q\n", seen[k], k)
	}
}

func missPushes(o *outcome, say func(string, *outcome, string, ...any)) {
	for _, v := range o.pushes {
		switch {
		case v.Missing:
			say("no push error", o, "%s", v.Step)
			continue
		case v.Readings && max(v.Got-v.Shown, v.Shown-v.Got) > errorStops:
			say("push error", o, "%s: %+.3f; truly %+.3f", v.Step, v.Got, v.Shown)
		}
		if !v.Covered {
			say("not covered", o, "%s: %+.3f (%+.3f to %+.3f); the film %+.3f; readings %v outage %v seen %v", v.Step, v.Got, v.Low, v.High, v.Film, v.Readings, v.Outage, v.Known)
		}
	}
	for _, c := range o.powerLosses {
		if !c.Right {
			say("loss of power", o, "%s in %s, %.0f s; the record: missing %v, %.0f s", c.Kind, c.Step, c.TrueS, c.Missing, c.GotS)
		}
	}
	if o.invented > 0 {
		say("invented outage", o, "%d", o.invented)
	}
	for _, v := range o.equivalents {
		if v.Missing || v.Off > equivalentOff {
			say("equivalent time", o, "%s: missing %v, %.2f %% off", v.Step, v.Missing, 100*v.Off)
		}
	}
	for _, a := range o.outlooks {
		switch {
		case a.Missing:
			say("outlook missing", o, "%s, %.0f s after the cut", a.Kind, a.AfterS)
		case !a.Right:
			say("outlook", o, "%s, %.0f s after the cut: %s: %s", a.Kind, a.AfterS, a.Action, a.What.Text)
		case a.Ranged && !a.Covered:
			say("outlook range", o, "%s, %.0f s after the cut: %.2f to %.2f: %s", a.Kind, a.AfterS, *a.What.PushLowStops, *a.What.PushHighStops, a.What.Text)
		case a.Costs > regretStops && !a.NothingKnown:
			say("outlook cost", o, "%s, %.0f s after the cut: %s %+.1f s off, costs %.2f stop", a.Kind, a.AfterS, a.Action, a.OffS, a.Costs)
		}
	}
	for _, a := range o.advice {
		if a.Missing || !a.Right {
			say("advice", o, "%s %s: %q, %+.0f s off the best: %s", a.Kind, a.Step, a.Word, a.OffS, a.Text)
		} else if a.Costs > adviceStops {
			say("advice cost", o, "%s %s: %+.1f s off, costs %.2f stop", a.Kind, a.Step, a.OffS, a.Costs)
		}
	}
}
