package timeline

import (
	"slices"

	"wetside/internal/lab"
)

// refusedOf are the seqs, rising, of a boot's messages that were refused though
// boot and seq could be read. They were received, and leave no hole.
type refusedOf struct {
	Boot string  `json:"boot"`
	Seqs []int64 `json:"seqs"`
	Step []int64 `json:"step,omitempty"` // those of them that were step messages, and may have told a change of phase
}

// Caps of refused seqs: the oldest beyond them count as holes again.
const (
	refusedKept      = 2048 // of a boot
	refusedBootsKept = 8
)

// takeRefused takes a message that was refused: it was received, and nothing in it
// is judged.
func (u *unit) takeRefused(q *lab.Quarantined) {
	boot, seq, ok := q.Key()
	if !ok || !u.Order.refuse(boot, seq, q.Channel() == lab.ChannelStep) {
		return
	}
	if b, i := u.Order.boot(boot); b != nil && b.fills(seq) {
		u.refoldFrom(u.Order.place(i, seq))
	}
}

func (u *unit) refoldFrom(at place) {
	if u.lateAt == nil || at.before(*u.lateAt) {
		u.lateAt = &at
	}
}

// lacks tells whether a seq lies in a hole that was given up.
func (b *boot) lacks(seq int64) bool {
	return slices.ContainsFunc(b.Gaps, func(g lab.Gap) bool { return g.FromSeq <= seq && seq <= g.ToSeq })
}

// fills takes a seq out of the hole that it lies in; false where it lies in none.
func (b *boot) fills(seq int64) bool {
	for i, g := range b.Gaps {
		if seq < g.FromSeq || seq > g.ToSeq {
			continue
		}
		rest := slices.Delete(slices.Clone(b.Gaps), i, i+1)
		if seq > g.FromSeq {
			rest = append(rest, lab.Gap{Boot: b.ID, FromSeq: g.FromSeq, ToSeq: seq - 1})
		}
		if seq < g.ToSeq {
			rest = append(rest, lab.Gap{Boot: b.ID, FromSeq: seq + 1, ToSeq: g.ToSeq})
		}
		b.Gaps = rest
		return true
	}
	return false
}

// refuse notes the seq of a refused message; false where it is known already.
func (o *order) refuse(boot string, seq int64, step bool) bool {
	b, _ := o.boot(boot)
	if b == nil && o.forgotten(boot) || b != nil && seq < b.Next && !b.lacks(seq) {
		return false
	}
	r := o.refusedOf(boot)
	if r == nil {
		r = &refusedOf{Boot: boot}
		o.Refused = lab.LastOf(append(o.Refused, r), refusedBootsKept)
	}
	i, known := slices.BinarySearch(r.Seqs, seq)
	if known {
		return false
	}
	r.Seqs = lab.LastOf(slices.Insert(r.Seqs, i, seq), refusedKept)
	if step {
		i, _ = slices.BinarySearch(r.Step, seq)
		r.Step = lab.LastOf(slices.Insert(r.Step, i, seq), refusedKept)
	}
	return true
}

func (o *order) refusedOf(boot string) *refusedOf {
	i := slices.IndexFunc(o.Refused, func(r *refusedOf) bool { return r.Boot == boot })
	if i < 0 {
		return nil
	}
	return o.Refused[i]
}

// within gives those of a rising list from one to another.
func within(list []int64, from, to int64) []int64 {
	i, _ := slices.BinarySearch(list, from)
	j, _ := slices.BinarySearch(list, to+1)
	return list[i:j]
}

// unrefuse forgets a refused message when a good one comes with the same boot and
// seq.
func (o *order) unrefuse(boot string, seq int64) bool {
	r := o.refusedOf(boot)
	if r == nil {
		return false
	}
	i, found := slices.BinarySearch(r.Seqs, seq)
	if found {
		r.Seqs = slices.Delete(slices.Clone(r.Seqs), i, i+1)
	}
	return found
}

// missing is what was not received right before a message: the holes, and whether
// a message was refused that may have told a change of phase (unspoken).
type missing struct {
	from     int64 // the first seq that is missing or was refused; 0 for none
	gaps     []lab.Gap
	unspoken bool
}

// missingBetween says what is missing of a boot from one seq to another.
func (o *order) missingBetween(boot string, from, to int64) missing {
	m, r := missing{from: from}, o.refusedOf(boot)
	if r != nil {
		m.unspoken = len(within(r.Step, from, to)) > 0
		for _, seq := range within(r.Seqs, from, to) {
			if seq > from {
				m.gaps = append(m.gaps, lab.Gap{Boot: boot, FromSeq: from, ToSeq: seq - 1})
			}
			from = seq + 1
		}
	}
	if from <= to {
		m.gaps = append(m.gaps, lab.Gap{Boot: boot, FromSeq: from, ToSeq: to})
	}
	return m
}
