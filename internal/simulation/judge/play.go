package judge

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/internal/simulation/sim"
	"wetside/rules"
)

// playedScenario is a scenario that was simulated and replayed through the rules.
type playedScenario struct {
	*scenario
	replay        *replay
	traits        sim.UnitTraits
	truths        []sim.RunTruth
	faults        []sim.FaultTruth
	actions       []sim.Action
	boardReadings []boardReading // what the board said in an outage
}

const (
	stride  = 5 * time.Second
	longest = 9 * time.Hour // of virtual time; no scenario takes that long
)

// play simulates a scenario and replays what arrives.
func play(ctx context.Context, s *scenario) (*playedScenario, error) { return playWith(ctx, s, nil) }

// playWith plays a scenario and calls each after each second of it.
func playWith(ctx context.Context, s *scenario, each func(*replay)) (*playedScenario, error) {
	l, err := sim.New(s.config())
	if err != nil {
		return nil, fmt.Errorf("seed %d (%s): %w", s.seed, s.name, err)
	}
	p := &playedScenario{scenario: s, replay: newReplay(startOfDay), traits: l.Units()[0]}
	if each != nil {
		p.replay.eachSecond = func() { each(p.replay) }
	}
	entered, loaded := 0, false
	var ready time.Time // since when the unit waits for the judged run
	end := startOfDay.Add(longest)
	if err := p.enterFigures(ctx); err != nil {
		return nil, err
	}
	for at := startOfDay; at.Before(end); at = at.Add(stride) {
		for _, raw := range l.Advance(at) {
			if err := p.replay.take(ctx, raw); err != nil {
				return nil, fmt.Errorf("seed %d (%s): fold: %w", s.seed, s.name, err)
			}
		}
		actions := l.Actions()
		for entered < len(actions) && !actions[entered].Entry.Entered.After(at) {
			e := actions[entered].Entry
			e.RunID = rules.RunID(e.Unit, actions[entered].Run)
			if err := p.replay.enter(ctx, e); err != nil {
				return nil, fmt.Errorf("seed %d (%s): entry: %w", s.seed, s.name, err)
			}
			entered++
		}
		p.readBoard(l, at)
		ended := l.Ended()
		if ended == s.last-1 && ready.IsZero() {
			ready = at
		}
		if !ready.IsZero() && !loaded && s.load != nil && at.Sub(ready) >= loading/2 {
			loaded = true
			if err := p.enterBody(ctx, lab.EntryLoad, at, s.load); err != nil {
				return nil, err
			}
		}
		if ended == s.last && end.Equal(startOfDay.Add(longest)) {
			end = at.Add(2 * time.Minute)
		}
	}
	p.truths, p.faults, p.actions = l.Runs(), l.Faults(), l.Actions()
	return p, p.replay.finish(ctx)
}

// enterFigures enters what the lab knows of the unit from the start.
func (p *playedScenario) enterFigures(ctx context.Context) error {
	if p.probe != nil {
		if err := p.enterBody(ctx, lab.EntryProbe, startOfDay, p.probe); err != nil {
			return err
		}
	}
	if p.house != nil {
		return p.enterBody(ctx, lab.EntryHouseAim, startOfDay, p.house)
	}
	return nil
}

func (p *playedScenario) enterBody(ctx context.Context, what string, at time.Time, body any) error {
	b, err := json.Marshal(body)
	if err != nil {
		return fmt.Errorf("seed %d: entry %s: %w", p.seed, what, err)
	}
	e := lab.Entry{Unit: lab.UnitID{Lab: sim.DemoLab, Unit: unitName}, What: what, At: at, Entered: at, By: "mara", Body: b}
	if err := p.replay.enter(ctx, e); err != nil {
		return fmt.Errorf("seed %d: entry %s: %w", p.seed, what, err)
	}
	return nil
}

// watchedRun is a run as the rules watched it.
func (p *playedScenario) watchedRun(t *sim.RunTruth) (lab.Run, bool) {
	u, err := lab.ParseUnitID(t.Unit)
	if err != nil {
		return lab.Run{}, false
	}
	r, ok := p.replay.runs[rules.RunID(u, t.Run)]
	return r, ok
}

// pages are the occurrences in a run that paged somebody.
func (p *playedScenario) pages(t *sim.RunTruth) []string {
	var out []string
	for _, o := range p.replay.occurrences {
		if o.Priority == lab.Low || o.FoundAfterwards || o.RaisedAt.Before(t.Began) || !t.Ended.IsZero() && o.RaisedAt.After(t.Ended) {
			continue
		}
		out = append(out, o.Rule+": "+o.Message)
	}
	slices.Sort(out)
	return out
}
