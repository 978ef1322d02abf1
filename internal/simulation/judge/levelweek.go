package judge

import (
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
	"wetside/internal/simulation/sim"
	"wetside/rules"
	"wetside/rules/timeline"
)

// levelWeek is a working week of one unit: five days of five runs, by people who
// empty the waste when they are told to and see themselves that there is enough
// to draw. What its probes, floats and pumps are worth is drawn.
type levelWeek struct {
	seed    uint64
	r       *rand.Rand
	process string
	plan    sim.UnitPlan
	faults  []sim.Fault
	fault   *levelFault // nil: nothing is wrong
}

const (
	weekDays   = 5
	runsADay   = 5
	lastLevel  = 10 * time.Minute // how often what is said is set beside the truth
	fillsML    = 500
	handsAfter = 3 * time.Minute // after a person was at a container
	secondHand = 40 * time.Minute
	peopleL    = 2. // in a minute: more than any fault here moves, or a pump against its direction
)

// drawLevelWeek draws the week of a seed. fault is what goes wrong, nil for
// nothing.
func drawLevelWeek(seed uint64, fault *levelFault) *levelWeek {
	r := rand.New(rand.NewPCG(seed, 0x6c6576656c73))
	monday := time.Date(2026, 1, 12, 0, 0, 0, 0, time.UTC)
	w := &levelWeek{seed: seed, r: r, process: anyProcess[r.IntN(len(anyProcess))], fault: fault}
	w.plan = sim.UnitPlan{Name: unitName, Processes: []string{w.process}, Cadence: sim.Sparse, Untidy: true,
		LevelNoise: between(r, 0.001, 0.012), LevelOffset: between(r, -0.005, 0.005), PumpGain: between(r, -0.04, 0.04),
		CarryOverML: between(r, 10, 40), EvaporationLH: between(r, 0.01, 0.05)}
	w.plan.FloatsOnly = r.IntN(6) == 0 && (fault == nil || !fault.wantsProbe)
	setS := []float64{360, 405, 450, 510}[r.IntN(4)]
	for day := range weekDays {
		open := monday.AddDate(0, 0, day).Add(8*time.Hour + seconds(between(r, 0, 2400)))
		w.plan.Shifts = append(w.plan.Shifts, sim.Shift{On: open, Off: open.Add(11 * time.Hour)})
		for run := range runsADay {
			w.plan.Runs = append(w.plan.Runs, sim.RunPlan{At: open.Add(time.Duration(3+run*108) * time.Minute), Process: w.process, SetS: setS})
		}
		for range 2 { // somebody knocks against a container, or carries it about
			w.faults = append(w.faults, sim.Fault{Kind: sim.NoisyLevel, Unit: unitName, Container: []string{"waste", "wash"}[r.IntN(2)],
				At: open.Add(seconds(between(r, 600, 36000))), For: seconds(between(r, 10, 50)), Strength: between(r, 0.3, 1.5)})
		}
	}
	w.faults = append(w.faults, sim.Fault{Kind: sim.NetworkCut, Unit: unitName, At: w.plan.Shifts[1].On.Add(seconds(between(r, 600, 30000))), For: seconds(between(r, 20, 400))},
		sim.Fault{Kind: sim.Restart, Unit: unitName, At: w.plan.Shifts[3].On.Add(seconds(between(r, 600, 30000))), For: seconds(between(r, 5, 20))})
	if fault != nil {
		sheet, _ := process.Builtin().Sheet(w.process)
		w.faults = append(w.faults, fault.make(w, sheet, faultRun+r.IntN(6))...)
	}
	return w
}

// faultRun is the run in which a fault begins at the earliest: from those before,
// the rules learn what is usual.
const faultRun = 7

// levelOutcome is how a week came out.
type levelOutcome struct {
	week           *levelWeek
	samples, right int
	ranges         int // of the samples, those that were told as a range
	wrong          []string
	emptyings, one int
	often          []string
	pages          []timeline.OccurrenceChange
	began          time.Time // when the fault began
	found          time.Time // when it was told, zero: never
	runs           int       // how many runs had begun by then, the first of the fault counted
	named          bool      // as what it is
	err            error
}

// levelPlay is a week that is being played.
type levelPlay struct {
	*levelWeek
	lab     *sim.Lab
	replay  *replay
	out     *levelOutcome
	unit    lab.UnitID
	due     map[string]time.Time // when a person comes to a container
	touched map[string]time.Time // when a person was last at it
	emptied map[string]time.Time
	held    map[string]float64 // what was in them a minute ago
	unsaid  map[string]bool    // somebody filled or emptied them, no sensor saw it and nobody said so
}

func (w *levelWeek) judge(ctx context.Context) levelOutcome {
	out := levelOutcome{week: w}
	cfg := sim.Config{Seed: w.seed, Start: w.plan.Shifts[0].On.Add(-time.Minute), Step: time.Second,
		Schedule: sim.Schedule{Units: []sim.UnitPlan{w.plan}, Faults: w.faults}}
	l, err := sim.New(cfg)
	if err != nil {
		out.err = fmt.Errorf("level week %d: %w", w.seed, err)
		return out
	}
	p := &levelPlay{levelWeek: w, lab: l, replay: newReplay(cfg.Start), out: &out, unit: lab.UnitID{Lab: sim.DemoLab, Unit: unitName},
		due: map[string]time.Time{}, touched: map[string]time.Time{}, emptied: map[string]time.Time{}, held: map[string]float64{}, unsaid: map[string]bool{}}
	end := w.plan.Shifts[weekDays-1].Off
	for at := cfg.Start; at.Before(end); at = at.Add(time.Minute) {
		if ctx.Err() != nil {
			out.err = ctx.Err()
			return out
		}
		for _, raw := range l.Advance(at) {
			if err := p.replay.take(ctx, raw); err != nil {
				out.err = fmt.Errorf("level week %d: %w", w.seed, err)
				return out
			}
		}
		if err := p.people(ctx, at); err != nil {
			out.err = err
			return out
		}
		if at.Sub(cfg.Start)%lastLevel == 0 {
			p.compare(at)
		}
	}
	out.err = p.replay.finish(ctx)
	p.sumUp()
	return out
}

// people do what people do: they empty what they are told to, some minutes later,
// and top up what will not do for the next run.
func (p *levelPlay) people(ctx context.Context, at time.Time) error {
	draw, _ := p.lab.Needs(unitName, p.process, fillsML)
	idle := p.lab.Ended() == p.lab.Began()
	for _, c := range p.lab.Containers(unitName) {
		into := c.Role == lab.RoleWaste || c.Role == lab.RoleRecovery
		was, known := p.held[c.Name]
		p.held[c.Name] = c.Litres
		if c.Touched || known && (c.Litres < was) == into && max(c.Litres-was, was-c.Litres) > peopleL {
			p.touched[c.Name] = at
			continue
		}
		if was, ok := p.touched[c.Name]; ok && at.Sub(was) <= time.Minute {
			if err := p.sayDone(ctx, c, at); err != nil {
				return err
			}
		}
		switch due, coming := p.due[c.Name]; {
		case coming && !at.Before(due):
			delete(p.due, c.Name)
			p.lab.SeeTo(unitName, c.Name)
		case coming:
		case into && p.isOpen(rules.RuleWasteNearlyFull, c.Name):
			p.due[c.Name] = at.Add(seconds(between(p.r, 120, 1500)))
		case !into && idle && c.Litres < 1.4*draw[c.Name]:
			p.lab.SeeTo(unitName, c.Name)
		}
	}
	return nil
}

// sayDone enters what was done, as people do now and then; where no sensor sees
// it, nearly always.
func (p *levelPlay) sayDone(ctx context.Context, c sim.ContainerTruth, at time.Time) error {
	into := c.Role == lab.RoleWaste || c.Role == lab.RoleRecovery
	if into {
		p.countEmptying(c.Name, at)
	}
	if p.r.Float64() > map[bool]float64{true: 0.95, false: 0.4}[p.plan.FloatsOnly] {
		p.unsaid[c.Name] = p.plan.FloatsOnly
		return nil
	}
	delete(p.unsaid, c.Name)
	b := lab.ContainerEvent{Container: c.Name, What: map[bool]string{true: lab.Emptied, false: lab.ToppedUp}[into]}
	body, err := json.Marshal(b)
	if err != nil {
		return err
	}
	return p.replay.enter(ctx, lab.Entry{Unit: p.unit, What: lab.EntryContainer, At: at, Entered: at, By: "mara", Body: body})
}

func (p *levelPlay) isOpen(rule, container string) bool {
	for _, o := range p.replay.occurrences {
		if o.Rule == rule && o.Subject == container && o.ClearedAt.IsZero() {
			return true
		}
	}
	return false
}

// countEmptying counts the alerts since the last emptying: it should be one.
func (p *levelPlay) countEmptying(name string, at time.Time) {
	n, since := 0, p.emptied[name]
	if at.Sub(since) < secondHand {
		return // a second person came to what the first has emptied
	}
	for _, o := range p.replay.occurrences {
		if o.Rule == rules.RuleWasteNearlyFull && o.Subject == name && o.RaisedAt.After(since) {
			n++
		}
	}
	p.emptied[name] = at
	if p.out.emptyings++; n == 1 {
		p.out.one++
	} else {
		p.out.often = append(p.out.often, fmt.Sprintf("week %d %s %s: %d alerts since %s", p.seed, name, at.Format("Mon 15:04"), n, since.Format("Mon 15:04")))
	}
}

// compare sets the runs left, as they are shown, beside the truth.
func (p *levelPlay) compare(at time.Time) {
	if p.lab.Ended() != p.lab.Began() || p.fault != nil {
		return
	}
	v, ok := p.replay.engine.View(p.unit, at)
	if !ok || v.Link != lab.LinkOnline {
		return
	}
	draw, drain := p.lab.Needs(unitName, p.process, fillsML)
	said := map[string]lab.Container{}
	for _, c := range v.Containers {
		said[c.Name] = c
	}
	for _, c := range p.lab.Containers(unitName) {
		s := said[c.Name]
		if s.RunsLeft == nil || c.Touched || p.unsaid[c.Name] || at.Sub(p.touched[c.Name]) < handsAfter {
			continue
		}
		is := int(c.Litres / draw[c.Name])
		if c.Role == lab.RoleWaste || c.Role == lab.RoleRecovery {
			is = int((c.Capacity - c.Litres) / drain[c.Name])
		}
		p.out.samples++
		if *s.RunsLow < *s.RunsHigh {
			p.out.ranges++
		}
		if *s.RunsLow <= is && is <= *s.RunsHigh {
			p.out.right++
		} else {
			p.out.wrong = append(p.out.wrong, fmt.Sprintf("week %d %s %s: %d to %d runs left, it is %d (%.2f L, really %.2f; %.2f L a run, really %.2f)", p.seed, c.Name,
				at.Format("Mon 15:04"), *s.RunsLow, *s.RunsHigh, is, *s.Litres, c.Litres, *s.NextRunL, draw[c.Name]+drain[c.Name]))
		}
	}
}
