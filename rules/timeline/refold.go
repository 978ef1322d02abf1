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
func (u *unit) refold(ctx context.Context, h History) error {
	late := *u.lateAt
	i := len(u.Marks) - 1
	for i >= 0 && late.before(u.Marks[i].At) {
		i--
	}
	if i < 0 {
		// It is older than every mark: it is stored and its hole is closed, but
		// what was found stands.
		u.lateAt = nil
		return nil
	}
	from := u.Marks[i]
	list, err := u.history(ctx, h, from)
	if err != nil {
		return err
	}
	old := u.takeOutFoundSince(from)
	u.Marks = u.Marks[:i+1]
	if err := u.State.UnmarshalJSON(from.State); err != nil {
		return fmt.Errorf("folding %s again: %w", u.ID, err)
	}
	u.Since, u.lateAt, u.OfTimeline, u.OfTimelineT = 0, nil, nil, time.Time{}
	u.placing = from.At
	u.putOpen() // as they were at the mark
	u.foldList(list, from.At)
	u.matchFound(old)
	u.touched = true
	return nil
}

// history loads the messages between a mark and the place reached, in order.
func (u *unit) history(ctx context.Context, h History, from mark) ([]placed, error) {
	msgs, err := h.UnitMessages(ctx, u.ID, from.Floor)
	if err != nil {
		return nil, historyError{fmt.Errorf("loading history of %s: %w", u.ID, err)}
	}
	end := u.Order.frontier()
	var list []placed
	for i := range msgs {
		m := &msgs[i]
		b, bi := u.Order.boot(m.Boot)
		if m.Will || b == nil || m.Arrival > u.Arrival || b.First && m.Seq < b.Base {
			continue
		}
		at := u.Order.place(bi, m.Seq)
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
func (u *unit) foldList(list []placed, from place) {
	floors := make([]int64, len(list)+1)
	floors[len(list)] = u.Order.pendingFloor(u.Arrival + 1)
	for i := len(list) - 1; i >= 0; i-- {
		floors[i] = min(floors[i+1], list[i].m.Arrival)
	}
	next := from
	for i, p := range list {
		if p.at.Boot != next.Boot {
			next = place{p.at.Boot, 1}
		}
		if b := u.Order.at(p.at); b != nil && b.First && next.Seq < b.Base {
			next.Seq = b.Base
		}
		var miss missing
		if p.at.Seq > next.Seq {
			miss = u.Order.missingBetween(p.m.Boot, next.Seq, p.at.Seq-1)
		}
		u.placing = p.at
		u.foldOne(p.m, miss, floors[i])
		next = place{p.at.Boot, p.at.Seq + 1}
	}
}

// takeOutFoundSince takes out of Found what was raised at or after the mark.
func (u *unit) takeOutFoundSince(from mark) map[string]*found {
	old := map[string]*found{}
	for id, f := range u.Found {
		if !f.OnArrival && !f.Withdrawn && !f.At.before(from.At) {
			old[id] = f
			delete(u.Found, id)
		}
	}
	return old
}

// matchFound matches what was found before with what is found now.
func (u *unit) matchFound(old map[string]*found) {
	for id, was := range old {
		if now := u.Found[id]; now != nil {
			now.Noticed, now.FoundAfterwards, now.Sent, now.Was = was.Noticed, was.FoundAfterwards, was.Sent, was.Was
			u.dirty[id] = true
			delete(old, id)
		}
	}
	for _, id := range slices.Sorted(maps.Keys(old)) {
		was := old[id]
		if now := u.foundElsewhere(was); now != nil {
			now.Noticed, now.FoundAfterwards, now.Was = was.Noticed, was.FoundAfterwards, id
			u.dirty[now.Occurrence.ID] = true
			continue
		}
		if was.Sent == "" {
			continue // nobody was told
		}
		was.Withdrawn = true
		u.Found[id] = was
		u.dirty[id] = true
	}
}

// movedWithin is how far the beginning of an alert may move for it to be the same.
const movedWithin = 2 * time.Minute

// foundElsewhere finds an alert that was found before, with its new beginning.
func (u *unit) foundElsewhere(was *found) *found {
	for _, id := range slices.Sorted(maps.Keys(u.Found)) {
		f := u.Found[id]
		if f.Occurrence.Key != was.Occurrence.Key || f.Sent != "" || f.Was != "" || f.Withdrawn || was.Sent == "" {
			continue
		}
		if f.Occurrence.RaisedAt.Sub(was.Occurrence.RaisedAt).Abs() <= movedWithin {
			return f
		}
	}
	return nil
}
