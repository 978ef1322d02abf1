package propose

import (
	"fmt"
	"math"
	"slices"

	"wetside/internal/lab"
	"wetside/internal/nextloads"
)

// gatherUnits lays out the units that are ready or will be, and says why the
// others are not used.
func (m *making) gatherUnits() {
	if len(m.kinds) == 0 {
		return
	}
	for _, u := range m.Units {
		if u.Standing == lab.UnitRetired {
			continue
		}
		r := ready{Unit: u, does: map[int]string{}, timeBy: map[int]string{}}
		h := m.habitsOf(u.ID)
		n := nextloads.Unit{Set: -1, Does: map[int]nextloads.Way{}}
		if len(u.Processes) == 0 {
			m.skip(u, "", "Which processes %s has is not known: it did not say. Load it by hand.", u.Name)
			continue
		}
		if !m.wanted(u) {
			continue
		}
		if n.Holds, r.holdsBy = m.holds(u, h); n.Holds == 0 {
			m.skip(u, "", "How many rolls %s holds is not known. Enter it under Settings, Reels and dryer, or run it once with its rolls scanned.", u.Name)
			continue
		}
		if n.Stock = stockOf(u); !m.ways(&r, &n, h) {
			continue
		}
		if !m.free(&r, &n, h) {
			m.skip(u, "", "When %s will be free is not known.", u.Name)
			continue
		}
		m.flush(&n, h)
		m.units = append(m.units, r)
		m.plan.Units = append(m.plan.Units, n)
	}
}

func (m *making) habitsOf(unit string) *habits {
	if h := m.habits[unit]; h != nil {
		return h
	}
	return &habits{}
}

func (m *making) skip(u lab.Unit, process, format string, args ...any) {
	m.out.Units = append(m.out.Units, UnitLeft{Unit: u.ID, Process: process, Text: fmt.Sprintf(format, args...)})
}

// wanted tells whether a unit has a process for which a roll waits.
func (m *making) wanted(u lab.Unit) bool {
	return slices.ContainsFunc(m.kinds, func(k kind) bool { return processFor(u, k) != "" })
}

// processFor is what a unit is set to for a kind, "" where it has none.
func processFor(u lab.Unit, k kind) string {
	if slices.Contains(u.Processes, k.process) {
		return k.process
	}
	for _, p := range u.Processes {
		if lab.DoesProcess(p, k.process) {
			return p
		}
	}
	return ""
}

// holds is what the reels of a unit take, quarters of a roll: by the settings,
// else what the fullest of its runs had, since that went on them.
func (m *making) holds(u lab.Unit, h *habits) (size int, by string) {
	if rolls, set := m.Settings.Reels[u.ID]; set && rolls > 0 {
		return int(math.Floor(rolls * quartersOfRoll)), "settings"
	}
	return h.carried, "runs"
}

// stockOf is what a unit has to give or take in, mL, container by container; one
// whose level is not known limits nothing.
func stockOf(u lab.Unit) []int {
	out := make([]int, len(u.Containers))
	for i, c := range u.Containers {
		out[i] = math.MaxInt32
		if c.Litres == nil {
			continue
		}
		l := *c.Litres
		if takesIn(c) {
			l = c.CapacityL - l
		}
		if c.OwedL != nil {
			l -= *c.OwedL
		}
		out[i] = max(0, int(math.Round(l*1000)))
	}
	return out
}

func takesIn(c lab.Container) bool { return c.Role == lab.RoleWaste || c.Role == lab.RoleRecovery }

// needsOf is what a run of a process moves, by container; nothing where no run
// has shown it.
func needsOf(u lab.Unit, process string) []int {
	out := make([]int, len(u.Containers))
	for _, v := range u.RunVolumes {
		if v.Process != process {
			continue
		}
		for i, c := range u.Containers {
			l := v.DrawsL[c.Name]
			if takesIn(c) {
				l = v.DrainsL[c.Name]
			}
			out[i] = int(math.Round(l * 1000))
		}
	}
	return out
}

// ways works out how the unit runs each kind; false where it runs none now.
func (m *making) ways(r *ready, n *nextloads.Unit, h *habits) bool {
	told := map[string]bool{}
	for i, k := range m.kinds {
		p := processFor(r.Unit, k)
		if p == "" {
			continue
		}
		if stops := m.Stops[r.ID][p]; len(stops) > 0 {
			if !told[p] {
				m.skip(r.Unit, p, "%s", stops[0])
			}
			told[p] = true
			continue
		}
		w, by, ok := m.way(r.Unit, h, p, k.stops())
		if !ok {
			m.skip(r.Unit, p, "How long %s takes on %s is not known: the sheet has no time for it, and no run has shown it.", k.words(), r.Name)
			continue
		}
		n.Does[i], r.does[i], r.timeBy[i] = w, p, by
	}
	return len(n.Does) > 0
}

func (m *making) way(u lab.Unit, h *habits, process string, push float64) (w nextloads.Way, by string, ok bool) {
	s, by, ok := h.bathsS(m.Book, process, push)
	if !ok || s <= 0 {
		return w, by, false
	}
	w = nextloads.Way{BathMin: minutes(s), Needs: needsOf(u, process)}
	dry, known := h.dryingS()
	switch {
	case m.Settings.DryerMin > 0 && m.Settings.DryerHolds > 0:
		w.DryMin = m.Settings.DryerMin
	case known:
		w.DryMin = minutes(dry)
	}
	return w, by, true
}

// free works out from when on the unit can be started: behind the run that goes on
// and the load that waits for it. False where that is not known.
func (m *making) free(r *ready, n *nextloads.Unit, h *habits) bool {
	u, at := r.Unit, 0
	next := u.Load
	if u.Run != nil {
		next = u.NextLoad
		end := u.Run.EndsAt
		if end == nil && u.Activity != lab.ActivityWaiting {
			return false
		}
		if end != nil {
			at = until(m.now, end.Time)
		}
		if u.Activity != lab.ActivityDrying {
			dry, _ := h.dryingS()
			m.dries(n, at, minutes(dry), u.Run.Rolls)
			if m.plan.DryerRoom == 0 {
				at += minutes(dry)
			}
		} else {
			m.dries(n, 0, at, u.Run.Rolls)
		}
		at += turnMin
	}
	if next != nil && (next.Process != "" || len(next.Rolls) > 0) {
		w, _, ok := m.way(u, h, next.Process, next.Push)
		if !ok {
			return false
		}
		for i, need := range w.Needs {
			n.Stock[i] = max(0, n.Stock[i]-need)
		}
		m.plan.Hands = append(m.plan.Hands, at+w.BathMin)
		m.dries(n, at+w.BathMin, w.DryMin, next.Rolls)
		if at += w.BathMin; m.plan.DryerRoom == 0 {
			at += w.DryMin
		}
		at += turnMin
	}
	n.Free = at
	return true
}

// dries notes film that will hang in the dryer, and that somebody has to fetch it.
func (m *making) dries(n *nextloads.Unit, from, takes int, rolls []lab.Roll) {
	if takes == 0 {
		return
	}
	if from > 0 { // what dries now is among the next jobs
		m.plan.Hands = append(m.plan.Hands, from+takes)
	}
	if m.plan.DryerRoom == 0 {
		return
	}
	size := 0
	for _, r := range rolls {
		q, _ := quarters(r.Format)
		size += q
	}
	if size == 0 {
		size = n.Holds // nobody scanned what is in it: it may be full
	}
	m.plan.Drying = append(m.plan.Drying, nextloads.Drying{From: from, To: from + takes, Size: size})
}

// flush notes what the unit ran last, where this lab flushes between processes.
func (m *making) flush(n *nextloads.Unit, h *habits) {
	s, flushes := median(h.flushS)
	if !flushes || h.last == "" {
		return
	}
	n.FlushMin = minutes(s)
	n.Set = slices.IndexFunc(m.kinds, func(k kind) bool { return lab.DoesProcess(h.last, k.process) })
	if n.Set < 0 { // a process for which no roll waits: a kind beyond all others
		n.Set = len(m.kinds)
	}
}

// gatherHands notes when somebody is wanted anyway.
func (m *making) gatherHands() {
	for _, j := range m.Jobs {
		if !j.Patient {
			m.plan.Hands = append(m.plan.Hands, until(m.now, j.DueAt.Time))
		}
	}
}
