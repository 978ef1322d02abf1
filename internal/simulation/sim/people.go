package sim

import (
	"math"
	"slices"
	"time"

	"wetside/internal/lab"
)

// chore is one thing that a person does to a container.
type chore struct {
	tank  *tank
	until float64 // litres
	rate  float64 // l/s
}

// tidyUp has a person empty and top up the containers after a run, so that the
// next run has room and chemistry.
func (u *unit) tidyUp() {
	u.choreAt = u.now.Add(u.step(between(u.people, 20, 80)))
	draw, drain := u.largestNeeds()
	for _, t := range u.tanks {
		if u.eff.neglect[t.name] || u.plan.Untidy {
			continue
		}
		switch t.role {
		case lab.RoleWaste, lab.RoleRecovery:
			if t.litres+2.2*drain[t.name] > 0.83*t.capacity {
				u.addChore(t.name)
			}
		default:
			if t.litres < min(2.2*draw[t.name]+0.3, 0.9*t.capacity) {
				u.addChore(t.name)
			}
		}
	}
}

// largestNeeds is the most that any of the unit's processes moves in a run.
func (u *unit) largestNeeds() (draw, drain map[string]float64) {
	draw, drain = map[string]float64{}, map[string]float64{}
	for _, id := range u.plan.Processes {
		sheet, _ := u.sheets.Sheet(id)
		a, b := litersMoved(programOf(sheet, RunPlan{Process: id, FillML: defaultFillML, SetS: bwNormalS}, nil))
		for k, v := range a {
			draw[k] = max(draw[k], v)
		}
		for k, v := range b {
			drain[k] = max(drain[k], v)
		}
	}
	return draw, drain
}

// prepare looks whether the next run can be done. Where it can't, a person is
// sent for. Containers that a fault has neglected stay as they are, and the run
// begins all the same.
func (u *unit) prepare(p RunPlan) bool {
	for _, a := range u.faults {
		neglects := a.Kind == WasteFull || a.Kind == WashLow || a.Kind == BottleShort
		if neglects && a.At.IsZero() && a.Run == u.runs+1 && a.Step == "" {
			return true
		}
	}
	if len(u.eff.neglect) > 0 || u.plan.Untidy {
		return true
	}
	u.tidyUp()
	return len(u.chores) == 0
}

func (u *unit) addChore(name string) {
	t := u.tank(name)
	for _, c := range u.chores {
		if c.tank == t {
			return
		}
	}
	if t.role == lab.RoleWaste || t.role == lab.RoleRecovery {
		u.chores = append(u.chores, chore{t, 0, t.litres / between(u.people, 25, 50)})
		return
	}
	full := t.capacity * 0.96
	u.chores = append(u.chores, chore{t, full, max(0.05, (full-t.litres)/between(u.people, 20, 60))})
}

// stepPeople does the first chore, a little at a time.
func (u *unit) stepPeople() {
	if len(u.chores) == 0 || u.now.Before(u.choreAt) {
		return
	}
	c := u.chores[0]
	was := c.tank.litres
	if c.until < was {
		c.tank.litres = max(c.until, was-c.rate*u.dt)
		c.tank.tilted = u.run == nil && c.tank.hasFloat
	} else {
		c.tank.litres = min(c.until, was+c.rate*u.dt)
	}
	u.balance.put(was, c.tank.litres)
	if math.Abs(c.tank.litres-c.until) > 1e-9 {
		return
	}
	c.tank.tilted = false
	u.chores = u.chores[1:]
	u.choreAt = u.now.Add(u.step(between(u.people, 5, 15)))
	u.due[lab.ChannelTank] = u.now
}

// secondsSince is for elapsed times, never below zero.
func secondsSince(now, then time.Time) float64 { return max(0, now.Sub(then).Seconds()) }

// SeeTo has a person empty or top up a container of a unit, by its name.
func (l *Lab) SeeTo(name, container string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, u := range l.units {
		if u.plan.Name == name && !u.eff.neglect[container] {
			u.addChore(container)
		}
	}
}

// ContainerTruth is what is really in a container.
type ContainerTruth struct {
	Name             string
	Role             lab.Role
	Litres, Capacity float64
	Touched          bool // a person is at it, or about to be
}

// Containers tells what is really in the containers of a unit, by its name.
func (l *Lab) Containers(name string) []ContainerTruth {
	l.mu.Lock()
	defer l.mu.Unlock()
	var out []ContainerTruth
	for _, u := range l.units {
		if u.plan.Name != name {
			continue
		}
		for _, t := range u.tanks {
			touched := slices.ContainsFunc(u.chores, func(c chore) bool { return c.tank == t })
			out = append(out, ContainerTruth{t.name, t.role, t.litres, t.capacity, touched})
		}
	}
	return out
}

// Needs tells what a run of a process really draws from and drains into the
// containers of a unit, by its name.
func (l *Lab) Needs(name, process string, fillML float64) (draw, drain map[string]float64) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, u := range l.units {
		if sheet, ok := u.sheets.Sheet(process); ok && u.plan.Name == name {
			draw, drain = litersMoved(programOf(sheet, RunPlan{Process: process, FillML: fillML * (1 + u.plan.PumpGain), SetS: bwNormalS}, nil))
		}
	}
	return draw, drain
}
