package rules

import (
	"cmp"
	"iter"
	"maps"
	"slices"
	"strings"
	"time"

	"wetside/internal/lab"
)

// volumes is what a whole run draws from and drains into each container,
// liters. A container that is not named gives and takes nothing.
type volumes struct{ Draws, Drains map[string]float64 }

func newVolumes() volumes {
	return volumes{Draws: map[string]float64{}, Drains: map[string]float64{}}
}

// add adds the fills of a step; false where their volume or a container is not
// known.
func (v volumes) add(from, to string, fills int, ml float64) bool {
	if from == "" || to == "" || fills <= 0 || ml <= 0 {
		return false
	}
	l := float64(fills) * ml / 1000
	v.Draws[from] += l
	v.Drains[to] += l
	return true
}

// of is what a container gives or takes in such a run.
func (v volumes) of(name string, role lab.Role) float64 {
	if role == lab.RoleWaste || role == lab.RoleRecovery {
		return v.Drains[name]
	}
	return v.Draws[name]
}

// heardWhole tells whether nothing of the run is missing so far: its first message
// came right after the unit was idle, and none was lost since. Only such a run
// shows what a run draws and drains.
func (r *run) heardWhole() bool { return r.FromFirst && !r.Lacks && r.Continues == "" && r.Took == nil }

// complete tells whether the film had every step that the sheet wants.
func (u *Unit) complete() bool {
	r, sh := u.s.Run, u.sheet()
	if len(r.Missed) > 0 {
		return false
	}
	if sh == nil || len(r.Unknown) > 0 {
		return true // there are no known steps to hold it to
	}
	for i := range sh.Steps {
		if !sh.Steps[i].Optional && !u.had(i) {
			return false
		}
	}
	return true
}

// teaches tells whether the run that ended shows what the next one like it will
// draw and drain: all of it was received, and the film had every step.
func (u *Unit) teaches() bool {
	r := u.s.Run
	return r.Outcome == lab.OutcomeDone && r.heardWhole() && u.complete()
}

// pastVolumes is what the last run like this drew and drained that was received
// whole, false where there is none or it left something unsaid.
func (u *Unit) pastVolumes(like string) (volumes, bool) {
	past := u.s.Past[like]
	if !past.Whole {
		return volumes{}, false
	}
	proc, _, _ := strings.Cut(like, "|")
	v := newVolumes()
	for _, p := range past.Steps {
		if p.Fills == 0 {
			continue // not of a run that was received whole
		}
		to := p.DrainTo
		if to == "" && !u.foreign(proc, p.ID) {
			to = "waste"
		}
		if !v.add(cmp.Or(p.DrawFrom, u.defaultDraw(proc, p.ID)), to, p.Fills, p.FillML) {
			return volumes{}, false
		}
	}
	return v, len(v.Draws) > 0
}

// runVolumes is what the run at hand will draw and drain in all: as received up to
// now, and as planned from here on.
func (u *Unit) runVolumes() (volumes, bool) {
	r := u.s.Run
	if !r.heardWhole() || r.BathsEnd && !u.complete() {
		return volumes{}, false
	}
	if !r.BathsEnd && !u.s.Past[r.like()].Whole && (u.sheet() == nil || len(r.Unknown) > 0) {
		return volumes{}, false // which steps are still to come is not known
	}
	v := newVolumes()
	for _, p := range u.plan() {
		if p.Rec != nil && !p.Rec.EndT.IsZero() && p.Rec.BathT.IsZero() {
			continue // it had no bath
		}
		ml, _ := u.fillML(p.ID, p.Rec)
		if !v.add(u.drawFrom(p.ID, p.Rec), u.drainTo(p.ID, p.Rec), p.Fills, ml) {
			return volumes{}, false
		}
	}
	return v, len(v.Draws) > 0
}

// nextLike names what the next run is expected to be like: the one that goes
// on, else the one that is loaded, else the last of film, else the only
// process that the unit has. "" where nothing tells.
func (u *Unit) nextLike() string {
	s := u.s
	switch {
	case s.running():
		return s.Run.like()
	case s.Load != nil && s.Load.Process != "":
		return s.doneAs(s.Load.Process)
	case s.LastProcess != "":
		return s.LastProcess
	case len(s.Processes) == 1:
		return s.Processes[0]
	}
	return ""
}

// doneAs is the unit's own name for a process that is wanted: e6 is done by
// e6-7.
func (s *state) doneAs(process string) string {
	for _, p := range s.Processes {
		if p == process {
			return p
		}
	}
	for _, p := range s.Processes {
		if strings.HasPrefix(p, process+"-") {
			return p
		}
	}
	return process
}

// nextRun is what the next run will draw and drain, by this unit's own runs; false
// where none of them tells.
func (u *Unit) nextRun() (volumes, bool) {
	if u.s.running() {
		if v, ok := u.runVolumes(); ok {
			return v, true
		}
	}
	return u.pastVolumes(u.nextLike())
}

// knownVolumes is what a run of a process draws and drains, and which unit's run
// showed it.
type knownVolumes struct {
	volumes
	From string // one of the lab.VolumesBy...
	Unit lab.UnitID
	At   time.Time
}

// volumesOf is what a run like this moves on the unit: by its own last whole
// run, else by the latest of another unit of its model.
func (u *Unit) volumesOf(like string, fleet iter.Seq[*Unit]) (knownVolumes, bool) {
	if like == "" {
		return knownVolumes{}, false
	}
	if v, ok := u.pastVolumes(like); ok {
		return knownVolumes{v, lab.VolumesByUnit, u.id, u.s.Past[like].At}, true
	}
	var best knownVolumes
	if u.s.Model == "" {
		return best, false
	}
	for o := range fleet {
		if o == u || o.s.Model != u.s.Model || !o.s.Past[like].Whole {
			continue
		}
		at := o.s.Past[like].At
		if v, ok := o.pastVolumes(like); ok && (best.Unit.IsZero() || at.After(best.At)) {
			best = knownVolumes{v, lab.VolumesByModel, o.id, at}
		}
	}
	return best, !best.Unit.IsZero()
}

// nextRunOf is what the next run of the unit will move, by the fleet where it
// has not shown that itself.
func (u *Unit) nextRunOf(fleet iter.Seq[*Unit]) (knownVolumes, bool) {
	if u.s.running() {
		if v, ok := u.runVolumes(); ok {
			return knownVolumes{v, lab.VolumesByRun, u.id, u.s.Clock.report(u.s.Clock.T)}, true
		}
	}
	return u.volumesOf(u.nextLike(), fleet)
}

// volumeViews lists what runs of the unit's processes move, as far as known.
func (u *Unit) volumeViews(fleet iter.Seq[*Unit]) []lab.RunVolumes {
	out := []lab.RunVolumes{}
	names := map[string]bool{}
	for _, p := range u.s.Processes {
		names[p] = true
	}
	for like := range u.s.Past {
		if !strings.Contains(like, "|") {
			names[like] = true
		}
	}
	for _, p := range slices.Sorted(maps.Keys(names)) {
		if k, ok := u.volumesOf(p, fleet); ok {
			out = append(out, lab.RunVolumes{Process: p, By: k.From, Unit: k.Unit.String(), At: lab.At(k.At),
				DrawsL: rounded(k.Draws), DrainsL: rounded(k.Drains)})
		}
	}
	return out
}

func rounded(m map[string]float64) map[string]float64 {
	out := map[string]float64{}
	for name, l := range m {
		out[name] = lab.Round(l, 3)
	}
	return out
}
