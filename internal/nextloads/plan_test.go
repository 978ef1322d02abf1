package nextloads_test

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"wetside/internal/nextloads"
)

// oneMachine is a lab of one unit with one place, where each roll is a kind of its
// own that takes so long.
func oneMachine(takes, due []int) nextloads.Lab {
	l := nextloads.Lab{Units: []nextloads.Unit{{Holds: 1, Set: -1, Does: map[int]nextloads.Way{}}}}
	for i, p := range takes {
		l.Rolls = append(l.Rolls, nextloads.Roll{Kind: i, Size: 1, Due: due[i]})
		l.Units[0].Does[i] = nextloads.Way{BathMin: p}
	}
	return l
}

// M. L. Pinedo, Scheduling: Theory, Algorithms, and Systems, the example to the
// number of tardy jobs on one machine (section 3.3): processing times 7, 8, 4, 6,
// 6, due dates 9, 17, 18, 19, 21; jobs 1 and 2 are late, the others are not. From
// memory; confirm with the book.
func TestTextbookExample(t *testing.T) {
	t.Parallel()
	l := oneMachine([]int{7, 8, 4, 6, 6}, []int{9, 17, 18, 19, 21})
	p, err := l.Plan()
	if err != nil {
		t.Fatal(err)
	}
	if p.Score.Late != 2 || !p.Proven || p.Score.End != 31 {
		t.Errorf("%+v, proven %v; the book has two late jobs of five", p.Score, p.Proven)
	}
}

// leastLate is the algorithm of J. M. Moore, "An n job, one machine sequencing
// algorithm for minimizing the number of late jobs", Management Science 15 (1968):
// in the order of due dates, whenever a job is late, the longest so far goes to the
// end. From memory.
func leastLate(takes, due []int) (late int) {
	order := make([]int, len(takes))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return due[a] - due[b] })
	var on []int
	at := 0
	for _, i := range order {
		on = append(on, takes[i])
		if at += takes[i]; at > due[i] {
			k := slices.Index(on, slices.Max(on))
			at -= on[k]
			on = slices.Delete(on, k, k+1)
			late++
		}
	}
	return late
}

func TestFewestLateAsMooreHasIt(t *testing.T) {
	t.Parallel()
	if n := leastLate([]int{7, 8, 4, 6, 6}, []int{9, 17, 18, 19, 21}); n != 2 {
		t.Fatalf("the published algorithm gives %d late in its example; want 2", n)
	}
	r := rand.New(rand.NewPCG(1968, 15))
	some := 0
	for i := range 200 {
		var takes, due []int
		for range 2 + r.IntN(5) {
			takes = append(takes, 1+r.IntN(9))
			due = append(due, 3+r.IntN(25))
		}
		l := oneMachine(takes, due)
		p, err := l.Plan()
		if err != nil {
			t.Fatal(err)
		}
		want := leastLate(takes, due)
		if want > 0 {
			some++
		}
		if p.Proven && p.Score.Late != want || p.Score.Late < want {
			t.Fatalf("case %d: %d late, proven %v; Moore's algorithm has %d of %v due %v", i, p.Score.Late, p.Proven, want, takes, due)
		}
	}
	if some < 50 {
		t.Errorf("only %d of the cases have late jobs", some)
	}
}

// draw is any lab, also one far too large to look at everything.
func draw(t *rapid.T) nextloads.Lab {
	l := nextloads.Lab{ApartMin: 2, TurnMin: rapid.IntRange(0, 3).Draw(t, "turn")}
	kinds := rapid.IntRange(1, 4).Draw(t, "kinds")
	l.Process = rapid.SliceOfN(rapid.IntRange(0, 1), kinds, kinds).Draw(t, "process")
	for i := range rapid.IntRange(0, 24).Draw(t, "rolls") {
		r := nextloads.Roll{Kind: rapid.IntRange(0, kinds-1).Draw(t, fmt.Sprint("kind", i)), Size: rapid.SampledFrom([]int{1, 4, 4, 8}).Draw(t, "size"), Due: nextloads.NoDue}
		if rapid.Bool().Draw(t, "promised") {
			r.Due = rapid.SampledFrom([]int{0, 60, 90, 120, 180, 400}).Draw(t, "due")
		}
		l.Rolls = append(l.Rolls, r)
	}
	for range rapid.IntRange(0, 4).Draw(t, "units") {
		u := nextloads.Unit{Free: rapid.IntRange(0, 40).Draw(t, "free"), Holds: rapid.IntRange(0, 6).Draw(t, "holds") * 4,
			Set: rapid.IntRange(-1, kinds-1).Draw(t, "set"), FlushMin: rapid.SampledFrom([]int{0, 0, 6}).Draw(t, "flush"), Does: map[int]nextloads.Way{}}
		if rapid.Bool().Draw(t, "stocked") {
			u.Stock = []int{rapid.IntRange(0, 6000).Draw(t, "stock")}
		}
		for k := range kinds {
			if w := (nextloads.Way{BathMin: rapid.IntRange(10, 45).Draw(t, "bath"), DryMin: rapid.SampledFrom([]int{0, 15, 20}).Draw(t, "dry")}); rapid.Bool().Draw(t, "does") {
				if u.Stock != nil {
					w.Needs = []int{rapid.IntRange(0, 1500).Draw(t, "needs")}
				}
				u.Does[k] = w
			}
		}
		l.Units = append(l.Units, u)
	}
	l.Hands = rapid.SliceOfN(rapid.IntRange(-5, 60), 0, 4).Draw(t, "hands")
	if rapid.IntRange(0, 3).Draw(t, "common") == 0 {
		l.DryerRoom = rapid.IntRange(4, 24).Draw(t, "room")
	}
	return l
}

// Whatever the lab: the plan can be done as it says, comes to the score that it
// says, is never worse than first come, first served, however soon it has to end,
// and is the same each time.
func TestNeverWorseThanFirstCome(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		l := draw(t)
		steps := rapid.SampledFrom([]int{0, 1, 30, 1000}).Draw(t, "steps")
		p, err := l.PlanWithin(steps)
		if err != nil {
			t.Fatal(err)
		}
		first, err := l.FirstCome()
		if err != nil {
			t.Fatal(err)
		}
		if s, err := told(l, first); err != nil || s != first.Score || s != p.FirstCome {
			t.Fatalf("first come comes to %+v, says %+v and %+v: %v", s, first.Score, p.FirstCome, err)
		}
		if s, err := told(l, p); err != nil || s != p.Score {
			t.Fatalf("the plan comes to %+v, says %+v: %v", s, p.Score, err)
		}
		if compare(p.Score, first.Score) > 0 {
			t.Fatalf("%+v is worse than first come, %+v", p.Score, first.Score)
		}
		if p.Steps > steps+1 {
			t.Fatalf("%d steps of %d", p.Steps, steps)
		}
		if again, _ := l.PlanWithin(steps); !reflect.DeepEqual(p, again) {
			t.Fatalf("%+v, then %+v", p, again)
		}
	})
}

// With more steps a plan does not get worse, and what is proven stays.
func TestMoreStepsAreNoWorse(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		l := draw(t)
		few, err := l.PlanWithin(20)
		if err != nil {
			t.Fatal(err)
		}
		many, _ := l.PlanWithin(400)
		if compare(many.Score, few.Score) > 0 {
			t.Fatalf("%+v with more steps, %+v with fewer", many.Score, few.Score)
		}
		asked := func(s nextloads.Score) nextloads.Score { s.ReadySum = 0; return s }
		if few.Proven && (!many.Proven || asked(many.Score) != asked(few.Score)) {
			t.Fatalf("%+v was proven, and %+v was found", few.Score, many.Score)
		}
	})
}

// A lab that says two things at once is a mistake of the caller.
func TestWhatDoesNotFitIsRefused(t *testing.T) {
	t.Parallel()
	for name, l := range map[string]nextloads.Lab{
		"a roll of no size":       {Rolls: []nextloads.Roll{{Kind: 0, Size: 0}}},
		"a run of no time":        {Units: []nextloads.Unit{{Does: map[int]nextloads.Way{0: {}}}}},
		"needs without the stock": {Units: []nextloads.Unit{{Does: map[int]nextloads.Way{0: {BathMin: 1, Needs: []int{1}}}}}},
	} {
		if _, err := l.Plan(); err == nil {
			t.Errorf("%s: taken", name)
		}
		if _, err := l.FirstCome(); err == nil {
			t.Errorf("%s: taken by first come", name)
		}
	}
}

// A morning of a small lab: what the planner is for.
func morning() nextloads.Lab {
	l := nextloads.Lab{ApartMin: 2, TurnMin: 2, Hands: []int{12}}
	for i := range 30 {
		due := nextloads.NoDue
		if i%3 > 0 {
			due = 120 + 60*(i%4)
		}
		l.Rolls = append(l.Rolls, nextloads.Roll{Kind: i % 3, Size: 4, Due: due})
	}
	for u := range 5 {
		l.Units = append(l.Units, nextloads.Unit{Free: 7 * u, Holds: 16 + 8*(u%2), Set: u % 3, FlushMin: 6,
			Does: map[int]nextloads.Way{0: {BathMin: 33, DryMin: 20}, 1: {BathMin: 41, DryMin: 20}, 2: {BathMin: 27, DryMin: 20}}})
	}
	return l
}

func BenchmarkMorning(b *testing.B) {
	l := morning()
	var p nextloads.Plan
	for b.Loop() {
		p, _ = l.Plan()
	}
	b.ReportMetric(float64(p.Steps), "steps")
}

func TestMorning(t *testing.T) {
	t.Parallel()
	l := morning()
	p, err := l.Plan()
	if err != nil {
		t.Fatal(err)
	}
	if p.Score.Late > 0 || p.Score.Collisions > 0 {
		t.Errorf("%+v; it can be done with nothing late and no collision", p.Score)
	}
	t.Logf("%+v in place of %+v, proven %v, %d steps, %d runs", p.Score, p.FirstCome, p.Proven, p.Steps, len(p.Runs))
}
