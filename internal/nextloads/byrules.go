package nextloads

import "slices"

// byRules tries simple rules before the search: what is due first, what can be
// started first, what there is most of. They give it something good to beat where
// it cannot look at everything.
func (x *search) byRules() {
	for _, choose := range []func(s *state, kind, u, at int) []int{
		func(s *state, kind, u, at int) []int { return []int{s.firstDue(kind), at} },
		func(s *state, kind, u, at int) []int { return []int{at, s.firstDue(kind)} },
		func(s *state, kind, u, at int) []int { return []int{-s.toRun(kind), at} },
		func(s *state, kind, u, at int) []int { return []int{s.slack(kind, u, at), at} },
	} {
		for _, calm := range []bool{true, false} {
			x.keep(byRule(x.Lab, choose, calm))
		}
	}
}

// byRule places full loads one after the other, the one of which choose gives the
// least figures first; calm: where hands are not wanted twice at once.
func byRule(l *Lab, choose func(s *state, kind, u, at int) []int, calm bool) *state {
	s := newState(l)
	for {
		var best []int
		var load batch
		unit, start := -1, 0
		for _, kind := range s.kinds() {
			for u := range l.Units {
				b, ok := s.first(u, kind)
				if !ok {
					continue
				}
				starts := s.starts(b, u)
				if len(starts) == 0 {
					continue
				}
				at := starts[0]
				if !calm {
					at = slices.Min(starts)
				}
				w := l.Units[u].Does[kind]
				figures := append(choose(s, kind, u, at), at+w.BathMin+w.DryMin)
				if unit < 0 || slices.Compare(figures, best) < 0 {
					best, load, unit, start = figures, b, u, at
				}
			}
		}
		if unit < 0 {
			return s
		}
		s.place(load, unit, start)
	}
}

// firstDue is when the first roll of a kind that waits is due.
func (s *state) firstDue(kind int) int {
	for i, c := range s.classes {
		if c.Kind == kind && s.wait[i] > 0 {
			return c.Due
		}
	}
	return NoDue
}

// toRun is how much of a kind waits.
func (s *state) toRun(kind int) int {
	_, size, _ := s.ofKind(kind, NoDue)
	return size
}

// slack is how much time a kind has left if it is started then.
func (s *state) slack(kind, u, at int) int {
	w := s.Units[u].Does[kind]
	return s.firstDue(kind) - at - w.BathMin - w.DryMin
}
