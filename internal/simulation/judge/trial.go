package judge

import (
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
	"wetside/internal/simulation/sim"
	"wetside/rules"
	"wetside/rules/timeline"
)

// trial is one case of a row: a simulated lab, what goes wrong in it, and what
// a good technician would want to be told.
type trial struct {
	seed        uint64
	r           *rand.Rand
	sheet       *process.Sheet
	cfg         sim.Config
	main        *sim.UnitPlan // the unit that is judged
	from        int           // its first run that is judged; from those before, the rules learn what is usual
	tail        time.Duration // how long it goes on after the last run
	description string        // in words
	wants       []wanted
	allowed     []string // rules that may raise alerts besides
	most        int      // occurrences of one condition at most
	also        func(s *playedTrial) []string
	meanwhile   func(s *playedTrial, at time.Time) error // what people do meanwhile
	eachSecond  func(*replay)                            // called after each second; nil: not at all
}

// wanted is one alert that must be there.
type wanted struct {
	rule  string
	step  string       // "" for any
	least lab.Priority // and at least so pressing
	says  []string     // each stands in its message or response
	also  func(s *playedTrial, o *timeline.OccurrenceChange) string
}

// newTrial makes a lab with one unit and so many runs of a process, the last
// of which is judged.
func newTrial(seed uint64, processID string, runs int) *trial {
	r := rand.New(rand.NewPCG(seed, 0x6f6464))
	sheet, _ := process.Builtin().Sheet(processID)
	t := &trial{seed: seed, r: r, sheet: sheet, from: runs, tail: 3 * time.Minute, most: 1}
	t.cfg = sim.Config{Seed: seed, Start: startOfDay.Add(time.Duration(r.IntN(7200)) * time.Second), Trace: true}
	t.main = &sim.UnitPlan{Name: unitName, Processes: []string{processID}, RoomC: between(r, 18, 25), LossW: between(r, 0.8, 1.9)}
	setS := []float64{360, 405, 450, 510, 600}[r.IntN(5)]
	for range runs {
		t.main.Runs = append(t.main.Runs, sim.RunPlan{Process: processID, SetS: setS, Pause: loading})
	}
	return t
}

// last is the plan of the last run.
func (t *trial) last() *sim.RunPlan { return &t.main.Runs[len(t.main.Runs)-1] }

func (t *trial) ordinal() int { return len(t.main.Runs) }

// fault adds one to the last run.
func (t *trial) fault(f sim.Fault) {
	f.Unit = unitName
	if f.At.IsZero() {
		f.Run = t.ordinal()
	}
	t.cfg.Schedule.Faults = append(t.cfg.Schedule.Faults, f)
}

func (t *trial) want(w ...wanted) { t.wants = append(t.wants, w...) }

func (t *trial) describe(format string, args ...any) { t.description = fmt.Sprintf(format, args...) }

func (t *trial) sign() float64 { return float64(1 - 2*t.r.IntN(2)) }

func (t *trial) step(id string) *process.Step {
	s, ok := t.sheet.Step(id)
	if !ok {
		panic("judge: " + t.sheet.ID + " has no step " + id) // a row of ours is wrong
	}
	return s
}

// playedTrial is a trial that was simulated and replayed.
type playedTrial struct {
	*trial
	lab    *sim.Lab
	replay *replay
	truths []sim.RunTruth
}

func (t *trial) play(ctx context.Context) (*playedTrial, error) {
	t.cfg.Schedule.Units = append([]sim.UnitPlan{*t.main}, t.cfg.Schedule.Units...)
	l, err := sim.New(t.cfg)
	if err != nil {
		return nil, err
	}
	s := &playedTrial{trial: t, lab: l, replay: newReplay(t.cfg.Start)}
	if t.eachSecond != nil {
		s.replay.eachSecond = func() { t.eachSecond(s.replay) }
	}
	entered := 0
	end := t.cfg.Start.Add(2 * longest)
	over := false
	for at := t.cfg.Start; at.Before(end); at = at.Add(stride) {
		for _, raw := range l.Advance(at) {
			if err := s.replay.take(ctx, raw); err != nil {
				return nil, err
			}
		}
		if entered, err = s.replay.enterDeeds(ctx, l, entered, at); err != nil {
			return nil, err
		}
		if t.meanwhile != nil {
			if err := t.meanwhile(s, at); err != nil {
				return nil, err
			}
		}
		if !over && l.EndedOf(unitName) == t.ordinal() {
			over, end = true, at.Add(t.tail)
		}
	}
	s.truths = l.Runs()
	return s, s.replay.finish(ctx)
}

// enterDeeds enters what people did by the units up to now.
func (f *replay) enterDeeds(ctx context.Context, l *sim.Lab, entered int, at time.Time) (int, error) {
	actions := l.Actions()
	for ; entered < len(actions) && !actions[entered].Entry.Entered.After(at); entered++ {
		e := actions[entered].Entry
		if actions[entered].Run != "" {
			e.RunID = rules.RunID(e.Unit, actions[entered].Run)
		}
		if err := f.enter(ctx, e); err != nil {
			return entered, err
		}
	}
	return entered, nil
}

// enter enters something for the judged unit; run "" for the unit itself.
func (s *playedTrial) enter(ctx context.Context, what, run string, at time.Time, body any) error {
	b, err := json.Marshal(body)
	if err != nil {
		return err
	}
	e := lab.Entry{Unit: s.unit(), What: what, At: at, Entered: at, By: "mara", Body: b}
	if run != "" {
		e.RunID = rules.RunID(s.unit(), run)
	}
	return s.replay.enter(ctx, e)
}

func (s *playedTrial) unit() lab.UnitID { return lab.UnitID{Lab: sim.DemoLab, Unit: unitName} }

// run is the truth of the unit's n-th run.
func (s *playedTrial) run(n int) *sim.RunTruth {
	for i := range s.truths {
		if t := &s.truths[i]; t.Unit == s.unit().String() && t.Ordinal == n {
			return t
		}
	}
	return &sim.RunTruth{}
}

// stepTruth is the truth of a step of the last run.
func (s *playedTrial) stepTruth(step string) sim.StepTruth {
	for _, x := range s.run(s.ordinal()).Steps {
		if x.Step == step {
			return x
		}
	}
	return sim.StepTruth{}
}

// watchedRun is the record of the unit's n-th run.
func (s *playedTrial) watchedRun(n int) lab.Run {
	return s.replay.runs[rules.RunID(s.unit(), s.run(n).Run)]
}

// occurrences are the occurrences since the judged run began, in their order.
func (s *playedTrial) occurrences() []timeline.OccurrenceChange {
	var out []timeline.OccurrenceChange
	since := s.run(s.from).Began
	for _, o := range s.replay.occurrences {
		if !o.RaisedAt.Before(since.Add(-2 * time.Second)) {
			out = append(out, o)
		}
	}
	slices.SortFunc(out, func(a, b timeline.OccurrenceChange) int {
		if c := a.RaisedAt.Compare(b.RaisedAt); c != 0 {
			return c
		}
		return strings.Compare(a.ID, b.ID)
	})
	return out
}

// find is the occurrence that a wanted alert is, nil where there is none.
func (s *playedTrial) find(w wanted, list []timeline.OccurrenceChange) (*timeline.OccurrenceChange, string) {
	why := "not told"
	for i := range list {
		o := &list[i]
		if o.Rule != w.rule || w.step != "" && o.Step != w.step {
			continue
		}
		text, most := s.replay.texts[o.ID].text, s.replay.texts[o.ID].highest
		missing := slices.IndexFunc(w.says, func(x string) bool { return !strings.Contains(text, x) })
		switch {
		case most.Rank() < w.least.Rank():
			why = fmt.Sprintf("only %s", most)
		case missing >= 0:
			why = fmt.Sprintf("does not say %q: %s", w.says[missing], text)
		default:
			if w.also == nil {
				return o, ""
			}
			if why = w.also(s, o); why == "" {
				return o, ""
			}
		}
	}
	return nil, why
}

// trialOutcome is how one trial came out.
type trialOutcome struct {
	seed   uint64
	how    string
	missed []string
	wrong  []string
	said   []string
	err    error
}

func (t *trial) judge(ctx context.Context) trialOutcome {
	out := trialOutcome{seed: t.seed, how: t.description}
	s, err := t.play(ctx)
	if err != nil {
		out.err = fmt.Errorf("seed %d (%s): %w", t.seed, t.description, err)
		return out
	}
	list := s.occurrences()
	expected := slices.Clone(t.allowed)
	for _, w := range t.wants {
		expected = append(expected, w.rule)
		if _, why := s.find(w, list); why != "" {
			out.missed = append(out.missed, fmt.Sprintf("%s %s: %s", w.rule, w.step, why))
		}
	}
	often := map[string]int{}
	for _, o := range list {
		out.said = append(out.said, fmt.Sprintf("%s %s: %s. %s", s.replay.texts[o.ID].highest, o.Rule, o.Message, o.Response))
		if !slices.Contains(expected, o.Rule) {
			out.wrong = append(out.wrong, fmt.Sprintf("%s %s: %s", o.Priority, o.Rule, o.Message))
		}
		most := t.most
		if st, ok := t.sheet.Step(o.Step); ok && st.Wash {
			most *= 3 // it fills three times, and each begins anew
		}
		if often[o.Key]++; often[o.Key] == most+1 {
			out.wrong = append(out.wrong, fmt.Sprintf("%s more than %d times: %s", o.Rule, most, o.Message))
		}
	}
	if t.also != nil {
		out.wrong = append(out.wrong, t.also(s)...)
	}
	out.said = append(out.said, s.verdictSays())
	return out
}

// verdictSays words the record of the last run.
func (s *playedTrial) verdictSays() string {
	run := s.watchedRun(s.ordinal())
	v, push := "no verdict", ""
	if run.Verdict != nil {
		v = *run.Verdict
	}
	if run.PushErrorStops != nil {
		push = fmt.Sprintf(", push error %+.2f", *run.PushErrorStops)
	}
	for _, r := range run.Reasons {
		push += "; " + r.Text
	}
	return "record: " + v + push
}
