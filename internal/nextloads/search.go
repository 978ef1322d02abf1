package nextloads

import (
	"encoding/binary"
	"slices"
)

// MaxSteps bounds the search: so many places for a run are looked at. It is
// counted, so that the answer does not depend on how busy the machine is.
const MaxSteps = 40_000

// Plan is what to load next.
func (l *Lab) Plan() (Plan, error) { return l.PlanWithin(MaxSteps) }

// PlanWithin is Plan within so many steps.
func (l *Lab) PlanWithin(steps int) (Plan, error) {
	if err := l.check(); err != nil {
		return Plan{}, err
	}
	x := &search{state: newState(l), most: steps, seen: map[string]bool{}}
	root := x.bound()
	first := firstCome(l)
	x.keep(first)
	x.byRules()
	x.from()
	p := Plan{Runs: x.runsBest, Left: x.leftBest, Score: x.best, FirstCome: first.score, Steps: x.steps}
	p.Proven = !x.short || root.asked(x.best) == 0
	return p, nil
}

// search is a walk through all plans, depth first, that passes over those that
// cannot be better than the best one so far.
type search struct {
	*state
	most, steps int
	short       bool // it ended before it was done
	seen        map[string]bool
	best        Score
	any         bool
	runsBest    []Run
	leftBest    []int
}

// keep takes a plan that is better than the best so far.
func (x *search) keep(s *state) {
	if x.any && s.score.Compare(x.best) >= 0 {
		return
	}
	x.any, x.best = true, s.score
	x.runsBest, x.leftBest = s.plan()
}

// from looks at all plans that go on from what is placed now.
func (x *search) from() {
	x.keep(x.state)
	if x.bound().Compare(x.best) >= 0 || !x.anew() {
		return
	}
	for _, kind := range x.kinds() {
		for _, u := range x.quickest(kind) {
			for b := range x.batches(u, kind) {
				for _, at := range x.starts(b, u) {
					if x.steps++; x.steps > x.most {
						x.short = true
						return
					}
					if x.dominated(b, u, at) {
						continue
					}
					x.place(b, u, at)
					x.from()
					x.undo()
					if x.short {
						return
					}
				}
			}
		}
	}
}

// anew tells whether these runs were not placed before in another order.
func (x *search) anew() bool {
	runs := make([]*placed, len(x.runs))
	for i := range x.runs {
		runs[i] = &x.runs[i]
	}
	slices.SortFunc(runs, func(a, b *placed) int { return compareInts(a.unit, b.unit, a.start, b.start) })
	var key []byte
	for _, r := range runs {
		key = binary.AppendUvarint(key, uint64(r.unit))
		key = binary.AppendVarint(key, int64(r.start))
		for i, n := range r.take {
			if n > 0 {
				key = binary.AppendUvarint(binary.AppendUvarint(key, uint64(i+1)), uint64(n))
			}
		}
		key = append(key, 0)
	}
	if x.seen[string(key)] {
		return false
	}
	x.seen[string(key)] = true
	return true
}

// quickest lists the units that can take a kind, the one that is done first first;
// of units that are alike and still empty only one.
func (x *search) quickest(kind int) (out []int) {
	done := map[int]int{}
	for u := range x.Units {
		if at, ok := x.earliest(u, kind); ok && !slices.ContainsFunc(out, func(o int) bool { return x.alike(o, u) }) {
			w := x.Units[u].Does[kind]
			done[u] = at + w.BathMin + w.DryMin
			out = append(out, u)
		}
	}
	slices.SortStableFunc(out, func(a, b int) int { return compareInts(done[a], done[b]) })
	return out
}

func (x *search) alike(a, b int) bool {
	if x.units[a].used || x.units[b].used {
		return false
	}
	p, q := &x.Units[a], &x.Units[b]
	if p.Free != q.Free || p.Holds != q.Holds || p.Set != q.Set || p.FlushMin != q.FlushMin || len(p.Does) != len(q.Does) || !slices.Equal(p.Stock, q.Stock) {
		return false
	}
	for k, w := range p.Does {
		v, ok := q.Does[k]
		if !ok || v.BathMin != w.BathMin || v.DryMin != w.DryMin || !slices.Equal(v.Needs, w.Needs) {
			return false
		}
	}
	return true
}

// dominated tells whether a roll could as well go into a run of its kind that is
// ready earlier and has room: the same plan with it there is no worse. Not with
// a common dryer, where room on the reels is not all that counts.
func (x *search) dominated(b batch, u, at int) bool {
	if x.DryerRoom > 0 {
		return false
	}
	w := x.Units[u].Does[b.kind]
	ready, room := at+w.BathMin+w.DryMin, x.Units[u].Holds-b.size
	for i := range x.runs {
		p := &x.runs[i]
		if p.kind != b.kind {
			continue
		}
		from, to := b.take, x.Units[p.unit].Holds-p.size
		if compareInts(p.ready, ready, p.unit, u) > 0 {
			from, to = p.take, room
		}
		for c, n := range from {
			if n > 0 && x.classes[c].Size <= to {
				return true
			}
		}
	}
	return false
}
