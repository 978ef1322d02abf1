package nextloads

import "slices"

// FirstCome is the plan of first come, first served: the roll that came first is
// loaded with as many of its kind, in the order in which they came, as fit on the
// unit that can be started first, and at once.
func (l *Lab) FirstCome() (Plan, error) {
	if err := l.check(); err != nil {
		return Plan{}, err
	}
	s := firstCome(l)
	p := Plan{Score: s.score, FirstCome: s.score}
	p.Runs, p.Left = s.plan()
	return p, nil
}

func firstCome(l *Lab) *state {
	s := newState(l)
	of := make([]int, len(l.Rolls)) // the class of each roll
	for i, c := range s.classes {
		for _, r := range c.rolls {
			of[r] = i
		}
	}
	waiting := make([]int, len(l.Rolls))
	for i := range waiting {
		waiting[i] = i
	}
	for len(waiting) > 0 {
		kind, best, at := l.Rolls[waiting[0]].Kind, -1, 0
		var load batch
		var rolls []int
		for u := range l.Units {
			b, of := s.inOrder(waiting, of, u, kind)
			if b.rolls == 0 {
				continue
			}
			if starts := s.starts(b, u); len(starts) > 0 {
				if t := slices.Min(starts); best < 0 || t < at {
					load, rolls, best, at = b, of, u, t
				}
			}
		}
		if best < 0 {
			waiting = waiting[1:] // no unit takes it
			continue
		}
		s.place(load, best, at)
		waiting = slices.DeleteFunc(waiting, func(r int) bool { return slices.Contains(rolls, r) })
	}
	return s
}

// inOrder fills the reels of a unit with rolls of a kind in the order in which they
// came: the first of them that does not fit ends the load, as at a counter.
func (s *state) inOrder(waiting, of []int, u, kind int) (b batch, rolls []int) {
	b = batch{kind: kind, take: make([]int, len(s.classes))}
	room := s.room(u, kind)
	for _, r := range waiting {
		if s.Rolls[r].Kind != kind {
			continue
		}
		if s.Rolls[r].Size > room {
			break
		}
		room -= s.Rolls[r].Size
		b.take[of[r]]++
		b.rolls++
		b.size += s.Rolls[r].Size
		rolls = append(rolls, r)
	}
	return b, rolls
}
