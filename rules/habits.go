package rules

import (
	"cmp"
	"maps"
	"slices"
	"time"
)

// habit is what a step of a process is usually like on this unit, by its last
// baths: what is unusual is told by it.
type habit struct {
	T    time.Time  `json:"t"`              // when it was looked at last
	Flat lastValues `json:"flat,omitempty"` // the longest time at one value in a bath, seconds
	RPM  lastValues `json:"rpm,omitempty"`  // the mean rotation of a bath
	// Of fills of a developer: what the liquid was before it, and what came
	// of it in the tank.
	Mix []fillMixing `json:"mix,omitempty"`
}

// habitsKept is how many steps' habits a unit keeps: those used last.
const habitsKept = 48

func (u *Unit) habitKey(c *runStep) string { return u.s.Run.Process + "/" + c.ID }

// habit finds the habit of a step, or begins one.
func (s *state) habit(key string, t time.Time) *habit {
	if h := s.Habits[key]; h != nil {
		h.T = t
		return h
	}
	if s.Habits == nil {
		s.Habits = map[string]*habit{}
	}
	if len(s.Habits) >= habitsKept {
		keys := slices.Sorted(maps.Keys(s.Habits))
		oldest := slices.MinFunc(keys, func(a, b string) int {
			return cmp.Or(s.Habits[a].T.Compare(s.Habits[b].T), cmp.Compare(a, b))
		})
		delete(s.Habits, oldest)
	}
	h := &habit{T: t}
	s.Habits[key] = h
	return h
}

// learnBath adds a bath that has ended to the unit's habits.
func (u *Unit) learnBath(c *runStep) {
	if c.Index < 0 || c.BathT.IsZero() || !c.BathHeard || c.EndLost {
		return
	}
	h := u.s.habit(u.habitKey(c), u.s.Clock.T)
	if d := &c.Doubt; d.Seen >= u.fig().FlatReadings && !d.Flat {
		h.Flat.add(d.FlatS)
	}
	if c.RPMN >= 5 && !c.Slow {
		h.RPM.add(c.RPMSum / float64(c.RPMN))
	}
	u.learnMixing(c, h)
}
