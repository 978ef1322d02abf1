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

// played is a scenario that was simulated and folded.
type played struct {
	*scenario
	fold    *fold
	own     sim.Own
	truths  []sim.RunTruth
	faults  []sim.Truth
	actions []sim.Action
	shown   []shown // what the board said in an outage
}

const (
	stride  = 5 * time.Second
	longest = 9 * time.Hour // of virtual time; no scenario takes that long
)

// play simulates a scenario and folds what arrives.
func play(ctx context.Context, s *scenario) (*played, error) { return playWith(ctx, s, nil) }

// playWith plays with somebody who looks at the fold each second.
func playWith(ctx context.Context, s *scenario, each func(*fold)) (*played, error) {
	l, err := sim.New(s.config())
	if err != nil {
		return nil, fmt.Errorf("seed %d (%s): %w", s.seed, s.name, err)
	}
	p := &played{scenario: s, fold: newFold(begins), own: l.Units()[0]}
	if each != nil {
		p.fold.each = func() { each(p.fold) }
	}
	entered, loaded := 0, false
	var ready time.Time // since when the unit waits for the judged run
	end := begins.Add(longest)
	if err := p.enterFigures(ctx); err != nil {
		return nil, err
	}
	for at := begins; at.Before(end); at = at.Add(stride) {
		for _, raw := range l.Advance(at) {
			if err := p.fold.take(ctx, raw); err != nil {
				return nil, fmt.Errorf("seed %d (%s): fold: %w", s.seed, s.name, err)
			}
		}
		actions := l.Actions()
		for entered < len(actions) && !actions[entered].Entry.Entered.After(at) {
			e := actions[entered].Entry
			e.RunID = rules.RunID(e.Unit, actions[entered].Run)
			if err := p.fold.enter(ctx, e); err != nil {
				return nil, fmt.Errorf("seed %d (%s): entry: %w", s.seed, s.name, err)
			}
			entered++
		}
		p.look(l, at)
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
		if ended == s.last && end.Equal(begins.Add(longest)) {
			end = at.Add(2 * time.Minute)
		}
	}
	p.truths, p.faults, p.actions = l.Runs(), l.Truth(), l.Actions()
	return p, p.fold.finish(ctx)
}

// enterFigures enters what the lab knows of the unit from the start.
func (p *played) enterFigures(ctx context.Context) error {
	if p.probe != nil {
		if err := p.enterBody(ctx, lab.EntryProbe, begins, p.probe); err != nil {
			return err
		}
	}
	if p.house != nil {
		return p.enterBody(ctx, lab.EntryHouseAim, begins, p.house)
	}
	return nil
}

func (p *played) enterBody(ctx context.Context, what string, at time.Time, body any) error {
	b, err := json.Marshal(body)
	if err != nil {
		return fmt.Errorf("seed %d: entry %s: %w", p.seed, what, err)
	}
	e := lab.Entry{Unit: lab.UnitID{Lab: sim.DemoLab, Unit: unitName}, What: what, At: at, Entered: at, By: "mara", Body: b}
	if err := p.fold.enter(ctx, e); err != nil {
		return fmt.Errorf("seed %d: entry %s: %w", p.seed, what, err)
	}
	return nil
}

// record is the fold's record of a run.
func (p *played) record(t *sim.RunTruth) (lab.Run, bool) {
	u, err := lab.ParseUnitID(t.Unit)
	if err != nil {
		return lab.Run{}, false
	}
	r, ok := p.fold.runs[rules.RunID(u, t.Run)]
	return r, ok
}

// pages are the occurrences in a run that paged somebody.
func (p *played) pages(t *sim.RunTruth) []string {
	var out []string
	for _, o := range p.fold.found {
		if o.Priority == lab.Low || o.FoundAfterwards || o.RaisedAt.Before(t.Began) || !t.Ended.IsZero() && o.RaisedAt.After(t.Ended) {
			continue
		}
		out = append(out, o.Rule+": "+o.Message)
	}
	slices.Sort(out)
	return out
}
