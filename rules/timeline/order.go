package timeline

import (
	"cmp"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/rules"
)

// order puts one unit's messages into the order of its timeline: boots by
// first arrival, then seq. It holds back what follows a hole for a few
// seconds of arrival, and a backlog until it has come in whole.
type order struct {
	Boots []*boot `json:"boots"`
	At    int     `json:"at"` // the boot being folded, by its place in Boots

	// Older boots are forgotten: how many, and a short hash of each of the last
	// ones, so that a late copy of their messages does not begin a boot.
	Forgot         int    `json:"forgot,omitempty"`
	ForgottenMarks []byte `json:"gone,omitempty"`

	Refused []*refusedOf `json:"refused,omitempty"`

	Kept []*lab.Message `json:"kept,omitempty"` // retained messages of boots that have not sent live

	LastRecv time.Time `json:"last_recv,omitzero"` // the last arrival of the unit
	PauseEnd time.Time `json:"pause_end,omitzero"` // the end of its last long pause
}

// Caps of what one unit can make the order keep.
const (
	bootsKept   = 64
	goneKept    = 1024
	goneMark    = 8 // bytes of a forgotten boot's hash
	keptKept    = 16
	gapsKept    = 256
	pendingMost = 2000 // beyond it messages are folded without waiting: memory is bounded
)

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
	takenCopy              // was taken before
	takenLate              // belongs before what is already folded
)

// place gives the place of a message of the i-th of Boots.
func (o *order) place(i int, seq int64) place { return place{o.Forgot + i, seq} }

// at gives the boot of a place; nil where it is forgotten.
func (o *order) at(p place) *boot {
	if i := p.Boot - o.Forgot; i >= 0 && i < len(o.Boots) {
		return o.Boots[i]
	}
	return nil
}

// waitingCount counts what waits for its turn.
func (o *order) waitingCount() int {
	n := 0
	for _, b := range o.Boots[min(o.At, len(o.Boots)):] {
		n += len(b.Pending)
	}
	return n
}

// add takes one message. The place is where it stands in the timeline.
func (o *order) add(m *lab.Message) (taken, place) {
	b, i := o.boot(m.Boot)
	if b == nil {
		if m.Retained { // a message that the broker kept does not begin a boot
			o.Kept = lab.LastOf(append(o.Kept, m), keptKept)
			return takenCopy, place{}
		}
		if o.forgotten(m.Boot) {
			return takenCopy, place{}
		}
		b, i = o.begin(m)
	}
	at := o.place(i, m.Seq)
	if b.First && b.Base == 0 && m.Seq < b.Next {
		b.Next = m.Seq // nothing of it is folded yet
	}
	switch {
	case m.Seq < b.Next:
		return o.addFolded(b, m), at
	case i < o.At: // the timeline has gone on to a later boot
		if m.Seq > b.Next {
			b.addGaps(o.missingBetween(b.ID, b.Next, m.Seq-1).gaps)
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

// addFolded tells whether a message before the place reached is a copy or late
// evidence.
func (o *order) addFolded(b *boot, m *lab.Message) taken {
	if b.First && m.Seq < b.Base {
		if m.Seq+1 < b.Base {
			b.addGaps(o.missingBetween(b.ID, m.Seq+1, b.Base-1).gaps)
		}
		b.Base = m.Seq
		return takenLate
	}
	if b.fills(m.Seq) || o.unrefuse(b.ID, m.Seq) {
		return takenLate
	}
	return takenCopy
}

// holeWait gives how long a hole is waited for.
func (o *order) holeWait(f *rules.Figures, now time.Time) time.Duration {
	if !o.PauseEnd.IsZero() && now.Sub(o.PauseEnd) < time.Minute {
		return lab.Seconds(f.HoleWaitReconnectS)
	}
	return lab.Seconds(f.HoleWaitS)
}

// latestWaiting is when the last message that waits for its turn was sent.
func (o *order) latestWaiting() (at time.Time) {
	for _, b := range o.Boots[o.At:] {
		if n := len(b.Pending); n > 0 {
			at = lab.Later(at, b.Pending[n-1].At)
		}
	}
	return at
}

// next is the next message of the timeline, with what is missing right before it
// and the index of its boot; nil while there is none at arrival time now. The wait
// for a hole begins when the first message behind it arrives. It also ends when
// the unit's own times behind the hole have gone on for as long: what a buffer
// lacks that arrives all at once will not come.
func (o *order) next(f *rules.Figures, now time.Time) (*lab.Message, missing, int) {
	for o.At < len(o.Boots) {
		b := o.Boots[o.At]
		if len(b.Pending) == 0 {
			if o.At+1 == len(o.Boots) {
				return nil, missing{}, 0
			}
			o.At++
			continue
		}
		m := b.Pending[0]
		if m.Seq == b.Next {
			return o.pop(b, m), missing{}, o.At
		}
		miss := o.missingBetween(b.ID, b.Next, m.Seq-1)
		if wait := o.holeWait(f, now); len(miss.gaps) > 0 && len(b.Pending) < pendingMost && now.Sub(m.Received) < wait && o.latestWaiting().Sub(m.At) < wait {
			return nil, missing{}, 0
		}
		b.addGaps(miss.gaps)
		return o.pop(b, m), miss, o.At
	}
	return nil, missing{}, 0
}

func (o *order) pop(b *boot, m *lab.Message) *lab.Message {
	if b.First && b.Base == 0 {
		b.Base = m.Seq
	}
	b.Pending[0] = nil // so that what is folded can be freed while others wait
	if b.Pending = b.Pending[1:]; len(b.Pending) == 0 {
		b.Pending = nil
	}
	b.Next = m.Seq + 1
	return m
}

// frontier is the place of the next message to fold.
func (o *order) frontier() place {
	if o.At >= len(o.Boots) {
		return o.place(o.At, 0)
	}
	return o.place(o.At, o.Boots[o.At].Next)
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
