package nextloads

import (
	"slices"
)

// class is rolls that are alike: any of them may stand for any other.
type class struct {
	Roll
	rolls []int // in the order in which they came
}

// batch is a run before it has a place in a plan: how many of each class.
type batch struct {
	kind, size, rolls int
	take              []int
}

// placed is a batch with its place.
type placed struct {
	batch
	unit, start, bathEnd, ready int
	was                         unitNow // the unit before it
	wasScore                    Score
}

// unitNow is a unit behind what was placed on it.
type unitNow struct {
	free, set int
	used      bool
	stock     []int
}

// state is a plan in the making.
type state struct {
	*Lab
	classes []class
	wait    []int // of each class, how many have no place yet
	units   []unitNow
	runs    []placed
	score   Score
}

func newState(l *Lab) *state {
	s := &state{Lab: l}
	for i, r := range l.Rolls {
		k := slices.IndexFunc(s.classes, func(c class) bool { return c.Roll == r })
		if k < 0 {
			s.classes = append(s.classes, class{Roll: r})
			k = len(s.classes) - 1
		}
		s.classes[k].rolls = append(s.classes[k].rolls, i)
	}
	slices.SortStableFunc(s.classes, func(a, b class) int {
		return compareInts(a.Due, b.Due, a.Kind, b.Kind, b.Size, a.Size)
	})
	for _, c := range s.classes {
		s.wait = append(s.wait, len(c.rolls))
	}
	for _, u := range l.Units {
		s.units = append(s.units, unitNow{free: u.Free, set: u.Set, stock: u.Stock})
	}
	s.score.Left = len(l.Rolls)
	return s
}

// earliest is when a unit can be started with a kind; false where it does not run
// it, or lacks what such a run needs.
func (s *state) earliest(u, kind int) (int, bool) {
	w, does := s.Units[u].Does[kind]
	if !does || s.Units[u].Holds <= 0 || !enough(s.units[u].stock, w.Needs) {
		return 0, false
	}
	now := s.units[u]
	at := now.free
	if now.used {
		at += s.TurnMin
	}
	if s.flushes(now.set, kind) {
		at += s.Units[u].FlushMin
	}
	return at, true
}

func enough(stock, needs []int) bool {
	for i, n := range needs {
		if n > stock[i] {
			return false
		}
	}
	return true
}

// place puts a batch on a unit at a start.
func (s *state) place(b batch, u, start int) {
	w := s.Units[u].Does[b.kind]
	p := placed{batch: b, unit: u, start: start, bathEnd: start + w.BathMin, ready: start + w.BathMin + w.DryMin, was: s.units[u], wasScore: s.score}
	s.score.Collisions += s.collisions(w, start)
	s.score.Left -= b.rolls
	s.score.End = max(s.score.End, p.ready)
	s.score.ReadySum += b.rolls * p.ready
	for i, n := range b.take {
		s.wait[i] -= n
		if over := p.ready - s.classes[i].Due; n > 0 && over > 0 {
			s.score.Late += n
			s.score.LateMin += n * over
		}
	}
	now := unitNow{free: start + s.busyMin(w), set: b.kind, used: true, stock: s.units[u].stock}
	if len(w.Needs) > 0 {
		now.stock = slices.Clone(now.stock)
		for i, n := range w.Needs {
			now.stock[i] -= n
		}
	}
	s.units[u] = now
	s.runs = append(s.runs, p)
}

// undo takes the last batch out again.
func (s *state) undo() {
	p := s.runs[len(s.runs)-1]
	s.runs = s.runs[:len(s.runs)-1]
	s.units[p.unit], s.score = p.was, p.wasScore
	for i, n := range p.take {
		s.wait[i] += n
	}
}

// collisions counts the hands of other runs that are wanted together with those
// of a run that would be started then.
func (s *state) collisions(w Way, start int) (n int) {
	for _, o := range w.hands() {
		at := start + o
		for _, h := range s.Hands {
			n += s.together(at, h)
		}
		for i := range s.runs {
			r := &s.runs[i]
			n += s.together(at, r.start) + s.together(at, r.bathEnd)
			if r.ready > r.bathEnd {
				n += s.together(at, r.ready)
			}
		}
	}
	return n
}

func (s *state) together(a, b int) int {
	if a-b < s.ApartMin && b-a < s.ApartMin {
		return 1
	}
	return 0
}

// dryerTakes tells whether the common dryer has room for so much all the time from
// one moment to another.
func (s *state) dryerTakes(size, from, to int) bool {
	if s.DryerRoom == 0 || from == to {
		return true
	}
	if s.hangs(from)+size > s.DryerRoom {
		return false
	}
	for i := range s.runs {
		if at := s.runs[i].bathEnd; at > from && at < to && s.hangs(at)+size > s.DryerRoom {
			return false
		}
	}
	for _, d := range s.Drying {
		if d.From > from && d.From < to && s.hangs(d.From)+size > s.DryerRoom {
			return false
		}
	}
	return true
}

func (s *state) hangs(at int) (size int) {
	for i := range s.runs {
		if r := &s.runs[i]; r.bathEnd <= at && at < r.ready {
			size += r.size
		}
	}
	for _, d := range s.Drying {
		if d.From <= at && at < d.To {
			size += d.Size
		}
	}
	return size
}

// starts are the minutes at which a batch may be started on a unit, the best for
// hands first. A plan that cannot be moved earlier anywhere has each run start as
// soon as its unit is free, as soon as the dryer has room, or just so long after
// some other moment that wants hands; so no other start need be looked at.
func (s *state) starts(b batch, u int) []int {
	first, ok := s.earliest(u, b.kind)
	if !ok {
		return nil
	}
	w := s.Units[u].Does[b.kind]
	out := []int{first}
	add := func(at int) {
		if at > first {
			out = append(out, at)
		}
	}
	for _, o := range w.hands() {
		for _, h := range s.Hands {
			add(h + s.ApartMin - o)
		}
		for i := range s.runs {
			r := &s.runs[i]
			add(r.start + s.ApartMin - o)
			add(r.bathEnd + s.ApartMin - o)
			add(r.ready + s.ApartMin - o)
		}
	}
	if s.DryerRoom > 0 {
		for i := range s.runs {
			add(s.runs[i].ready - w.BathMin)
		}
		for _, d := range s.Drying {
			add(d.To - w.BathMin)
		}
	}
	slices.Sort(out)
	out = slices.Compact(out)
	out = slices.DeleteFunc(out, func(at int) bool { return !s.dryerTakes(b.size, at+w.BathMin, at+w.BathMin+w.DryMin) })
	slices.SortStableFunc(out, func(x, y int) int { return s.collisions(w, x) - s.collisions(w, y) })
	return out
}

// plan gives what is placed as people are shown it.
func (s *state) plan() (runs []Run, left []int) {
	next := make([]int, len(s.classes))
	ordered := slices.Clone(s.runs)
	slices.SortStableFunc(ordered, func(a, b placed) int { return compareInts(a.start, b.start, a.unit, b.unit) })
	for _, p := range ordered {
		r := Run{Unit: p.unit, Kind: p.kind, Flush: s.Units[p.unit].FlushMin > 0 && s.flushes(p.was.set, p.kind), Start: p.start, BathEnd: p.bathEnd, Ready: p.ready}
		for i, n := range p.take {
			r.Rolls = append(r.Rolls, s.classes[i].rolls[next[i]:next[i]+n]...)
			next[i] += n
		}
		slices.Sort(r.Rolls)
		runs = append(runs, r)
	}
	for i, c := range s.classes {
		left = append(left, c.rolls[next[i]:]...)
	}
	slices.Sort(left)
	return runs, left
}
