package propose

import (
	"math"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// habits are what a unit's runs of late have shown.
type habits struct {
	beyondS map[string][]float64 // by process: what the baths took beyond the times of the steps
	wholeS  map[string][]float64 // by process and push: start to the dryer
	setS    map[string][]float64 // by process and step: the time the unit was set to
	dryS    []float64
	flushS  []float64
	carried int    // the fullest run, quarters of a roll
	last    string // the process that it ran last and was not flushed after
}

// fillDrainS is what a fill and its drain take where no run has shown it, and
// leastDryingS what a unit must take after the baths to count as one that dries
// its film itself. Common practice, no source.
const (
	fillDrainS   = 30
	leastDryingS = 180
)

// learn reads runs, the newest first, as habits of their units.
func learn(runs []lab.Run) map[string]*habits {
	out := map[string]*habits{}
	flushed := map[string]bool{}
	for i := range runs {
		r := &runs[i]
		h := out[r.Unit]
		if h == nil {
			h = &habits{beyondS: map[string][]float64{}, wholeS: map[string][]float64{}, setS: map[string][]float64{}}
			out[r.Unit] = h
		}
		switch r.Kind {
		case lab.KindOfRunFlush, lab.KindOfRunWater:
			flushed[r.Unit] = flushed[r.Unit] || h.last == ""
			if r.Outcome == lab.OutcomeDone && r.EndedAt != nil && r.Kind == lab.KindOfRunFlush {
				h.flushS = append(h.flushS, r.EndedAt.Sub(r.StartedAt.Time).Seconds())
			}
		case lab.KindOfRunFilm, lab.KindOfRunStrip:
			if h.last == "" && !flushed[r.Unit] {
				h.last = r.Process
			}
			h.film(r)
		}
	}
	return out
}

// film takes in a run of film.
func (h *habits) film(r *lab.Run) {
	size := 0
	for _, x := range r.Rolls {
		n, _ := quarters(x.Format)
		size += n
	}
	h.carried = max(h.carried, size)
	if r.Outcome != lab.OutcomeDone || r.Continues != nil || len(r.Steps) == 0 || len(r.Outages) > 0 || len(r.Gaps) > 0 {
		return
	}
	last := r.Steps[len(r.Steps)-1]
	if last.StartedAt == nil || last.TimeS == nil {
		return
	}
	out := last.StartedAt.Add(lab.Seconds(*last.TimeS))
	whole, steps := out.Sub(r.StartedAt.Time).Seconds(), 0.0
	for _, st := range r.Steps {
		switch {
		case st.SheetS != nil:
			steps += *st.SheetS
		case st.TimeS != nil:
			steps += *st.TimeS
		}
		if st.SetS != nil {
			key := r.Process + "/" + st.Step
			h.setS[key] = append(h.setS[key], *st.SetS)
		}
	}
	h.beyondS[r.Process] = append(h.beyondS[r.Process], max(0, whole-steps))
	key := wholeKey(r.Process, r.Push)
	h.wholeS[key] = append(h.wholeS[key], whole)
	if r.EndedAt != nil {
		h.dryS = append(h.dryS, r.EndedAt.Sub(out).Seconds())
	}
}

func wholeKey(id string, push float64) string { return process.Named(id, push) }

// bathsS is how long the baths of a process take on the unit, and who says so;
// false where nothing tells.
func (h *habits) bathsS(book *process.Book, id string, push float64) (s float64, by string, ok bool) {
	sheet, has := book.Sheet(id)
	if !has {
		if whole, seen := median(h.wholeS[wholeKey(id, push)]); seen {
			return whole, byUnit, true
		}
		return 0, "", false
	}
	fills := 0
	for i := range sheet.Steps {
		st := &sheet.Steps[i]
		if st.Optional {
			continue
		}
		set, _ := median(h.setS[id+"/"+st.ID])
		t, known := st.TimeFor(push, set)
		if !known {
			return 0, "", false
		}
		s += t
		fills += max(1, st.Fills)
	}
	if beyond, seen := median(h.beyondS[id]); seen {
		return s + beyond, byUnit, true
	}
	return s + float64(fills)*fillDrainS, bySheet, true
}

// dryingS is how long film dries in the unit; false where no run has shown it.
func (h *habits) dryingS() (float64, bool) {
	s, ok := median(h.dryS)
	if s < leastDryingS {
		s = 0
	}
	return s, ok
}

// Who says how long a run takes.
const (
	byUnit  = "unit"
	bySheet = "sheet"
)

func median(list []float64) (float64, bool) {
	if len(list) == 0 {
		return 0, false
	}
	sorted := slices.Sorted(slices.Values(list))
	return sorted[len(sorted)/2], true
}

// minutes rounds up: a plan is made of whole minutes, and rather too long ones.
func minutes(s float64) int { return int(math.Ceil(s/60 - 1e-9)) }

// until is how many whole minutes there are until a moment, at least none.
func until(now, at time.Time) int { return max(0, minutes(at.Sub(now).Seconds())) }
