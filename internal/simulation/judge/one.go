package judge

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"time"

	"wetside/internal/simulation/sim"
)

// One judges the run of one seed and prints all that is known of it.
func One(ctx context.Context, w io.Writer, seed uint64) error {
	p, err := play(ctx, drawScenario(seed))
	if err != nil {
		return err
	}
	o := p.judgeRun()
	fmt.Fprintf(w, "seed %d: %s %s, %s push %+g, run %d of the unit, cooling seen before: %v\n", seed, p.name, p.strength, p.process, p.push, p.last, p.known)
	fmt.Fprintf(w, "unit: %+v, room %.1f °C\n", p.traits, p.plan.RoomC)
	for _, f := range p.faults {
		fmt.Fprintf(w, "fault: %s in %s %s, %s to %s, strength %.2f\n", f.Fault.Kind, f.Run, f.Step, clock(f.From), clock(f.To), f.Fault.Strength)
	}
	for _, d := range p.actions {
		fmt.Fprintf(w, "entry: %s at %s in %s %s\n", d.Entry.What, clock(d.Entry.At), d.Run, d.Entry.Body)
	}
	for i := range p.truths {
		if t := &p.truths[i]; t.Ordinal == p.last {
			p.printTruth(w, t)
		}
	}
	fmt.Fprintf(w, "\nverdict %d, right %d to %d, left out %v\n  certain: %s\n  on an edge: %s\n  first reason %q, right %v\n", o.verdict, o.low, o.high, o.leftOut,
		strings.Join(o.why, "; "), strings.Join(o.edges, "; "), o.first, p.want.firstReasons)
	for _, v := range o.pushes {
		fmt.Fprintf(w, "push error: %+v\n", v)
	}
	for _, a := range o.advice {
		fmt.Fprintf(w, "advice: %+v\n", a)
	}
	for _, a := range o.outlooks {
		b, err := json.Marshal(a.What)
		if err != nil {
			return err
		}
		fmt.Fprintf(w, "board %.0f s after the %s: right %v, %.1f s off, costs %.3f stop: %s\n", a.AfterS, a.Kind, a.Right, a.OffS, a.Costs, b)
	}
	fmt.Fprintf(w, "pages:\n  %s\n", strings.Join(o.pages, "\n  "))
	return nil
}

func (p *playedScenario) printTruth(w io.Writer, t *sim.RunTruth) {
	fmt.Fprintf(w, "\nrun %s, %s to %s, aborted %v\n", t.Run, clock(t.Began), clock(t.Ended), t.Aborted)
	for _, x := range p.steps(t) {
		fmt.Fprintf(w, "  %d %-16s in %s for %6.1f s (sheet %.0f, set %.0f), %.2f to %.2f °C, still %.1f s, unheard %.1f s, outside %+v, drained %.1f s and filled %.1f s too long",
			x.N, x.Step, clock(x.InBath), x.TimeS, x.sheetS, x.ControllerSetS, x.MinC, x.MaxC, x.longestStillS, x.withoutReadingS, x.outside, x.drainedS, x.filledS)
		if x.sheet.Factor.Best > 0 {
			fmt.Fprintf(w, ", equivalent %.1f s by the film, %.1f s by the probe", p.equivalentS(&x, byFilm, p.trueFactor(&x), 0), p.equivalentS(&x, byProbe, x.sheet.Factor.Best, 0))
		}
		fmt.Fprintln(w)
	}
	if run, ok := p.watchedRun(t); ok {
		b, err := json.MarshalIndent(run, "  ", "  ")
		if err == nil {
			fmt.Fprintf(w, "\nthe record:\n  %s\n", b)
		}
	}
}

func clock(t time.Time) string {
	if t.IsZero() {
		return "-"
	}
	return t.Format("15:04:05.0")
}
