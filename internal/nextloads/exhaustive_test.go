package nextloads_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"wetside/internal/labtest"
	"wetside/internal/nextloads"
)

// exhaustive looks at every way to part the rolls into runs, every unit for each
// and every minute to start it, and scores each whole plan from nothing. It shares
// nothing with the search but the description of the lab, and the score that is to
// be beaten: what is worse already is passed over, found says that as good a plan
// there is.
type exhaustive struct {
	nextloads.Lab
	until int // the last minute at which anything may start
	of    []int
	runs  []tried
	best  nextloads.Score
	found bool
	tries int
}

type tried struct {
	kind, size, unit, start int
	w                       nextloads.Way
}

// part gives each roll to a run (or to none, -1) in every way there is.
func (x *exhaustive) part(roll, runs int) {
	if roll == len(x.Rolls) {
		left := 0
		for _, n := range x.of {
			if n < 0 {
				left++
			}
		}
		if left > x.best.Left {
			return
		}
		x.runs = make([]tried, runs)
		for i, r := range x.Rolls {
			if n := x.of[i]; n >= 0 {
				x.runs[n].kind = r.Kind
				x.runs[n].size += r.Size
			}
		}
		x.give(0)
		return
	}
	for n := runs; n >= -1; n-- {
		x.of[roll] = n
		ok := true
		for i := range roll {
			ok = ok && (n < 0 || x.of[i] != n || x.Rolls[i].Kind == x.Rolls[roll].Kind)
		}
		if ok {
			x.part(roll+1, max(runs, n+1))
		}
	}
}

// give puts run n and those behind it on every unit at every minute.
func (x *exhaustive) give(n int) {
	if n == len(x.runs) {
		if s, ok := x.score(n); ok && compare(s, x.best) <= 0 {
			x.best, x.found = s, true
		}
		return
	}
	for u := range x.Units {
		w, does := x.Units[u].Does[x.runs[n].kind]
		if !does || x.runs[n].size > x.Units[u].Holds {
			continue
		}
		for t := range x.until + 1 {
			x.tries++
			x.runs[n].unit, x.runs[n].start, x.runs[n].w = u, t, w
			// What these runs cost already, no run behind them takes back.
			if s, ok := x.score(n + 1); ok && compare(s, x.best) <= 0 {
				x.give(n + 1)
			}
		}
	}
}

// score judges the first n runs; false where they cannot be.
func (x *exhaustive) score(n int) (s nextloads.Score, ok bool) {
	runs := x.runs[:n]
	if !x.unitsTake(runs) || !x.dryerTakes(runs) {
		return s, false
	}
	for i, r := range x.Rolls {
		switch k := x.of[i]; {
		case k < 0:
			s.Left++
		case k < n:
			w := runs[k].w
			ready := runs[k].start + w.BathMin + w.DryMin
			s.End = max(s.End, ready)
			s.ReadySum += ready
			if ready > r.Due {
				s.Late++
				s.LateMin += ready - r.Due
			}
		}
	}
	for i, a := range runs {
		pa, n := x.wanted(a)
		for _, p := range pa[:n] {
			for _, h := range x.Hands {
				s.Collisions += x.near(p, h)
			}
			for _, b := range runs[:i] {
				pb, m := x.wanted(b)
				for _, q := range pb[:m] {
					s.Collisions += x.near(p, q)
				}
			}
		}
	}
	return s, true
}

func (x *exhaustive) near(a, b int) int {
	if max(a, b)-min(a, b) < x.ApartMin {
		return 1
	}
	return 0
}

func (x *exhaustive) wanted(r tried) (at [3]int, n int) {
	w := r.w
	at = [3]int{r.start, r.start + w.BathMin, r.start + w.BathMin + w.DryMin}
	if w.DryMin > 0 {
		return at, 3
	}
	return at, 2
}

func (x *exhaustive) unitsTake(runs []tried) bool {
	for u, unit := range x.Units {
		var room [8]tried
		mine := room[:0]
		for _, r := range runs {
			if r.unit == u {
				mine = append(mine, r)
			}
		}
		slices.SortFunc(mine, func(a, b tried) int { return a.start - b.start })
		free, set := unit.Free, unit.Set
		var used [2]int
		for i, r := range mine {
			if i > 0 {
				free += x.TurnMin
			}
			if set >= 0 && x.Process[set] != x.Process[r.kind] {
				free += unit.FlushMin
			}
			if r.start < free {
				return false
			}
			w := r.w
			if free, set = r.start+w.BathMin, r.kind; x.DryerRoom == 0 {
				free += w.DryMin
			}
			for j, need := range w.Needs {
				if used[j] += need; used[j] > unit.Stock[j] {
					return false
				}
			}
		}
	}
	return true
}

// dryerTakes looks into the common dryer at every minute that a run hangs in it.
func (x *exhaustive) dryerTakes(runs []tried) bool {
	if x.DryerRoom == 0 {
		return true
	}
	for _, r := range runs {
		for t := r.start + r.w.BathMin; t < r.start+r.w.BathMin+r.w.DryMin; t++ {
			in := 0
			for _, d := range x.Drying {
				if d.From <= t && t < d.To {
					in += d.Size
				}
			}
			for _, o := range runs {
				if o.start+o.w.BathMin <= t && t < o.start+o.w.BathMin+o.w.DryMin {
					in += o.size
				}
			}
			if in > x.DryerRoom {
				return false
			}
		}
	}
	return true
}

// compare is the order of the issue: rolls without a place, late, lateness,
// collisions, end; then how early film is ready.
func compare(a, b nextloads.Score) int {
	for _, p := range [][2]int{{a.Left, b.Left}, {a.Late, b.Late}, {a.LateMin, b.LateMin}, {a.Collisions, b.Collisions}, {a.End, b.End}, {a.ReadySum, b.ReadySum}} {
		if p[0] != p[1] {
			return p[0] - p[1]
		}
	}
	return 0
}

// small draws a lab of a few rolls, where everything is tight.
func small(r *rand.Rand) nextloads.Lab {
	l := nextloads.Lab{ApartMin: 2, TurnMin: r.IntN(3)}
	kinds := 1 + r.IntN(3)
	for k := range kinds {
		l.Process = append(l.Process, r.IntN(k+1))
	}
	rolls := 1 + r.IntN(3)
	if r.IntN(10) == 0 {
		rolls = 4
	}
	for range rolls {
		roll := nextloads.Roll{Kind: r.IntN(kinds), Size: 1 + r.IntN(2), Due: nextloads.NoDue}
		if r.IntN(4) > 0 {
			roll.Due = 2 + r.IntN(12)
		}
		l.Rolls = append(l.Rolls, roll)
	}
	stocked := r.IntN(3) == 0
	for range 1 + r.IntN(2) {
		u := nextloads.Unit{Free: r.IntN(3), Holds: 1 + r.IntN(4), Set: r.IntN(kinds+1) - 1, FlushMin: r.IntN(3), Does: map[int]nextloads.Way{}}
		if stocked {
			u.Stock = []int{r.IntN(5)}
		}
		for k := range kinds {
			w := nextloads.Way{BathMin: 1 + r.IntN(4), DryMin: r.IntN(3)}
			if stocked {
				w.Needs = []int{r.IntN(3)}
			}
			if r.IntN(5) > 0 {
				u.Does[k] = w
			}
		}
		l.Units = append(l.Units, u)
	}
	for range r.IntN(3) {
		l.Hands = append(l.Hands, r.IntN(8))
	}
	if r.IntN(4) == 0 {
		l.DryerRoom = 2 + r.IntN(3)
		if r.IntN(2) == 0 {
			l.Drying = []nextloads.Drying{{From: 0, To: 1 + r.IntN(6), Size: 1 + r.IntN(2)}}
		}
	}
	return l
}

// longEnough is a minute by which anything worth doing has begun: everything one
// after the other on the slowest unit, and room to keep out of each other's way.
func longEnough(l nextloads.Lab) int {
	most, free, flush := 0, 0, 0
	for _, u := range l.Units {
		free, flush = max(free, u.Free), max(flush, u.FlushMin)
		for _, w := range u.Does {
			most = max(most, w.BathMin+w.DryMin)
		}
	}
	for _, h := range l.Hands {
		free = max(free, h)
	}
	return free + len(l.Rolls)*(most+l.TurnMin+flush) + 4
}

// The search is exact: on 1,000 small labs it gives what looking at everything
// gives, and says that it is proven.
func TestEqualsExhaustiveSearch(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(14, 6))
	labs := labtest.Fewer(1000, 60)
	var late, clash, left, better, tries int
	for i := range labs {
		l := small(r)
		got, err := l.Plan()
		if err != nil {
			t.Fatal(err)
		}
		x := exhaustive{Lab: l, until: longEnough(l), of: make([]int, len(l.Rolls)), best: got.Score}
		x.part(0, 0)
		if !x.found || got.Score != x.best || !got.Proven {
			t.Fatalf("case %d: %+v, proven %v; looking at everything gives %+v\n%+v\n%+v", i, got.Score, got.Proven, x.best, l, got.Runs)
		}
		if s, err := told(l, got); err != nil || s != got.Score {
			t.Fatalf("case %d: the runs of the plan come to %+v, not to %+v: %v", i, s, got.Score, err)
		}
		tries += x.tries
		for n, is := range map[*int]bool{&late: got.Score.Late > 0, &clash: got.Score.Collisions > 0, &left: got.Score.Left > 0, &better: compare(got.Score, got.FirstCome) < 0} {
			if is {
				*n++
			}
		}
	}
	t.Logf("%d labs, %d runs tried: %d with late rolls, %d with collisions, %d with rolls left; better than first come in %d", labs, tries, late, clash, left, better)
	if 10*late < labs || 10*clash < labs || 20*left < labs || 4*better < labs {
		t.Errorf("the cases are too easy: %d late, %d collisions, %d left, %d better", late, clash, left, better)
	}
}

// told scores the runs of a plan by the rules of the exhaustive search.
func told(l nextloads.Lab, p nextloads.Plan) (nextloads.Score, error) {
	x := exhaustive{Lab: l, of: make([]int, len(l.Rolls))}
	for i := range x.of {
		x.of[i] = -1
	}
	for n, r := range p.Runs {
		size := 0
		for _, i := range r.Rolls {
			if x.of[i] >= 0 || l.Rolls[i].Kind != r.Kind {
				return nextloads.Score{}, fmt.Errorf("roll %d is in two runs, or of another kind than run %d", i, n)
			}
			x.of[i] = n
			size += l.Rolls[i].Size
		}
		w, does := l.Units[r.Unit].Does[r.Kind]
		if !does || size > l.Units[r.Unit].Holds {
			return nextloads.Score{}, fmt.Errorf("run %d does not go on unit %d", n, r.Unit)
		}
		x.runs = append(x.runs, tried{r.Kind, size, r.Unit, r.Start, w})
	}
	for _, i := range p.Left {
		if x.of[i] >= 0 {
			return nextloads.Score{}, fmt.Errorf("roll %d is left, and in run %d", i, x.of[i])
		}
	}
	s, ok := x.score(len(p.Runs))
	if !ok {
		return s, fmt.Errorf("it cannot be: %+v", p.Runs)
	}
	return s, nil
}
