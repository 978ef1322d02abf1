package rules

import (
	"iter"
	"maps"
	"math"
	"slices"

	"wetside/internal/lab"
	"wetside/rules/level"
)

func (u *Unit) containerViews(fleet iter.Seq[*Unit]) []lab.Container {
	specs := u.containerSpecs()
	drains, draws := u.flows(false), u.flows(true)
	run, ok := u.nextRunOf(fleet)
	out := []lab.Container{}
	for _, name := range slices.Sorted(maps.Keys(specs)) {
		spec := specs[name]
		v := lab.Container{Name: name, Role: spec.Role, CapacityL: spec.CapacityL}
		into := spec.Role == lab.RoleWaste || spec.Role == lab.RoleRecovery
		owes, next := owed(draws, name), run.of(name, spec.Role)
		if into {
			owes = owed(drains, name)
		}
		v.OwedL = new(lab.Round(owes, 2))
		if ok {
			v.NextRunL, v.NextRunBy = new(lab.Round(next, 2)), run.From
		}
		if t := u.shown(name, spec); t != nil {
			v.Measured = u.measuredView(t)
			v.FloatShut = t.Float
			if t.Known {
				u.levelView(&v, t, into, owes, next) // next is 0 where it is not known
			}
		}
		u.sayLasts(&v, next > 0, ok)
		out = append(out, v)
	}
	return out
}

func (u *Unit) levelView(v *lab.Container, t *tank, into bool, owes, next float64) {
	now := u.s.now()
	seen := *t // looking changes nothing
	held, e := t.Level, seen.estimated(v.CapacityL, u.s.Clock.T)
	if t.Odd.known() {
		held = t.best() // what one reading says does not move it yet
	}
	v.Litres, v.At = new(lab.Round(held, 2)), lab.AtPtr(u.s.Clock.report(lab.Later(t.HeardT, t.SaidT)))
	v.SpreadL, v.LevelBy = new(lab.Round(e.Spread(), 3)), lab.LevelByCounted
	if t.sensorFresh(u.s.Clock.T) {
		v.LevelBy = lab.LevelByProbe
	}
	v.Changed = u.changedView(t, v.CapacityL, now)
	if v.CapacityL > 0 {
		v.Fraction = new(lab.Round(held/v.CapacityL, 3))
	}
	if next <= 0 {
		return
	}
	have := t.Level - owes
	if into {
		if v.CapacityL <= 0 {
			return // how much it holds is not known
		}
		have = v.CapacityL - t.Level - owes
	}
	best, _, _ := level.Runs(have, 0, next, 0)
	gain := max(e.GainSpread(), gainLeast)
	_, low, high := level.Runs(have-owes*e.Gain, math.Hypot(e.Spread(), owes*gain), next*(1+e.Gain), gain)
	v.RunsLeft, v.RunsLow, v.RunsHigh = new(min(max(best, low), high)), &low, &high
}
