package process

// What to do with a step once the power is back.
const (
	Continue = "continue" // the unit's own end is right
	Shorten  = "shorten"  // end it before the unit does
	Extend   = "extend"   // let it run on beyond the unit's end
	Repeat   = "repeat"   // do this bath or wash again
	Drain    = "drain"    // it stopped while draining: drain at once
	Discard  = "discard"  // no time brings it back within the second edge: hold the rolls for inspection
)

// Advice is what to do with a step after an outage, in seconds after the
// moment of FilmInBath.
type Advice struct {
	Action string
	LeftS  float64 // until the step should end; with Repeat how long to do it again
	ActS   float64 // when to tell the person: LeftS less reaction and draining, not below 0
	// What the film will have had by then, with the push error.
	Done, DoneStops Range
	Pushes          bool
}

// Advise says what to do once the power is back.
//
// A developer ends when the best estimate of what it got comes to the aim:
// continue where the unit ends within the tolerance of time of that, or ends
// before a person could end it; else shorten or extend; discard where the best
// estimate is beyond the out-of-control edge even if it is drained at once. An
// exact step ends within its tolerance. A min step continues where the unit's own end gives it the least
// time even at the low bound; else it is extended until it has that, since
// longer does no harm. A wash in water that stood gets nothing from that time: where what is
// left does not make up the least time it is repeated. A bath that has gone
// is repeated where it can be (min steps) and had too little.
//
// False where the step's time cannot be known.
func (s *Step) Advise(st FilmInBath) (Advice, bool) {
	e, ok := s.EdgeTimes(st.Aim)
	if !ok {
		return Advice{}, false
	}
	a := Advice{Action: Continue, LeftS: max(st.EndsS, 0)}
	switch {
	case st.Ended:
		a.LeftS = 0
		if s.Kind == Min && st.SoFar.Low-s.stoodStillS(st) < e.Under {
			a.Action, a.LeftS = Repeat, s.AimS
		} else if s.Kind == Dev && (st.SoFar.Best > e.OutOver || st.SoFar.Best < e.OutUnder) {
			a.Action = Discard
		}
	case s.Kind == Dev:
		s.adviseDeveloper(st, e, &a)
	case s.Kind == Exact:
		s.adviseExact(st, e, &a)
	default:
		s.adviseMin(st, e, &a)
	}
	s.completeAdvice(st, &a)
	return a, true
}

// completeAdvice adds what the film will have had by then.
func (s *Step) completeAdvice(st FilmInBath, a *Advice) {
	a.ActS = max(0, a.LeftS-st.ReactS-st.DrainS)
	switch a.Action {
	case Repeat:
		a.ActS, a.Done = 0, st.SoFar
	case Continue:
		a.Done = s.EquivalentAt(st, a.LeftS)
	default:
		a.Done = s.EquivalentAt(st, max(a.LeftS, st.ReactS+st.DrainS))
	}
	if st.Ended {
		a.ActS, a.Done = 0, st.SoFar
	}
	a.DoneStops, a.Pushes = s.StopsRange(a.Done, st.Aim)
}

func (s *Step) adviseDeveloper(st FilmInBath, e EdgeTimes, a *Advice) {
	soonest := st.ReactS + st.DrainS
	itself := st.EndsS >= 0 && st.EndsS <= soonest // the unit ends it before a person can
	if itself {
		soonest = st.EndsS
	}
	if s.EquivalentAt(st, soonest).Best > e.OutOver {
		a.Action, a.LeftS = Discard, 0
		return
	}
	left := s.timeUntilBest(st, e.TargetS)
	short, over := s.Tolerance(e.TargetS)
	switch {
	case itself && left <= st.EndsS+over:
		return
	case st.EndsS >= 0 && left-st.EndsS <= over && st.EndsS-left <= short:
		return
	case st.EndsS >= 0 && left > st.EndsS:
		a.Action = Extend
	default:
		a.Action = Shorten
	}
	a.LeftS = left
}

func (s *Step) adviseExact(st FilmInBath, e EdgeTimes, a *Advice) {
	had := st.SoFar.Best
	switch {
	case st.EndsS < 0, had+st.EndsS > e.Over:
		a.Action, a.LeftS = Shorten, max(0, e.TargetS-had)
	case had+st.EndsS < e.Under:
		a.Action, a.LeftS = Extend, e.TargetS-had
	}
}

func (s *Step) adviseMin(st FilmInBath, e EdgeTimes, a *Advice) {
	stood := s.stoodStillS(st)
	low := func(r Range) float64 { return r.Low - stood }
	if st.EndsS >= 0 && low(s.EquivalentAt(st, st.EndsS)) >= e.Under {
		return
	}
	if s.Wash && stood > 0 {
		a.Action, a.LeftS = Repeat, s.AimS
		return
	}
	left := s.timeUntil(st, s.LeastS, low)
	switch {
	case st.EndsS < 0 && left == 0: // it has had its least time already
	case left > max(2*s.AimS, s.AimS+st.EndsS): // a fresh, warm bath is sooner than waiting
		a.Action, a.LeftS = Repeat, s.AimS
	default:
		a.Action, a.LeftS = Extend, left
	}
}

// stoodStillS is how long the film stood in the same water of a wash, seconds:
// that time washes nothing out and does not count.
func (s *Step) stoodStillS(st FilmInBath) float64 {
	if !s.Wash {
		return 0
	}
	return max(st.StoodS, 0)
}
