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

// replay feeds what arrives to the rules as the command replay does: its clock
// is moved by the arrival times alone.
type replay struct {
	engine      *timeline.Engine
	messages    []lab.Message
	arrived     map[messageKey]bool // messages, by their name
	lastArrival int64
	clock       time.Time
	occurrences map[string]timeline.OccurrenceChange
	runs        map[string]lab.Run
	advice      map[string][]firstAdvice // by run
	texts       map[string]alertTexts    // of each alert, by its id
	eachSecond  func()                   // called after each second of arrival time; nil: not at all
}

// alertTexts is what an alert has said so far.
type alertTexts struct {
	highest lab.Priority // the most pressing it was
	text    string       // all its messages and responses
	actAt   []string     // the times of day to act by that it gave
}

// noteTexts notes what an alert says now.
func (f *replay) noteTexts(o *timeline.OccurrenceChange) {
	w, was := f.texts[o.ID], f.texts[o.Was]
	if o.Was != "" && o.Was != o.ID {
		delete(f.texts, o.Was)
		w = was
	}
	if o.Priority.Rank() > w.highest.Rank() {
		w.highest = o.Priority
	}
	if text := o.Message + " " + o.Response; !strings.Contains(w.text, text) {
		w.text += text + "\n"
	}
	if at, ok := o.Facts["act_at"].(string); ok {
		w.actAt = append(w.actAt, at)
	}
	f.texts[o.ID] = w
}

// firstAdvice is what was said when the power was back, while a person could act
// by it.
type firstAdvice struct {
	lab.Outage
	first time.Time // by the clock of arrivals
}

// adviceSettles is how long advice may still change after it was first given:
// a person has not reached the unit before.
const adviceSettles = 6 * time.Second

type messageKey struct {
	boot string
	seq  int64
}

func newReplay(from time.Time) *replay {
	f := &replay{engine: timeline.NewEngine(rules.Config{}), arrived: map[messageKey]bool{}, clock: from,
		occurrences: map[string]timeline.OccurrenceChange{}, runs: map[string]lab.Run{}, advice: map[string][]firstAdvice{}, texts: map[string]alertTexts{}}
	f.engine.Monitoring(from)
	return f
}

// UnitMessages implements timeline.History.
func (f *replay) UnitMessages(_ context.Context, u lab.UnitID, floor int64) ([]lab.Message, error) {
	var out []lab.Message
	for _, m := range f.messages {
		if m.Unit == u && m.Arrival >= floor {
			out = append(out, m)
		}
	}
	return out, nil
}

// take feeds one message.
func (f *replay) take(ctx context.Context, raw lab.Raw) error {
	if err := f.pass(ctx, raw.Received); err != nil {
		return err
	}
	m, err := ingest.Decode(raw)
	if err != nil {
		q := ingest.Quarantine(raw, err)
		f.lastArrival++
		q.Arrival = f.lastArrival
		return f.feed(ctx, lab.Arrival{Refused: &q})
	}
	if k := (messageKey{m.Boot, m.Seq}); !m.Will {
		if f.arrived[k] {
			return nil
		}
		f.arrived[k] = true
	}
	f.lastArrival++
	m.Arrival = f.lastArrival
	f.messages = append(f.messages, m)
	return f.feed(ctx, lab.Arrival{Message: &m})
}

// enter feeds what a person entered.
func (f *replay) enter(ctx context.Context, e lab.Entry) error {
	if err := f.pass(ctx, e.Entered); err != nil {
		return err
	}
	f.lastArrival++
	e.Arrival, e.ID = f.lastArrival, fmt.Sprintf("entry-%d", f.lastArrival)
	return f.feed(ctx, lab.Arrival{Entry: &e})
}

// pass lets arrival time pass, a second at a time.
func (f *replay) pass(ctx context.Context, to time.Time) error {
	for f.clock.Add(time.Second).Before(to) {
		f.clock = f.clock.Add(time.Second)
		if err := f.note(f.engine.Tick(ctx, f.clock, f)); err != nil {
			return err
		}
		if f.eachSecond != nil {
			f.eachSecond()
		}
	}
	if to.After(f.clock) {
		f.clock = to
	}
	return f.note(f.engine.Tick(ctx, f.clock, f))
}

func (f *replay) feed(ctx context.Context, a lab.Arrival) error {
	return f.note(f.engine.Feed(ctx, []lab.Arrival{a}, f))
}

func (f *replay) finish(ctx context.Context) error {
	f.engine.Paused(f.clock)
	return f.note(f.engine.Flush(ctx, f))
}

func (f *replay) note(ch timeline.Changes, err error) error {
	if err != nil {
		return err
	}
	for _, o := range ch.Occurrences {
		f.noteTexts(&o)
		if o.Was != "" && o.Was != o.ID {
			delete(f.occurrences, o.Was)
		}
		if f.occurrences[o.ID] = o; o.Withdrawn {
			delete(f.occurrences, o.ID)
		}
	}
	for _, r := range ch.Runs {
		f.runs[r.ID] = r
		f.noteAdvice(&r)
	}
	return nil
}

func (f *replay) noteAdvice(r *lab.Run) {
	given := f.advice[r.ID]
	for i, o := range r.Outages {
		if o.BackAt == nil || o.Advice == "" || i > len(given) {
			continue
		}
		if i == len(given) {
			given = append(given, firstAdvice{o, f.clock})
		} else if f.clock.Sub(given[i].first) <= adviceSettles {
			given[i].Outage = o
		}
	}
	f.advice[r.ID] = given
}
