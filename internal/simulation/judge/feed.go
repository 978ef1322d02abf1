package judge

import (
	"context"
	"fmt"
	"strings"
	"time"

	"wetside/ingest"
	"wetside/internal/lab"
	"wetside/rules"
	"wetside/rules/timeline"
)

// fold feeds what arrives to the rules as replay does: with a clock that
// knows no time but the arrival times it is shown.
type fold struct {
	engine  *timeline.Engine
	kept    []lab.Message
	arrived map[key]bool // messages, by their name
	last    int64
	clock   time.Time
	found   map[string]timeline.OccurrenceChange
	runs    map[string]lab.Run
	given   map[string][]advice // by run
	words   map[string]saying   // of each alert, by its id
	each    func()              // called after each second of arrival time; nil: nobody
}

// saying is what an alert has said so far.
type saying struct {
	most lab.Priority // the most pressing it was
	text string       // all its messages and responses
	act  []string     // the times of day to act by that it gave
}

// keepWords notes what an alert says now.
func (f *fold) keepWords(o *timeline.OccurrenceChange) {
	w, was := f.words[o.ID], f.words[o.Was]
	if o.Was != "" && o.Was != o.ID {
		delete(f.words, o.Was)
		w = was
	}
	if o.Priority.Rank() > w.most.Rank() {
		w.most = o.Priority
	}
	if text := o.Message + " " + o.Response; !strings.Contains(w.text, text) {
		w.text += text + "\n"
	}
	if at, ok := o.Facts["act_at"].(string); ok {
		w.act = append(w.act, at)
	}
	f.words[o.ID] = w
}

// advice is what was said when the power was back, while a person could act
// by it.
type advice struct {
	lab.Outage
	first time.Time // by the clock of arrivals
}

// adviceSettles is how long advice may still change after it was first given:
// a person has not reached the unit before.
const adviceSettles = 6 * time.Second

type key struct {
	boot string
	seq  int64
}

func newFold(from time.Time) *fold {
	f := &fold{engine: timeline.NewEngine(rules.Config{}), arrived: map[key]bool{}, clock: from,
		found: map[string]timeline.OccurrenceChange{}, runs: map[string]lab.Run{}, given: map[string][]advice{}, words: map[string]saying{}}
	f.engine.Monitoring(from)
	return f
}

// UnitMessages implements timeline.History.
func (f *fold) UnitMessages(_ context.Context, u lab.UnitID, floor int64) ([]lab.Message, error) {
	var out []lab.Message
	for _, m := range f.kept {
		if m.Unit == u && m.Arrival >= floor {
			out = append(out, m)
		}
	}
	return out, nil
}

// take folds one message.
func (f *fold) take(ctx context.Context, raw lab.Raw) error {
	if err := f.pass(ctx, raw.Received); err != nil {
		return err
	}
	m, err := ingest.Decode(raw)
	if err != nil {
		q := ingest.Quarantine(raw, err)
		f.last++
		q.Arrival = f.last
		return f.feed(ctx, lab.Arrival{Refused: &q})
	}
	if k := (key{m.Boot, m.Seq}); !m.Will {
		if f.arrived[k] {
			return nil
		}
		f.arrived[k] = true
	}
	f.last++
	m.Arrival = f.last
	f.kept = append(f.kept, m)
	return f.feed(ctx, lab.Arrival{Message: &m})
}

// enter folds what a person entered.
func (f *fold) enter(ctx context.Context, e lab.Entry) error {
	if err := f.pass(ctx, e.Entered); err != nil {
		return err
	}
	f.last++
	e.Arrival, e.ID = f.last, fmt.Sprintf("entry-%d", f.last)
	return f.feed(ctx, lab.Arrival{Entry: &e})
}

// pass lets arrival time pass, a second at a time.
func (f *fold) pass(ctx context.Context, to time.Time) error {
	for f.clock.Add(time.Second).Before(to) {
		f.clock = f.clock.Add(time.Second)
		if err := f.note(f.engine.Tick(ctx, f.clock, f)); err != nil {
			return err
		}
		if f.each != nil {
			f.each()
		}
	}
	if to.After(f.clock) {
		f.clock = to
	}
	return f.note(f.engine.Tick(ctx, f.clock, f))
}

func (f *fold) feed(ctx context.Context, a lab.Arrival) error {
	return f.note(f.engine.Feed(ctx, []lab.Arrival{a}, f))
}

func (f *fold) finish(ctx context.Context) error {
	f.engine.Paused(f.clock)
	return f.note(f.engine.Flush(ctx, f))
}

func (f *fold) note(ch timeline.Changes, err error) error {
	if err != nil {
		return err
	}
	for _, o := range ch.Occurrences {
		f.keepWords(&o)
		if o.Was != "" && o.Was != o.ID {
			delete(f.found, o.Was)
		}
		if f.found[o.ID] = o; o.Withdrawn {
			delete(f.found, o.ID)
		}
	}
	for _, r := range ch.Runs {
		f.runs[r.ID] = r
		f.keepAdvice(&r)
	}
	return nil
}

func (f *fold) keepAdvice(r *lab.Run) {
	given := f.given[r.ID]
	for i, o := range r.Outages {
		if o.BackAt == nil || o.Advice == "" || i > len(given) {
			continue
		}
		if i == len(given) {
			given = append(given, advice{o, f.clock})
		} else if f.clock.Sub(given[i].first) <= adviceSettles {
			given[i].Outage = o
		}
	}
	f.given[r.ID] = given
}
