package nextloads

import "slices"

// bound is a score that no plan which goes on from here can beat. Each of its
// figures is too good by itself, so that together they are too good as well.
func (s *state) bound() Score {
	b := s.score
	b.Left = s.stay()
	late, lateMin := 0, 0
	for i, n := range s.wait {
		if n == 0 {
			continue
		}
		at, ok := s.soonest(s.classes[i].Kind)
		if !ok {
			continue
		}
		if over := at - s.classes[i].Due; over > 0 {
			late += n
			lateMin += n * over
		}
		if b.Left == 0 {
			b.End = max(b.End, at)
			b.ReadySum += n * at
		}
	}
	late = max(late, s.lateByRoom())
	if b.Left > 0 { // those that stay may be the late ones
		late, lateMin = max(0, late-b.Left), 0
	} else {
		b.End = max(b.End, s.endByWork())
	}
	b.Late += late
	b.LateMin += lateMin
	return b
}

// soonest is when a roll of a kind can be ready at best.
func (s *state) soonest(kind int) (at int, ok bool) {
	for u := range s.Units {
		t, can := s.earliest(u, kind)
		if !can {
			continue
		}
		w := s.Units[u].Does[kind]
		if t += w.BathMin + w.DryMin; !ok || t < at {
			at, ok = t, true
		}
	}
	return at, ok
}

// runsLeft is how many more runs of a kind a unit has the stock for.
func (s *state) runsLeft(u int, w Way) int {
	n := 1 << 20
	for i, need := range w.Needs {
		if need > 0 {
			n = min(n, s.units[u].stock[i]/need)
		}
	}
	return n
}

// ofKind is how many rolls of a kind wait that are due by a time, how much they
// are, and the largest of them.
func (s *state) ofKind(kind, due int) (rolls, size, largest int) {
	for i, c := range s.classes {
		if n := s.wait[i]; n > 0 && c.Kind == kind && c.Due <= due {
			rolls += n
			size += n * c.Size
			largest = max(largest, c.Size)
		}
	}
	return rolls, size, largest
}

// stay is how many rolls at least find no place, for want of a unit or of stock.
func (s *state) stay() (n int) {
	for _, kind := range s.kinds() {
		rolls, size, largest := s.ofKind(kind, NoDue)
		can := 0
		for u := range s.Units {
			if _, ok := s.earliest(u, kind); ok {
				can += s.room(u, kind) * s.runsLeft(u, s.Units[u].Does[kind])
			}
		}
		if over := size - can; can == 0 {
			n += rolls
		} else if over > 0 {
			n += (over + largest - 1) / largest
		}
	}
	return n
}

// lateByRoom is how many rolls at least are late because the reels of all units,
// run one after the other for nothing else, do not take them in time.
func (s *state) lateByRoom() (n int) {
	for _, kind := range s.kinds() {
		worst := 0
		for i, c := range s.classes {
			if c.Kind != kind || s.wait[i] == 0 || c.Due == NoDue {
				continue
			}
			_, size, largest := s.ofKind(kind, c.Due)
			for u := range s.Units {
				size -= s.roomBy(u, kind, c.Due)
			}
			if size > 0 {
				worst = max(worst, (size+largest-1)/largest)
			}
		}
		n += worst
	}
	return n
}

// roomBy is how much of a kind a unit could have ready by a time.
func (s *state) roomBy(u, kind, due int) int {
	at, ok := s.earliest(u, kind)
	if !ok {
		return 0
	}
	w := s.Units[u].Does[kind]
	spare := due - at - w.BathMin - w.DryMin
	if spare < 0 {
		return 0
	}
	return s.room(u, kind) * min(1+spare/(s.busyMin(w)+s.TurnMin), s.runsLeft(u, w))
}

// endByWork is when the last film is ready at the earliest if the work could be
// divided among the units as one likes.
func (s *state) endByWork() int {
	work, tail := 0, 1<<20
	able := make([]bool, len(s.Units))
	for _, kind := range s.kinds() {
		_, size, _ := s.ofKind(kind, NoDue)
		holds, takes := 0, 1<<20
		for u := range s.Units {
			if _, ok := s.earliest(u, kind); !ok {
				continue
			}
			able[u] = true
			w := s.Units[u].Does[kind]
			holds, takes = max(holds, s.room(u, kind)), min(takes, s.busyMin(w)+s.TurnMin)
			tail = min(tail, w.BathMin+w.DryMin-s.busyMin(w))
		}
		if holds > 0 {
			work += (size + holds - 1) / holds * takes
		}
	}
	var free []int
	for u, ok := range able {
		if ok {
			at := s.units[u].free
			if !s.units[u].used {
				at -= s.TurnMin // the first run of a unit follows none
			}
			free = append(free, at)
		}
	}
	if work == 0 || len(free) == 0 {
		return 0
	}
	slices.Sort(free)
	end, sum := 1<<30, 0
	for i, at := range free {
		sum += at
		end = min(end, max(at, (work+sum+i)/(i+1)))
	}
	return end + tail
}
