package judge

import (
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
	"wetside/internal/simulation/sim"
	"wetside/rules"
)

// Week is a busy week of a lab in which nothing is wrong: six units whose
// probes and days are odd but sound. Every page in it is a false one.
type Week struct {
	labs, runs, sound int
	pages, shown      []string
	short             []string // runs called other than in-control
}

// mostPages is how many pages twenty sound runs may give.
const mostPages = 1.0

// Failed tells whether the week paged too often.
func (w *Week) Failed() bool { return w.runs == 0 || w.per20() >= mostPages }

func (w *Week) per20() float64 { return 20 * float64(len(w.pages)) / float64(max(w.runs, 1)) }

// Print prints its figures.
func (w *Week) Print(out io.Writer) {
	mark := map[bool]string{true: "MISSED", false: "ok"}[w.Failed()]
	fmt.Fprintf(out, "%s  a normal busy week, %d labs of six units: %d pages in %d runs, %.2f in 20 runs (under %g); %d low alerts; %d of %d runs in-control\n",
		mark, w.labs, len(w.pages), w.runs, w.per20(), mostPages, len(w.shown), w.sound, w.runs)
}

// Misses lists what paged.
func (w *Week) Misses(out io.Writer, most int) {
	for what, list := range map[string][]string{"page": w.pages, "low": w.shown, "verdict": w.short} {
		for _, x := range list[:min(len(list), 4*most)] {
			fmt.Fprintf(out, "%s  %s\n", what, x)
		}
	}
}

// weekLabs is how many weeks are judged.
const weekLabs = 4

// JudgeWeek judges weeks of a range of seeds.
func JudgeWeek(ctx context.Context, seeds Seeds) (*Week, error) {
	n := min(weekLabs, seeds.Count)
	out := make([]*Week, n)
	errs := make([]error, n)
	var work []func()
	for i := range n {
		work = append(work, func() { out[i], errs[i] = week(ctx, seeds.First+900_000+uint64(i), 5, 6) })
	}
	inParallel(work)
	sum := &Week{}
	for i, w := range out {
		if errs[i] != nil {
			return nil, errs[i]
		}
		sum.labs++
		sum.runs += w.runs
		sum.sound += w.sound
		sum.pages, sum.shown, sum.short = append(sum.pages, w.pages...), append(sum.shown, w.shown...), append(sum.short, w.short...)
	}
	return sum, nil
}

// week plays so many days of a lab with so many runs a unit and day.
func week(ctx context.Context, seed uint64, days, runs int) (*Week, error) {
	cfg := weekPlan(seed, days, runs)
	l, err := sim.New(cfg)
	if err != nil {
		return nil, fmt.Errorf("week %d: %w", seed, err)
	}
	f := newReplay(cfg.Start)
	end := cfg.Start.AddDate(0, 0, days)
	for at := cfg.Start; at.Before(end); at = at.Add(time.Minute) {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		for _, raw := range l.Advance(at) {
			if err := f.take(ctx, raw); err != nil {
				return nil, fmt.Errorf("week %d: %w", seed, err)
			}
		}
	}
	if err := f.finish(ctx); err != nil {
		return nil, err
	}
	return countWeek(f, l, seed), nil
}

// countWeek counts what a week gave.
func countWeek(f *replay, l *sim.Lab, seed uint64) *Week {
	w := &Week{labs: 1}
	for _, t := range l.Runs() {
		u, err := lab.ParseUnitID(t.Unit)
		if err != nil || t.Ended.IsZero() {
			continue
		}
		w.runs++
		r := f.runs[rules.RunID(u, t.Run)]
		switch {
		case r.Verdict != nil && *r.Verdict == lab.InControl, t.Kind != lab.KindOfRunFilm:
			w.sound++
		case r.Verdict == nil:
			w.short = append(w.short, fmt.Sprintf("week %d %s %s: no verdict", seed, t.Run, t.Process))
		default:
			w.short = append(w.short, fmt.Sprintf("week %d %s %s: %s %+v", seed, t.Run, t.Process, *r.Verdict, r.Reasons))
		}
	}
	for _, o := range f.occurrences {
		text := fmt.Sprintf("week %d %s %s %s %s: %s", seed, o.Unit, o.RaisedAt.Format("Mon 15:04:05"), o.Priority, o.Rule, o.Message)
		if o.Priority == lab.Low || o.FoundAfterwards {
			w.shown = append(w.shown, text)
		} else {
			w.pages = append(w.pages, text)
		}
	}
	slices.Sort(w.pages)
	slices.Sort(w.shown)
	return w
}

// oddProbes are the probes of the six units: steps and noise in °C, and a
// reading every so many seconds.
var oddProbes = []struct{ step, noise, everyS float64 }{
	{0.1, 0.03, 5}, {0.5, 0.05, 5}, {0, 0.2, 1}, {0.1, 0.1, 30}, {0, 0.02, 2.5}, {0.1, 0.15, 1},
}

// weekPlan is a lab from Monday on: six units, each with an odd but sound
// probe, cold mornings, 12 °C water, some with floats only, and black and
// white at many times and temperatures.
func weekPlan(seed uint64, days, runs int) sim.Config {
	r := rand.New(rand.NewPCG(seed, 0x7765656b))
	monday := time.Date(2026, 1, 12, 0, 0, 0, 0, time.UTC)
	cfg := sim.Config{Seed: seed, Start: monday}
	kits := [][]string{{"c41"}, {"e6-7"}, {"bw"}, {"c41-kit"}, {"bw"}, {"e6-3"}}
	probes := r.Perm(len(oddProbes))
	for i, name := range sim.UnitNames(len(kits)) {
		p := oddProbes[probes[i]]
		u := sim.UnitPlan{Name: name, Processes: kits[i], RoomC: between(r, 16, 20), RoomSwingC: between(r, 2, 4), TapC: 12,
			ProbeStepC: p.step, ProbeNoiseC: p.noise, FloatsOnly: r.IntN(3) == 0, Cadence: sim.Cadence{BathTemp: seconds(p.everyS)}}
		for day := range days {
			open := monday.AddDate(0, 0, day).Add(7*time.Hour + time.Duration(r.IntN(2400))*time.Second)
			u.Shifts = append(u.Shifts, sim.Shift{On: open, Off: open.Add(11 * time.Hour)})
			at := open.Add(3 * time.Minute)
			for range runs {
				u.Runs = append(u.Runs, weekRun(r, kits[i][0], at))
				at = at.Add(9 * time.Hour / time.Duration(runs))
			}
		}
		cfg.Schedule.Units = append(cfg.Schedule.Units, u)
		cfg.Schedule.Faults = append(cfg.Schedule.Faults, sim.Fault{Kind: sim.Duplicated, Unit: name, At: monday, Strength: 0.01})
	}
	return cfg
}

// weekRun is one of the runs that a lab does.
func weekRun(r *rand.Rand, id string, at time.Time) sim.RunPlan {
	p := sim.RunPlan{At: at, Process: id, Push: []float64{0, 0, 0, 0, 1, 2, -1}[r.IntN(7)]}
	if id == "bw" {
		p.SetS = []float64{270, 330, 390, 435, 480, 570, 660, 780, 900}[r.IntN(9)]
		p.AtC = []float64{20, 20, 20, 21, 22, 24}[r.IntN(6)]
	}
	if sheet, ok := process.Builtin().Sheet(id); ok && r.IntN(12) == 0 && sheet.ID == "c41" {
		p.Kind, p.Push = lab.KindOfRunStrip, 0
	}
	return p
}
