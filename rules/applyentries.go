package rules

import (
	"encoding/json"
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

// apply counts one entry in, at its own moment: after before, the last moment
// that was folded, where it lies earlier.
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

// load is what the run carries, as far as was entered by now: rolls that came
// or went later count from then on.
func (u *Unit) load(r *run, by time.Time) *lab.Load {
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

// sensorFreshS is how long after its last reading a level sensor still tells more
// than what people say, seconds: levels come at least every 30 s.
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

// applyContainer takes what a person did to a container. Where a sensor talks
// it shows what was emptied or filled; what a person measured counts beside it
// (hand).
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
	was := t.Level
	if !t.takeEntered(b, spec, now) {
		return
	}
	if p := u.s.Pumping; p != nil { // what was there when it began was more, or less, too
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
	u.containers(false)
}

// levelAfter is what a container holds after what a person did; false where
// that cannot be told.
func levelAfter(b lab.ContainerEvent, spec lab.ContainerSpec, t *tank) (float64, bool) {
	into := spec.Role == lab.RoleWaste || spec.Role == lab.RoleRecovery
	switch {
	case b.What == lab.ToppedUp && b.Litres != nil && t.Known:
		l := t.Level + *b.Litres
		if spec.CapacityL > 0 {
			l = min(l, spec.CapacityL)
		}
		return l, true
	case b.What == lab.ToppedUp && b.Litres != nil:
		return 0, false // how much was in it before is not known
	case b.Litres != nil:
		return *b.Litres, true
	case b.What == lab.Emptied, b.What == lab.Swapped && into:
		return 0, true
	case spec.CapacityL > 0 && (b.What == lab.ToppedUp || b.What == lab.Swapped):
		return spec.CapacityL, true
	}
	return 0, false
}

// period is a time in which the tank was turned by hand. A zero To lasts to
// the end of the outage or of the bath.
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
	s, c := u.s, u.s.cur()
	if !s.running() || k.RunID != "" && k.RunID != s.Run.ID || c == nil || c.BathT.IsZero() || !c.EndT.IsZero() {
		return
	}
	if !c.DrainT.IsZero() { // what stood half drained is out now
		if s.Phase == lab.PhaseDraining && !c.ByHand {
			c.ByHand = true
			u.refreshPowerLost()
			u.reportRun()
		}
		return
	}
	t := s.Clock.T
	if sheetS, ok := u.sheetS(c); ok && u.followed() && s.Unsure == sure && c.BathHeard {
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
