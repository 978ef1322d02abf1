package timeline

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"time"

	"wetside/internal/lab"
)

// refold folds the unit again from the last mark before late evidence, and compares
// what is found with what was found before. What is the same stays; what begins at
// another moment now keeps what people did to it; what does not show any more is
// withdrawn.
func (w *unit) refold(ctx context.Context, h History) error {
	late := *w.lateAt
	i := len(w.Marks) - 1
	for i >= 0 && late.before(w.Marks[i].At) {
		i--
	}
	if i < 0 {
		// It is older than every mark: it is stored and its hole is closed, but
		// what was found stands.
		w.lateAt = nil
		return nil
	}
	from := w.Marks[i]
	list, err := w.history(ctx, h, from)
	if err != nil {
		return err
	}
	old := w.takeOutFoundSince(from)
	w.Marks = w.Marks[:i+1]
	if err := w.State.UnmarshalJSON(from.State); err != nil {
		return fmt.Errorf("folding %s again: %w", w.Unit, err)
	}
	w.Since, w.lateAt, w.OfTimeline, w.OfTimelineT = 0, nil, nil, time.Time{}
	w.placing = from.At
	w.putOpen() // as they were at the mark
	w.foldList(list, from.At)
	w.matchFound(old)
	w.touched = true
	return nil
}

// history loads the messages between a mark and the place reached, in order.
func (w *unit) history(ctx context.Context, h History, from mark) ([]placed, error) {
	msgs, err := h.UnitMessages(ctx, w.Unit, from.Floor)
	if err != nil {
		return nil, historyError{fmt.Errorf("loading history of %s: %w", w.Unit, err)}
	}
	end := w.Order.frontier()
	var list []placed
	for i := range msgs {
		m := &msgs[i]
		b, bi := w.Order.boot(m.Boot)
		if m.Will || b == nil || m.Arrival > w.Arrival || b.First && m.Seq < b.Base {
			continue
		}
		at := w.Order.place(bi, m.Seq)
		if at.before(from.At) || !at.before(end) {
			continue
		}
		list = append(list, placed{at, m})
	}
	slices.SortStableFunc(list, func(a, b placed) int {
		switch {
		case a.at.before(b.at):
			return -1
		case b.at.before(a.at):
			return 1
		}
		return 0
	})
	return slices.CompactFunc(list, func(a, b placed) bool { return a.at == b.at }), nil
}

type placed struct {
	at place
	m  *lab.Message
}

// foldList folds messages that are in order, and finds the holes between them.
func (w *unit) foldList(list []placed, from place) {
	floors := make([]int64, len(list)+1)
	floors[len(list)] = w.Order.pendingFloor(w.Arrival + 1)
	for i := len(list) - 1; i >= 0; i-- {
		floors[i] = min(floors[i+1], list[i].m.Arrival)
	}
	next := from
	for i, p := range list {
		if p.at.Boot != next.Boot {
			next = place{p.at.Boot, 1}
		}
		if b := w.Order.at(p.at); b != nil && b.First && next.Seq < b.Base {
			next.Seq = b.Base
		}
		var miss missing
		if p.at.Seq > next.Seq {
			miss = w.Order.missingBetween(p.m.Boot, next.Seq, p.at.Seq-1)
		}
		w.placing = p.at
		w.foldOne(p.m, miss, floors[i])
		next = place{p.at.Boot, p.at.Seq + 1}
	}
}

// takeOutFoundSince takes out of Found what was raised at or after the mark.
func (w *unit) takeOutFoundSince(from mark) map[string]*found {
	old := map[string]*found{}
	for id, f := range w.Found {
		if !f.OnArrival && !f.Withdrawn && !f.At.before(from.At) {
			old[id] = f
			delete(w.Found, id)
		}
	}
	return old
}

// matchFound matches what was found before with what is found now.
func (w *unit) matchFound(old map[string]*found) {
	for id, was := range old {
		if now := w.Found[id]; now != nil {
			now.Noticed, now.FoundAfterwards, now.Sent, now.Was = was.Noticed, was.FoundAfterwards, was.Sent, was.Was
			w.dirty[id] = true
			delete(old, id)
		}
	}
	for _, id := range slices.Sorted(maps.Keys(old)) {
		was := old[id]
		if now := w.foundElsewhere(was); now != nil {
			now.Noticed, now.FoundAfterwards, now.Was = was.Noticed, was.FoundAfterwards, id
			w.dirty[now.Occurrence.ID] = true
			continue
		}
		if was.Sent == "" {
			continue // nobody was told
		}
		was.Withdrawn = true
		w.Found[id] = was
		w.dirty[id] = true
	}
}

// movedWithin is how far the beginning of an alert may move for it to be the same.
const movedWithin = 2 * time.Minute

// foundElsewhere finds an alert that was found before, with its new beginning.
func (w *unit) foundElsewhere(was *found) *found {
	for _, id := range slices.Sorted(maps.Keys(w.Found)) {
		f := w.Found[id]
		if f.Occurrence.Key != was.Occurrence.Key || f.Sent != "" || f.Was != "" || f.Withdrawn || was.Sent == "" {
			continue
		}
		if f.Occurrence.RaisedAt.Sub(was.Occurrence.RaisedAt).Abs() <= movedWithin {
			return f
		}
	}
	return nil
}
