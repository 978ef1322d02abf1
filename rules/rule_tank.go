package rules

import (
	"fmt"
	"maps"
	"slices"
	"time"

	"wetside/internal/lab"
)

// judgeContainers judges every container after a message. read: the message was one of
// levels and float switches.
func (u *Unit) judgeContainers(read bool) {
	specs := u.containerSpecs()
	names := slices.Sorted(maps.Keys(specs))
	drains, draws := u.flows(false), u.flows(true)
	next, _ := u.nextRun()
	for _, name := range names {
		spec := specs[name]
		t := u.s.Tanks[name]
		if t == nil {
			continue
		}
		switch spec.Role {
		case lab.RoleWaste, lab.RoleRecovery:
			u.judgeNearlyFull(name, spec, t, owed(drains, name), next.Drains[name], read)
			u.judgeRoom(name, t, drains, spec.CapacityL, read)
		case lab.RoleWash:
			u.judgeSupply(alertKey{rule: RuleWashWaterShort, subject: name, run: true}, name, t, draws, spec.CapacityL, read)
		case lab.RoleBottle:
			u.judgeSupply(alertKey{rule: RuleChemistryShort, subject: name, run: true}, name, t, draws, spec.CapacityL, read)
		}
	}
}

func owed(list []flow, name string) float64 {
	sum := 0.0
	for _, fl := range list {
		if fl.Container == name {
			sum += fl.L
		}
	}
	return sum
}

// steadyS is for how long a level must be read before it counts, seconds.
func (u *Unit) steadyS() float64 {
	switch {
	case u.s.Phase == lab.PhaseDraining:
		return u.fig().SteadyDrainingS
	case !u.s.running():
		return u.fig().SteadyIdleS
	}
	return u.fig().SteadyS
}

// aboutL is the spread from which on a level is said to be about so much, liters.
const aboutL = 0.4

// roundingSlack is how far sums of liters may be off by rounding.
const roundingSlack = 1e-6

// judgeNearlyFull judges whether a container will take the next run like this one.
func (u *Unit) judgeNearlyFull(name string, spec lab.ContainerSpec, t *tank, owes, next float64, read bool) {
	fig, a := u.fig(), alertKey{rule: RuleWasteNearlyFull, subject: name}
	room := spec.CapacityL - t.Level - owes
	sized := t.Known && spec.CapacityL > 0 // without a size only its float switch tells
	tight := sized && next > 0 && room < next-roundingSlack
	full := sized && t.Level >= fig.NearlyFull*spec.CapacityL
	w := alertContent{priority: lab.High, facts: map[string]any{"container": name, "capacity_l": spec.CapacityL}}
	if t.Known {
		w.facts["level_l"] = lab.Round(t.Level, 2)
		w.facts["still_to_come_l"] = lab.Round(owes, 2)
		w.facts["next_run_l"] = lab.Round(next, 2)
		w.facts["spread_l"] = lab.Round(t.Est.Spread(), 2)
	}
	held := fmt.Sprintf("%.1f", t.Level)
	if t.Est.Spread() >= aboutL {
		held = "about " + held
	}
	switch {
	case t.Float && !full && !tight:
		w.message = fmt.Sprintf("%s is full (float switch)", capital(u.containerName(name)))
		w.facts["float_closed"] = true
	case room < 0:
		w.message = fmt.Sprintf("%s will be full before this run ends", capital(u.containerName(name)))
	case sized && !tight:
		w.message = fmt.Sprintf("%s holds %s of %.1f L", capital(u.containerName(name)), held, spec.CapacityL)
	default:
		w.message = fmt.Sprintf("%s has room for %.1f L; the next run drains %.1f L", capital(u.containerName(name)), max(room, 0), next)
	}
	if u.open(a) != nil {
		need := u.roomToClear(a, next)
		back := !t.Known || need <= 0 || room >= need+t.backL(spec.CapacityL)
		over := !tight && back && !t.Float && (!sized || t.Level < fig.NearlyFullClear*spec.CapacityL)
		u.notNearlyFull(a, t, over, read)
		return
	}
	if due, proved := u.heldBy("near:"+name, tight || full || t.Float, read); proved {
		delete(u.s.Holds, "near:"+name)
		u.raise(a, due, w)
	}
}

// roomToClear is for how much there must be room again: for the next run, and for
// the one that the alert was raised for. Otherwise it would clear and be raised
// again, with nothing emptied, as runs of different processes are loaded.
func (u *Unit) roomToClear(a alertKey, next float64) float64 {
	was, _ := u.open(a).Facts["next_run_l"].(float64)
	return max(next, was)
}

// notNearlyFull clears waste-nearly-full once there is room again, by two readings
// where the sensor works and after the float switch has been open for a while, so
// that the alert does not flicker.
func (u *Unit) notNearlyFull(a alertKey, t *tank, over, read bool) {
	now, talks := u.s.Clock.T, !t.HeardT.IsZero() && u.s.Clock.T.Sub(t.HeardT) <= lab.Seconds(sensorFreshS)
	if over && talks && !read {
		return // a working sensor decides, with two readings
	}
	since, twice := u.held("near:in:"+a.subject, over, now, 0)
	if !over || talks && !twice {
		return
	}
	due := since
	if !t.OpenT.IsZero() {
		due = lab.Later(due, t.OpenT.Add(lab.Seconds(u.fig().FloatOpenS)))
	}
	if due.Equal(since) || read && !now.Before(due) {
		delete(u.s.Holds, "near:in:"+a.subject)
		u.clear(a, due)
	}
}

// lookingAhead tells whether a shortage is open that becomes urgent by the
// passing of time alone.
func (u *Unit) lookingAhead() bool {
	for _, o := range u.s.Open {
		if (o.Rule == RuleWasteWillNotFit || o.Rule == RuleWashWaterShort || o.Rule == RuleChemistryShort) && o.Priority != lab.Urgent {
			return true
		}
	}
	return false
}

// judgeRoom judges whether the container has room for every drain still to come,
// and raises waste-will-not-fit.
func (u *Unit) judgeRoom(name string, t *tank, drains []flow, capacity float64, read bool) {
	a := alertKey{rule: RuleWasteWillNotFit, subject: name, run: true}
	level, bad := t.Level, (*flow)(nil)
	total := 0.0
	for i := range drains {
		if drains[i].Container != name {
			continue
		}
		total += drains[i].L
		if bad == nil && t.Known && capacity > 0 && level+total > capacity+roundingSlack {
			bad = &drains[i]
		}
	}
	near := total > 0 && t.Known && level+total > capacity-t.backL(capacity)
	u.shortage(a, "fit:"+name, bad, near, read, func() alertContent {
		return alertContent{
			message:  fmt.Sprintf("%s will not take this run: %.1f L too much", capital(u.containerName(name)), level+total-capacity),
			response: fmt.Sprintf("Empty or swap it before the drain of %s at about %s. Keep waste streams apart; gloves and goggles.", StepWords(bad.Step), u.minuteWords(u.inSeconds(bad.InS))),
			facts: map[string]any{"act_at": lab.At(u.s.Clock.report(u.inSeconds(bad.InS))).String(), "container": name, "level_l": lab.Round(t.Level, 2), "capacity_l": capacity,
				"still_to_come_l": lab.Round(total, 2), "over_l": lab.Round(level+total-capacity, 2), "drain_step": bad.Step, "drain_in_s": lab.Round(bad.InS, 0)},
		}
	})
}

// judgeSupply judges whether the container holds what is still to be drawn.
func (u *Unit) judgeSupply(a alertKey, name string, t *tank, draws []flow, capacity float64, read bool) {
	bad, total := (*flow)(nil), 0.0
	for i := range draws {
		if draws[i].Container != name {
			continue
		}
		total += draws[i].L
		if bad == nil && t.Known && total > t.Level+roundingSlack {
			bad = &draws[i]
		}
	}
	near := total > 0 && t.Known && total > t.Level-t.backL(capacity)
	u.shortage(a, "short:"+name, bad, near, read, func() alertContent {
		with := "with water at wash temperature."
		if a.rule == RuleChemistryShort {
			with = "with solution at temperature. Gloves and goggles."
		}
		return alertContent{
			message:  fmt.Sprintf("%s: %.1f L short for this run", capital(u.containerName(name)), total-t.Level),
			response: fmt.Sprintf("Top it up before %s draws at about %s, %s", StepWords(bad.Step), u.minuteWords(u.inSeconds(bad.InS)), with),
			facts: map[string]any{"act_at": lab.At(u.s.Clock.report(u.inSeconds(bad.InS))).String(), "container": name, "level_l": lab.Round(t.Level, 2), "still_to_draw_l": lab.Round(total, 2),
				"short_l": lab.Round(total-t.Level, 2), "draw_step": bad.Step, "draw_in_s": lab.Round(bad.InS, 0)},
		}
	})
}

// shortage raises, updates and clears an alert of a container that will not do for
// the run; bad is the first fill or drain that it is too little for.
// near: there is barely enough, so that an open alert stays open.
func (u *Unit) shortage(a alertKey, name string, bad *flow, near, read bool, words func() alertContent) {
	if !u.s.running() {
		return
	}
	priority := lab.High
	if bad != nil && bad.InS <= u.fig().UrgentBeforeS {
		priority = lab.Urgent
	}
	if o := u.open(a); o != nil {
		if bad != nil {
			delete(u.s.Holds, name+":in")
			if read || priority.Rank() > o.Priority.Rank() {
				w := words()
				w.priority = priority
				u.change(a, w, false)
			}
			return
		}
		if near {
			delete(u.s.Holds, name+":in")
			return
		}
		u.clearSteady(a, name+":in", true, read)
		return
	}
	if due, proved := u.heldBy(name, bad != nil, read); proved {
		delete(u.s.Holds, name)
		w := words()
		w.priority = priority
		u.raise(a, due, w)
	}
}

// heldBy is held for containers: any message may begin or end the condition, but
// only a reading of the levels proves that it lasted.
func (u *Unit) heldBy(name string, shows, read bool) (due time.Time, proved bool) {
	h := u.s.Holds[name]
	if shows && h != nil && !read {
		return h.From, false
	}
	s := u.steadyS()
	if h != nil {
		s = h.ForS
	}
	return u.held(name, shows, u.s.Clock.T, s)
}

// clearSteady clears an alert of a container once it has been over for as long as
// it took to be raised.
func (u *Unit) clearSteady(a alertKey, name string, over, read bool) {
	if due, proved := u.heldBy(name, over, read); proved {
		delete(u.s.Holds, name)
		u.clear(a, due)
	}
}
