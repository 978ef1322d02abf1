package rules

import (
	"cmp"
	"slices"
	"time"

	"wetside/internal/lab"
)

// order puts one unit's messages into the order of its timeline: boots by
// first arrival, then seq. It holds back what follows a hole for a few
// seconds of arrival, and a backlog until it has come in whole.
type order struct {
	Boots []*boot `json:"boots"`
	At    int     `json:"at"` // the boot being folded

	Kept []*lab.Message `json:"kept,omitempty"` // retained copies of boots not heard live

	LastRecv time.Time `json:"last_recv,omitzero"` // the last arrival of the unit
	PauseEnd time.Time `json:"pause_end,omitzero"` // the end of its last long pause
}

// boot is one start of a unit's controller.
type boot struct {
	ID      string         `json:"id"`
	First   bool           `json:"first,omitempty"` // the first ever heard of the unit: it has no beginning to miss
	Next    int64          `json:"next"`            // the next seq to fold
	Pending []*lab.Message `json:"pending,omitempty"`
	Gaps    []lab.Gap      `json:"gaps,omitempty"` // holes gone past, still open
	Base    int64          `json:"base,omitempty"` // the first seq folded of the First boot
}

// place is a message's place in the timeline.
type place struct {
	Boot int   `json:"boot"`
	Seq  int64 `json:"seq"`
}

func (p place) before(q place) bool {
	return p.Boot < q.Boot || p.Boot == q.Boot && p.Seq < q.Seq
}

// taken says what became of a message handed to order.
type taken int

const (
	takenNew  taken = iota // waits for its turn
	takenCopy              // was here before
	takenLate              // belongs before what is already folded
)

func (o *order) boot(id string) (*boot, int) {
	i := slices.IndexFunc(o.Boots, func(b *boot) bool { return b.ID == id })
	if i < 0 {
		return nil, -1
	}
	return o.Boots[i], i
}

// add takes one message. The place is where it stands in the timeline.
func (o *order) add(m *lab.Message) (taken, place) {
	b, i := o.boot(m.Boot)
	if b == nil {
		if m.Retained { // a retained copy does not begin a timeline
			o.Kept = append(o.Kept, m)
			return takenCopy, place{}
		}
		b, i = o.begin(m)
	}
	at := place{i, m.Seq}
	if b.First && b.Base == 0 && m.Seq < b.Next {
		b.Next = m.Seq // nothing of it is folded yet
	}
	switch {
	case m.Seq < b.Next:
		return o.behind(b, m), at
	case i < o.At: // the timeline has gone on to a later boot
		if m.Seq > b.Next {
			b.Gaps = append(b.Gaps, lab.Gap{Boot: b.ID, FromSeq: b.Next, ToSeq: m.Seq - 1})
		}
		b.Next = m.Seq + 1
		return takenLate, at
	}
	j, found := slices.BinarySearchFunc(b.Pending, m.Seq, func(x *lab.Message, s int64) int { return cmp.Compare(x.Seq, s) })
	if found {
		return takenCopy, at
	}
	b.Pending = slices.Insert(b.Pending, j, m)
	return takenNew, at
}

// begin opens the timeline of a boot, with what a retained copy told of it.
func (o *order) begin(m *lab.Message) (*boot, int) {
	b := &boot{ID: m.Boot, Next: 1, First: len(o.Boots) == 0}
	if b.First {
		b.Next = m.Seq
	}
	o.Boots = append(o.Boots, b)
	for _, k := range o.Kept {
		if k.Boot == b.ID && !b.First && k.Seq != m.Seq {
			b.Pending = append(b.Pending, k)
		}
	}
	o.Kept = nil
	return b, len(o.Boots) - 1
}

// behind tells a copy from late evidence for what is already folded.
func (o *order) behind(b *boot, m *lab.Message) taken {
	if b.First && m.Seq < b.Base {
		if m.Seq+1 < b.Base {
			b.Gaps = append(b.Gaps, lab.Gap{Boot: b.ID, FromSeq: m.Seq + 1, ToSeq: b.Base - 1})
		}
		b.Base = m.Seq
		return takenLate
	}
	for i, g := range b.Gaps {
		if m.Seq < g.FromSeq || m.Seq > g.ToSeq {
			continue
		}
		rest := slices.Delete(slices.Clone(b.Gaps), i, i+1)
		if m.Seq > g.FromSeq {
			rest = append(rest, lab.Gap{Boot: b.ID, FromSeq: g.FromSeq, ToSeq: m.Seq - 1})
		}
		if m.Seq < g.ToSeq {
			rest = append(rest, lab.Gap{Boot: b.ID, FromSeq: m.Seq + 1, ToSeq: g.ToSeq})
		}
		b.Gaps = rest
		return takenLate
	}
	return takenCopy
}

// waits gives how long a hole is waited for.
func (o *order) waits(f *Figures, now time.Time) time.Duration {
	if !o.PauseEnd.IsZero() && now.Sub(o.PauseEnd) < time.Minute {
		return sec(f.HoleWaitReconnectS)
	}
	return sec(f.HoleWaitS)
}

// latest is when the last message that waits for its turn was sent.
func (o *order) latest() (at time.Time) {
	for _, b := range o.Boots[o.At:] {
		if n := len(b.Pending); n > 0 {
			at = maxTime(at, b.Pending[n-1].At)
		}
	}
	return at
}

// next gives the next message of the timeline, with the hole right before it,
// or nil when there is none yet at arrival time now. A hole is waited for since
// the first message behind it came, and no longer than the unit itself has
// gone on behind it: in a buffer that arrives at once there is nothing to wait
// for.
func (o *order) next(f *Figures, now time.Time) (*lab.Message, *lab.Gap, int) {
	for o.At < len(o.Boots) {
		b := o.Boots[o.At]
		if len(b.Pending) == 0 {
			if o.At+1 == len(o.Boots) {
				return nil, nil, 0
			}
			o.At++
			continue
		}
		m := b.Pending[0]
		if m.Seq == b.Next {
			return o.take(b, m), nil, o.At
		}
		if wait := o.waits(f, now); now.Sub(m.Received) < wait && o.latest().Sub(m.At) < wait {
			return nil, nil, 0
		}
		g := lab.Gap{Boot: b.ID, FromSeq: b.Next, ToSeq: m.Seq - 1}
		b.Gaps = append(b.Gaps, g)
		return o.take(b, m), &g, o.At
	}
	return nil, nil, 0
}

func (o *order) take(b *boot, m *lab.Message) *lab.Message {
	if b.First && b.Base == 0 {
		b.Base = m.Seq
	}
	b.Pending = b.Pending[1:]
	b.Next = m.Seq + 1
	return m
}

// frontier is the place of the next message to fold.
func (o *order) frontier() place {
	if o.At >= len(o.Boots) {
		return place{o.At, 0}
	}
	return place{o.At, o.Boots[o.At].Next}
}

// pendingFloor is the lowest arrival number that waits for its turn.
func (o *order) pendingFloor(floor int64) int64 {
	for _, b := range o.Boots[min(o.At, len(o.Boots)):] {
		for _, m := range b.Pending {
			floor = min(floor, m.Arrival)
		}
	}
	return floor
}

// waiting tells whether anything waits for its turn.
func (o *order) waiting() bool {
	return slices.ContainsFunc(o.Boots[min(o.At, len(o.Boots)):], func(b *boot) bool { return len(b.Pending) > 0 })
}
