package postgres

import (
	"slices"

	"wetside/internal/lab"
)

// span is a stretch of sequence numbers, both ends included.
type span struct{ lo, hi int64 }

// seqSet is the set of a boot's stored sequence numbers: a few spans, since
// units count up by one.
type seqSet struct{ spans []span }

// has tells whether n is in the set.
func (s *seqSet) has(n int64) bool {
	_, ok := s.find(n)
	return ok
}

// find gives the span that holds n, or where one would stand.
func (s *seqSet) find(n int64) (int, bool) {
	return slices.BinarySearchFunc(s.spans, n, func(a span, n int64) int {
		switch {
		case a.hi < n:
			return -1
		case a.lo > n:
			return 1
		}
		return 0
	})
}

// add puts n in, joining the spans it touches.
func (s *seqSet) add(n int64) {
	i, ok := s.find(n)
	if ok {
		return
	}
	joinsLeft := i > 0 && s.spans[i-1].hi == n-1
	joinsRight := i < len(s.spans) && s.spans[i].lo == n+1
	switch {
	case joinsLeft && joinsRight:
		s.spans[i-1].hi = s.spans[i].hi
		s.spans = slices.Delete(s.spans, i, i+1)
	case joinsLeft:
		s.spans[i-1].hi = n
	case joinsRight:
		s.spans[i].lo = n
	default:
		s.spans = slices.Insert(s.spans, i, span{n, n})
	}
}

// bootKey names one start of a unit's controller.
type bootKey struct {
	unit lab.UnitID
	boot string
}

// maxHeardBoots bounds the memory for boots: a unit starts a new one now and
// then, and old ones hardly ever speak again.
const maxHeardBoots = 20_000

// heardBoots holds the stored sequence numbers of the boots heard lately. It
// is a cache of the database. Not safe for concurrent use.
type heardBoots struct{ sets map[bootKey]*seqSet }

func newHeardBoots() *heardBoots { return &heardBoots{map[bootKey]*seqSet{}} }

func (h *heardBoots) clear() { clear(h.sets) }

// forget drops the boots of messages whose writing did not go well: the next
// look goes to the database.
func (h *heardBoots) forget(msgs []lab.Message) {
	for i := range msgs {
		delete(h.sets, bootKey{msgs[i].Unit, msgs[i].Boot})
	}
}

// shrink drops everything when there is too much; what is needed is loaded again.
func (h *heardBoots) shrink() {
	if len(h.sets) > maxHeardBoots {
		clear(h.sets)
	}
}
