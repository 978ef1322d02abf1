package nextloads

import (
	"cmp"
	"iter"
)

func compareInts(pairs ...int) int {
	for i := 0; i+1 < len(pairs); i += 2 {
		if c := cmp.Compare(pairs[i], pairs[i+1]); c != 0 {
			return c
		}
	}
	return 0
}

// kinds lists the kinds of which a roll waits, the one that is due first first.
func (s *state) kinds() (out []int) {
	seen := map[int]bool{}
	for i, c := range s.classes {
		if s.wait[i] > 0 && !seen[c.Kind] {
			seen[c.Kind] = true
			out = append(out, c.Kind)
		}
	}
	return out
}

// room is how much of a kind one run on a unit can take.
func (s *state) room(u, kind int) int {
	holds := s.Units[u].Holds
	if s.DryerRoom > 0 && s.Units[u].Does[kind].DryMin > 0 {
		holds = min(holds, s.DryerRoom)
	}
	return holds
}

// batches are all ways to fill the reels of a unit with rolls of one kind: as many
// as fit of those due first, then the others.
func (s *state) batches(u, kind int) iter.Seq[batch] {
	return func(yield func(batch) bool) {
		s.fill(batch{kind: kind, take: make([]int, len(s.classes))}, 0, s.room(u, kind), yield)
	}
}

func (s *state) fill(b batch, from, room int, yield func(batch) bool) bool {
	for from < len(s.classes) && (s.classes[from].Kind != b.kind || s.wait[from] == 0) {
		from++
	}
	if from == len(s.classes) {
		if b.rolls == 0 {
			return true
		}
		b.take = append([]int(nil), b.take...)
		return yield(b)
	}
	size := s.classes[from].Size
	for n := min(s.wait[from], room/size); n >= 0; n-- {
		c := b
		c.take[from] = n
		c.rolls += n
		c.size += n * size
		if !s.fill(c, from+1, room-n*size, yield) {
			return false
		}
	}
	return true
}

// first is the batch that takes what is due first, as much as fits.
func (s *state) first(u, kind int) (batch, bool) {
	for b := range s.batches(u, kind) {
		return b, true
	}
	return batch{}, false
}
