package audit

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/rules"
)

// fold runs the evidence through the rules and gives the run as it stands at
// the end: the same as it was live.
func fold(ctx context.Context, ev *Evidence, cfg rules.Config) (lab.Run, error) {
	arrivals := ev.arrivals()
	eng := rules.NewEngine(cfg)
	if ev.Before != nil {
		err := eng.Restore(ev.Unit, ev.Before.Version, ev.Before.Blob)
		if err != nil && !errors.Is(err, rules.ErrVersion) {
			return lab.Run{}, err
		}
	}
	eng.Paused(time.Time{}) // silence was judged live; its alerts are evidence
	var run *lab.Run
	keep := func(ch rules.Changes, err error) error {
		for i := range ch.Runs {
			if ch.Runs[i].Run == ev.RunName {
				run = &ch.Runs[i]
			}
		}
		return err
	}
	if err := keep(eng.Feed(ctx, arrivals, history(ev.Messages))); err != nil {
		return lab.Run{}, err
	}
	end := eng.Flush
	if last := arrivals[len(arrivals)-1].ReceivedAt(); ev.Until.After(last) {
		end = func(ctx context.Context, h rules.History) (rules.Changes, error) { return eng.Tick(ctx, ev.Until, h) }
	}
	if err := keep(end(ctx, history(ev.Messages))); err != nil {
		return lab.Run{}, err
	}
	if run == nil {
		return lab.Run{}, lab.Errorf(lab.KindInvalid, "the messages hold no run %q; want those from its beginning to its end", ev.RunName)
	}
	return *run, nil
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

// history gives the evidence's messages to the fold when it goes back.
type history []lab.Message

// UnitMessages implements rules.History.
func (h history) UnitMessages(_ context.Context, u lab.UnitID, floor int64) ([]lab.Message, error) {
	var out []lab.Message
	for _, m := range h {
		if m.Unit == u && m.Arrival >= floor {
			out = append(out, m)
		}
	}
	return out, nil
}
