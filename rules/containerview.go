package rules

import (
	"iter"
	"maps"
	"slices"

	"wetside/internal/lab"
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
		out = append(out, v)
	}
	return out
}

func (u *Unit) levelView(v *lab.Container, t *tank, into bool, owes, next float64) {
	v.Litres, v.At = new(lab.Round(t.Level, 2)), lab.AtPtr(u.s.Clock.report(lab.Later(t.HeardT, t.SaidT)))
	if v.CapacityL > 0 {
		v.Fraction = new(lab.Round(t.Level/v.CapacityL, 3))
	}
	if next <= 0 {
		return
	}
	room := t.Level - owes
	if into {
		if v.CapacityL <= 0 {
			return // how much it holds is not known
		}
		room = v.CapacityL - t.Level - owes
	}
	v.RunsLeft = new(max(0, int((room+roundingSlack)/next)))
}
