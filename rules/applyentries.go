package rules

import (
	"encoding/json"
	"math"
	"slices"
	"time"

	"wetside/internal/lab"
)

// pending tells whether an entry is still to be counted in.
func (s *state) pending(k *Entry) bool { return !k.Kind().Figure && !s.Done[k.ID] }

// applyDue counts in what people entered of the time up to now.
func (u *Unit) applyDue(before time.Time) {
	now := u.s.now()
	for _, k := range u.entries {
		if k.T.After(now) {
			return
		}
		if u.s.pending(k) {
			u.apply(k, before)
		}
	}
}

// apply counts one entry in at the moment of which it speaks. An entry that
// arrives late counts from right after before, the message that was folded
// last: what is folded cannot be changed any more here.
func (u *Unit) apply(k *Entry, before time.Time) {
	s := u.s
	if s.Done == nil {
		s.Done = map[string]bool{}
	}
	s.Done[k.ID] = true
	now := s.Clock.T
	s.Clock.T = lab.Earlier(now, lab.Later(before, k.T.Add(-s.Clock.Shift)))
	defer func() { s.Clock.T = now }()
	switch k.What {
	case lab.EntryLoad:
		u.applyLoad(k)
	case lab.EntryUnload:
		if k.RunID == "" {
			s.Load = nil
		}
	case lab.EntryRolls:
		if s.Run != nil && s.Run.ID == k.RunID {
			u.rollMismatch()
		}
	case lab.EntryContainer:
		u.applyContainer(k)
	case lab.EntryCapacity:
		u.applyCapacity(k)
	case lab.EntryTurned:
		u.applyTurned(k)
	case lab.EntryDrained:
		u.applyDrained(k)
	case lab.EntryMeasured:
		u.applyMeasured(k)
	case lab.EntryFilm:
		u.applyFilm(k)
	case lab.EntryDecision:
		u.decideFilm(k)
	case lab.EntryStrip:
		u.applyStrip(k)
	}
}

// loaded is what the next run carries.
type loaded struct {
	lab.Load
	T time.Time `json:"t"`
}

func (u *Unit) applyLoad(k *Entry) {
	var l lab.Load
	if json.Unmarshal(k.Body, &l) != nil {
		return
	}
	if k.RunID == "" {
		u.s.Load = &loaded{l, k.T}
		return
	}
	if u.s.Run != nil && u.s.Run.ID == k.RunID {
		u.rollMismatch()
	}
}

// loadOf is what the run carries by what was entered up to a moment; a zero by
// counts everything. Rolls may be added or taken off while the run goes on.
func (u *Unit) loadOf(r *run, by time.Time) *lab.Load {
	var l *lab.Load
	if r.Load != nil {
		l = &lab.Load{Process: r.Load.Process, Push: r.Load.Push, Rolls: slices.Clone(r.Load.Rolls)}
	}
	for _, k := range u.entries {
		if k.RunID != r.ID || !k.OfWholeRun() || !by.IsZero() && k.T.After(by) {
			continue
		}
		switch k.What {
		case lab.EntryLoad:
			var b lab.Load
			if json.Unmarshal(k.Body, &b) == nil {
				l = &b
			}
		case lab.EntryUnload:
			l = nil
		case lab.EntryRolls:
			l = changeRolls(l, r, k)
		}
	}
	return l
}

func changeRolls(l *lab.Load, r *run, k *Entry) *lab.Load {
	var b lab.RollsChange
	if json.Unmarshal(k.Body, &b) != nil {
		return l
	}
	if l == nil {
		l = &lab.Load{Process: r.Process, Push: r.Push}
	}
	l.Rolls = b.Apply(l.Rolls)
	return l
}

// setKind gives the run the kind that a person says it has.
func (u *Unit) setKind(r *run) {
	for _, k := range u.entries {
		var b lab.KindChange
		if k.What == lab.EntryKindOfRun && k.RunID == r.ID && json.Unmarshal(k.Body, &b) == nil && b.Kind != "" {
			r.Kind, r.KindSaid = b.Kind, true
		}
	}
}

// sensorFreshS is how long after its last reading a level sensor counts as
// working, seconds. While it does, its readings decide, and an entry that a
// container was emptied or filled changes nothing. Units send levels every 30 s
// at least, so that two may be lost.
const sensorFreshS = 90

// applyCapacity takes a person's word for how much a container holds.
func (u *Unit) applyCapacity(k *Entry) {
	var b lab.ContainerCapacity
	if json.Unmarshal(k.Body, &b) != nil || b.Container == "" {
		return
	}
	if u.s.Capacity == nil {
		u.s.Capacity = map[string]float64{}
	}
	if delete(u.s.Capacity, b.Container); b.CapacityL > 0 {
		u.s.Capacity[b.Container] = b.CapacityL
	}
	u.tankOf(b.Container).balanceAnew()
}

// applyContainer takes what a person did to a container. A working sensor shows
// for itself what was emptied or filled; a level that a person measured counts
// beside it (measuredLevel).
func (u *Unit) applyContainer(k *Entry) {
	var b lab.ContainerEvent
	spec, known := lab.ContainerSpec{}, false
	if json.Unmarshal(k.Body, &b) == nil {
		spec, known = u.containerSpecs()[b.Container]
	}
	if !known && b.Container == "" {
		return
	}
	t, now := u.tankOf(b.Container), u.s.Clock.T
	t.balanceAnew()
	u.clear(alertKey{rule: RuleLevelDisagrees, subject: b.Container}, now)
	was := t.Level
	if !t.takeEntered(b, spec, now) {
		return
	}
	if p := u.s.Pumping; p != nil { // the entry tells of the level before the pump began, too
		if p.From == b.Container {
			p.BaseFrom += t.Level - was
		}
		if p.To == b.Container {
			p.BaseTo += t.Level - was
		}
	}
	if t.Float && !t.sensorFresh(now) && t.Level < u.fig().NearlyFullClear*spec.CapacityL {
		t.Float, t.OpenT = false, now
	}
	u.judgeContainers(false)
}

// levelAfter is what a container holds after what a person did, with its spread;
// false where that cannot be told.
func levelAfter(b lab.ContainerEvent, spec lab.ContainerSpec, t *tank) (l, spread float64, ok bool) {
	into := spec.Role == lab.RoleWaste || spec.Role == lab.RoleRecovery
	switch {
	case b.What == lab.ToppedUp && b.Litres != nil && t.Known:
		l := t.Level + *b.Litres
		if spec.CapacityL > 0 {
			l = min(l, spec.CapacityL)
		}
		return l, math.Hypot(t.Est.Spread(), readOffL), true
	case b.What == lab.ToppedUp && b.Litres != nil:
		return 0, 0, false // how much was in it before is not known
	case b.Litres != nil:
		return *b.Litres, readOffL, true
	case b.What == lab.Emptied, b.What == lab.Swapped && into:
		return 0, emptyL, true
	case spec.CapacityL > 0 && (b.What == lab.ToppedUp || b.What == lab.Swapped):
		return spec.CapacityL, max(emptyL, filledShare*spec.CapacityL), true
	}
	return 0, 0, false
}

// period is a time in which the tank stood still or was turned by hand. With a
// zero To it lasts to the end of the outage or of the bath.
type period struct {
	From time.Time `json:"from"`
	To   time.Time `json:"to,omitzero"`
}

func (u *Unit) applyTurned(k *Entry) {
	s := u.s
	if !s.running() || k.RunID != "" && k.RunID != s.Run.ID {
		return
	}
	h := period{From: s.Clock.T}
	if !k.To.IsZero() {
		h.To = k.To.Add(-s.Clock.Shift)
	}
	s.Run.Turned = lab.LastOf(append(s.Run.Turned, h), stillKept)
}

// applyDrained ends the bath at hand: the film left it when a person drained
// the tank.
func (u *Unit) applyDrained(k *Entry) {
	s, c := u.s, u.s.currentStep()
	if !s.running() || k.RunID != "" && k.RunID != s.Run.ID || c == nil || c.BathT.IsZero() || !c.EndT.IsZero() {
		return
	}
	if !c.DrainT.IsZero() { // the unit had begun to drain it and stopped: now it is out
		if s.Phase == lab.PhaseDraining && !c.ByHand {
			c.ByHand = true
			u.refreshPowerLost()
			u.reportRun()
		}
		return
	}
	t := s.Clock.T
	if sheetS, ok := u.sheetS(c); ok && u.followed() && s.Unsure == nothingMissed && c.BathHeard {
		sheetS = overrunFromS(c, u.spec(c), sheetS)
		if due := c.fromT().Add(lab.Seconds(u.spec(c).LongestS(sheetS))); t.After(due) {
			u.raiseOverrun(c, due, sheetS)
		}
	}
	c.DrainT, c.ByHand = t, true
	u.bathEnds(c, t)
	u.clear(alertKey{rule: RuleStepOverrun, step: c}, t)
	u.clearWhere(t, func(o *lab.Occurrence) bool {
		return o.Rule == RuleBathTemperature || o.Rule == RuleReadingMissing || o.Rule == RuleRotationStopped ||
			o.Rule == RuleReadingDoubtful || o.Rule == RuleRotationSlow
	})
	u.reportRun()
}
