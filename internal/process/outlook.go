package process

import "math"

// What to do with film that stands in a bath without power.
const (
	GoOn    = "go-on"    // nothing: the unit may still end the step by itself
	DrainAt = "drain-at" // drain by hand at ActS
	Finish  = "fill"     // it stopped while filling: finish the fill, by hand if need be
	Hold    = "hold"     // too late: leave it, hold the rolls and inspect
)

// ReactS is how long a person takes from being told to pressing: common
// practice, no source.
const ReactS = 20

// FilmInBath is film in a bath at one moment. All seconds of what follows count
// from that moment.
type FilmInBath struct {
	Aim
	SoFar Range // equivalent seconds that it has had
	Bath  Range // the liquid, °C, the probe's doubt in the bounds
	// Cooling is how the liquid goes on towards Toward: the room, or with the
	// heater back the set point. nil: it stays at Bath.
	Cooling *Cooling
	Toward  Range
	// EndsS is when the unit would end the step by its own counter; below
	// zero: not known. With CounterStands the counter stands while the power
	// is away, so that EndsS begins only when it is back.
	EndsS         float64
	CounterStands bool
	ReactS        float64 // from being told to pressing
	DrainS        float64 // from pressing until the film is out of the bath; 0 where the sheet's time leaves draining out
	StoodS        float64 // how long of a wash it stood in the same water
	Ended         bool    // the bath has gone: nothing can be added to it
}

// Deadlines are when something changes for film that stands without power, in
// seconds after the moment of FilmInBath; +Inf: never. Until GoOnUntilS the
// power may come back and the step still end by itself within the inspect
// edges. From DrainFromS on it is to be drained by hand at ActS (at once where
// that has passed). From TooLateFromS on even draining at once ends beyond the
// second edge.
type Deadlines struct {
	TargetS                              float64 // equivalent seconds aimed at
	GoOnUntilS, DrainFromS, TooLateFromS float64
	ActS                                 float64
	Done, DoneStops                      Range // drained at ActS
	Now, NowStops                        Range // drained at once
	Pushes                               bool  // the stops mean something
}

// ActionAt is what holds t seconds after the moment.
func (m Deadlines) ActionAt(t float64) string {
	switch {
	case t >= m.TooLateFromS:
		return Hold
	case t >= m.DrainFromS:
		return DrainAt
	}
	return GoOn
}

// Outlook says what holds until when. A min step waits: longer does it no
// harm. False where the step's time cannot be known.
func (s *Step) Outlook(st FilmInBath) (Deadlines, bool) {
	e, ok := s.EdgeTimes(st.Aim)
	if !ok {
		return Deadlines{}, false
	}
	inf := math.Inf(1)
	m := Deadlines{TargetS: e.TargetS, GoOnUntilS: inf, DrainFromS: inf, TooLateFromS: inf, ActS: inf}
	m.Now, m.NowStops, m.Pushes = s.IfDrained(st, 0)
	m.Done, m.DoneStops = m.Now, m.NowStops
	if s.Kind == Min {
		return m, true
	}
	drain := e.TargetS
	if s.Kind == Exact { // its tolerance is what it may have
		drain = e.Over
	}
	reach := st.ReactS + st.DrainS
	m.ActS = max(0, s.timeUntilBest(st, drain)-reach)
	m.TooLateFromS = max(0, s.timeUntilBest(st, e.OutOver)-reach)
	m.ActS = min(m.ActS, m.TooLateFromS)
	m.GoOnUntilS = s.goOnUntil(st, e, m.ActS)
	m.DrainFromS = m.GoOnUntilS
	m.Done, m.DoneStops, _ = s.IfDrained(st, m.ActS)
	return m, true
}

// IfDrained is what the film will have had if a person is told at atS: the
// equivalent time and, for a step that pushes, the push error.
func (s *Step) IfDrained(st FilmInBath, atS float64) (equivalent, stops Range, pushes bool) {
	equivalent = s.EquivalentAt(st, max(atS, 0)+st.ReactS+st.DrainS)
	stops, pushes = s.StopsRange(equivalent, st.Aim)
	return equivalent, stops, pushes
}

// EquivalentAt is the equivalent time that film in the bath will have had at
// t seconds after the moment.
func (s *Step) EquivalentAt(st FilmInBath, t float64) Range {
	c, toward := st.temperatureAhead()
	return st.SoFar.Plus(s.Cooled(c, st.Bath, toward, 0, t))
}

// temperatureAhead is how the temperature goes on; one that stays is one that has
// arrived.
func (st *FilmInBath) temperatureAhead() (Cooling, Range) {
	if st.Cooling == nil {
		return Cooling{TauS: 1, TauLowS: 1, TauHighS: 1}, st.Bath
	}
	return *st.Cooling, st.Toward
}

// dayS is beyond every outlook.
const dayS = 86400

// timeUntilBest is when the best estimate of the equivalent time comes to target,
// seconds; 0 where it has, +Inf where it does not within a day.
func (s *Step) timeUntilBest(st FilmInBath, target float64) float64 {
	return s.timeUntil(st, target, func(r Range) float64 { return r.Best })
}

func (s *Step) timeUntil(st FilmInBath, target float64, of func(Range) float64) float64 {
	reached := func(t float64) bool { return of(s.EquivalentAt(st, t)) >= target }
	if math.IsInf(target, 1) {
		return target
	}
	if reached(0) {
		return 0
	}
	lo, hi := 0.0, max(1, target)
	for !reached(hi) {
		if lo, hi = hi, 2*hi; lo > dayS {
			return math.Inf(1)
		}
	}
	for hi-lo > 0.001 {
		if mid := (lo + hi) / 2; reached(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi
}

// goOnUntil is until when the power may come back and the step still end by
// itself within the inspect edges; at most act, when a person is to drain.
func (s *Step) goOnUntil(st FilmInBath, e EdgeTimes, act float64) float64 {
	good := func(u float64) bool {
		v := s.endsByItself(st, u)
		return v >= e.Under && v <= e.Over
	}
	if st.EndsS < 0 {
		return act
	}
	if !good(0) {
		return 0
	}
	if math.IsInf(act, 1) {
		act = dayS
	}
	lo, hi := 0.0, act
	const pieces = 64
	for i := 1; i <= pieces; i++ {
		if t := act * float64(i) / pieces; good(t) {
			lo = t
		} else {
			hi = t
			break
		}
	}
	for hi-lo > 0.01 {
		if mid := (lo + hi) / 2; good(mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}

// endsByItself is the best estimate of the equivalent time at the unit's own
// end of the step with the power back at u, the bath held from then on.
func (s *Step) endsByItself(st FilmInBath, u float64) float64 {
	left := st.EndsS
	if !st.CounterStands {
		left = max(0, st.EndsS-u)
	}
	c, toward := st.temperatureAhead()
	held := c.Between(st.Bath, toward, u).Best
	return s.EquivalentAt(st, u).Best + left*s.Rates(held).Best
}
