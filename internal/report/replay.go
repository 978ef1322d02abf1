package report

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/rules"
	"wetside/rules/timeline"
)

// maxMessages is of how many messages a report is made: what it needs of each
// stays in memory until it is done, some 300 bytes.
const maxMessages = 1_000_000

// ErrTooLong says that a run has more messages than a report is made of.
var ErrTooLong = lab.Errorf(lab.KindInvalid, "the run has more than %d messages, of which no report is made", maxMessages)

// streamPiece is how many messages of a stream are fed to the rules at once.
const streamPiece = 5_000

// replay runs the evidence through the rules and gives the run as it stands at
// the end, the same as it was live. received collects the messages of the run.
func replay(ctx context.Context, ev *Evidence, cfg rules.Config, received *runMessages) (lab.Run, error) {
	f := &replayed{ev: ev, eng: timeline.NewEngine(cfg), received: received}
	if ev.Before != nil {
		err := f.eng.Restore(ev.Unit, ev.Before.Version, ev.Before.Blob)
		if err != nil && !errors.Is(err, timeline.ErrVersion) {
			return lab.Run{}, err
		}
	}
	f.eng.Paused(time.Time{}) // silence was judged live; its alerts are evidence
	feed := f.feedMessages
	if ev.Stream != nil {
		feed = f.feedStream
	}
	if err := feed(ctx); err != nil {
		return lab.Run{}, err
	}
	end := f.eng.Flush
	if ev.Until.After(f.last) {
		end = func(ctx context.Context, h timeline.History) (timeline.Changes, error) {
			return f.eng.Tick(ctx, ev.Until, h)
		}
	}
	if err := f.takeRun(end(ctx, f)); err != nil {
		return lab.Run{}, err
	}
	if f.run == nil {
		return lab.Run{}, lab.Errorf(lab.KindInvalid, "the messages hold no run %q; give those from its beginning to its end", ev.RunName)
	}
	return *f.run, nil
}

// replayed is one replay under way. It gives the rules the messages again where
// they must go back (timeline.History).
type replayed struct {
	ev       *Evidence
	eng      *timeline.Engine
	received *runMessages
	run      *lab.Run
	last     time.Time // the last arrival
	count    int
}

func (f *replayed) takeRun(ch timeline.Changes, err error) error {
	for i := range ch.Runs {
		if ch.Runs[i].Run == f.ev.RunName {
			f.run = &ch.Runs[i]
		}
	}
	return err
}

// feedMessages feeds the messages that the evidence holds.
func (f *replayed) feedMessages(ctx context.Context) error {
	if len(f.ev.Messages) > maxMessages {
		return ErrTooLong
	}
	for i := range f.ev.Messages {
		f.received.add(&f.ev.Messages[i])
	}
	arrivals := f.ev.arrivals()
	f.last = arrivals[len(arrivals)-1].ReceivedAt()
	return f.takeRun(f.eng.Feed(ctx, arrivals, f))
}

// feedStream feeds the messages that the evidence streams, a piece at a time,
// with the entries in between by their arrival numbers.
func (f *replayed) feedStream(ctx context.Context) error {
	entries := slices.Clone(f.ev.Entries)
	slices.SortStableFunc(entries, func(a, b lab.Entry) int { return cmp.Compare(a.Arrival, b.Arrival) })
	var piece []lab.Arrival
	flush := func() error {
		if len(piece) == 0 {
			return nil
		}
		f.last = piece[len(piece)-1].ReceivedAt()
		err := f.takeRun(f.eng.Feed(ctx, piece, f))
		piece = nil
		return err
	}
	err := f.ev.Stream(func(m lab.Message) error {
		if m.Unit != f.ev.Unit {
			return lab.Errorf(lab.KindInvalid, "evidence of %s: message %d is of %s", f.ev.Unit, f.count+1, m.Unit)
		}
		if f.count++; f.count > maxMessages {
			return ErrTooLong
		}
		for len(entries) > 0 && entries[0].Arrival < m.Arrival {
			piece, entries = append(piece, lab.Arrival{Entry: &entries[0]}), entries[1:]
		}
		m.Payload = nil
		f.received.add(&m)
		if piece = append(piece, lab.Arrival{Message: &m}); len(piece) >= streamPiece {
			return flush()
		}
		return nil
	})
	if err != nil {
		return err
	}
	if f.count == 0 {
		return lab.Errorf(lab.KindInvalid, "evidence of run %s of %s has no messages; give those of the run", f.ev.RunName, f.ev.Unit)
	}
	for i := range entries {
		piece = append(piece, lab.Arrival{Entry: &entries[i]})
	}
	return flush()
}

// UnitMessages implements timeline.History: the evidence's messages for a fold
// that goes back.
func (f *replayed) UnitMessages(ctx context.Context, u lab.UnitID, floor int64) ([]lab.Message, error) {
	if f.ev.Stream == nil {
		return heldMessages(f.ev.Messages).UnitMessages(ctx, u, floor)
	}
	var out []lab.Message
	err := f.ev.Stream(func(m lab.Message) error {
		if m.Unit == u && m.Arrival >= floor {
			m.Payload = nil
			out = append(out, m)
		}
		return nil
	})
	return out, err
}

// arrivals are messages and entries by arrival number. What has no number, as
// in a capture, is numbered by its place: by the time it came in.
func (ev *Evidence) arrivals() []lab.Arrival {
	out := make([]lab.Arrival, 0, len(ev.Messages)+len(ev.Entries))
	for i := range ev.Messages {
		out = append(out, lab.Arrival{Message: &ev.Messages[i]})
	}
	for i := range ev.Entries {
		out = append(out, lab.Arrival{Entry: &ev.Entries[i]})
	}
	unnumbered := slices.ContainsFunc(out, func(a lab.Arrival) bool { return a.Number() == 0 })
	slices.SortStableFunc(out, func(a, b lab.Arrival) int {
		if unnumbered {
			return a.ReceivedAt().Compare(b.ReceivedAt())
		}
		return cmp.Compare(a.Number(), b.Number())
	})
	return out
}

// heldMessages are those that the evidence holds, for rules that go back.
type heldMessages []lab.Message

// UnitMessages implements timeline.History.
func (h heldMessages) UnitMessages(_ context.Context, u lab.UnitID, floor int64) ([]lab.Message, error) {
	var out []lab.Message
	for _, m := range h {
		if m.Unit == u && m.Arrival >= floor {
			out = append(out, m)
		}
	}
	return out, nil
}
