package sim

import (
	"time"

	"wetside/internal/lab"
)

// wait stands still until a person has come.
func (u *unit) wait(what string, then lab.Phase) {
	r := u.run
	r.waits, r.then = what, then
	u.comesAt = u.now.Add(u.step(between(u.people, 25, 75)))
	if what == lab.WaitToDryer {
		u.comesAt = u.now.Add(u.step(between(u.people, 8, 110)))
	}
	u.enter(lab.PhaseWaiting)
}

// waitOn goes on once what was waited for is there.
func (u *unit) waitOn() {
	r := u.run
	g := r.current()
	switch r.waits {
	case lab.WaitToDryer:
		if u.eff.unattended || u.now.Before(u.comesAt) {
			return
		}
		r.personS = r.dryS
		r.inStep = false
		u.enter(lab.PhaseDrying)
	case lab.WaitEmptyWaste:
		to := u.tank(g.to)
		if to.closed || to.read(u.noise)+g.fillL > to.capacity {
			u.callPerson(g.to)
			return
		}
		u.startDrain()
	default:
		if u.tank(g.from).read(u.noise) < g.fillL-u.bath.litres {
			u.callPerson(g.from)
			return
		}
		u.enter(lab.PhaseFilling)
	}
}

// callPerson has a person see to a container, once one has come.
func (u *unit) callPerson(container string) {
	if u.eff.unattended || u.eff.neglect[container] || u.now.Before(u.comesAt) {
		return
	}
	u.addChore(container)
}

// finish dries, waits for the film to be taken out, and goes idle.
func (u *unit) finish() {
	r := u.run
	if r.phase == lab.PhaseDrying && !u.mains {
		return
	}
	if r.personS -= u.dt; r.personS > 0 {
		return
	}
	if r.phase == lab.PhaseDrying {
		r.personS = between(u.people, 20, 90)
		u.enter(lab.PhaseDone)
		return
	}
	// Whatever is still in the tank of an aborted run is poured away.
	u.balance.taken += u.bath.draw(u.bath.litres)
	r.truth.Ended, u.idleAt = u.now, u.now
	u.run = nil
	u.sendStep()
	u.sendMotion()
	u.tidyUp()
}

// abort ends the run where it stands.
func (u *unit) abort() {
	r := u.run
	r.inStep = false
	r.truth.Aborted = true
	r.personS = between(u.people, 60, 150)
	u.enter(lab.PhaseAborted)
}

// takeWork begins the next run when it is due and the unit is tidy.
func (u *unit) takeWork() {
	if len(u.chores) > 0 || !u.mains || u.eff.stranded {
		return
	}
	if u.nextRun == nil {
		u.nextRun = u.findWork()
	}
	if n := u.nextRun; n != nil && !u.now.Before(n.At) && !u.now.Before(u.idleAt.Add(n.Pause)) && !u.closing() {
		if u.prepare(*n) {
			u.nextRun = nil
			u.startRun(*n)
		}
	}
}

// closing tells that the unit will be switched off before a run could end.
func (u *unit) closing() bool {
	return len(u.plan.Shifts) > 0 && u.now.Add(75*time.Minute).After(u.plan.Shifts[0].Off)
}

// findWork takes the next run from the plan, or makes one up.
func (u *unit) findWork() *RunPlan {
	if len(u.plan.Runs) > 0 {
		p := u.plan.Runs[0]
		u.plan.Runs = u.plan.Runs[1:]
		return &p
	}
	e := u.plan.Endless
	if e == nil {
		return nil
	}
	low, high := e.PauseMin, e.PauseMax
	if high <= 0 {
		low, high = 2*time.Minute, 15*time.Minute
	}
	p := randomRun(u.people, u.plan.Processes)
	p.At = u.now.Add(u.step(between(u.people, low.Seconds(), high.Seconds())))
	if u.people.Float64() < e.FaultOdds {
		f := randomFault(u.people, u.sheets, u.id.Unit, p.Process)
		if len(e.Faults) > 0 {
			f = namedFault(u.people, u.sheets, u.id.Unit, p.Process, e.Faults[u.people.IntN(len(e.Faults))])
		}
		f.Run = u.runs + 1
		u.faults = append(u.faults, &activeFault{Fault: f})
	}
	return &p
}

// beginInside puts the unit into the middle of its first run.
func (u *unit) beginInside(b Begin) {
	u.muted = true
	defer func() { u.muted = false }()
	p := *u.findWork()
	u.startRun(p)
	r := u.run
	sheet, _ := u.sheets.Sheet(p.Process)
	i := sheet.Index(b.Step)
	u.feed.t, u.washT.t = r.jacketC(), r.washC()
	u.bath.wall.t = r.jacketC() - 2.5
	u.feedHeat.reset(u.feed.t, u.feed.ua*(u.feed.t-u.room()))
	u.washHeat.reset(u.washT.t, u.washT.ua*(u.washT.t-u.room()))
	ago := b.In
	for _, g := range r.program[:i] {
		ago += u.step(g.setS + 30*float64(g.fills))
	}
	r.began = u.now.Add(-ago)
	r.truth.Began = r.began
	u.beginStep(i)
	r.heatS = b.Heating.Seconds()
	if b.In <= 0 {
		return
	}
	g := r.current()
	u.tank(g.from).take(g.fillL)
	u.bath.pour(g.fillL, g.setC)
	u.bath.wall.t = g.setC - 0.3
	u.heater.reset(g.setC, u.bath.wall.ua*(g.setC-u.room()))
	r.heatS = 0
	u.bathIn()
	r.stepS = b.In.Seconds()
	s := &r.truth.Steps[0]
	s.InBath = u.now.Add(-b.In)
}

// step is so many seconds, in whole milliseconds.
func (u *unit) step(s float64) time.Duration {
	return time.Duration(s*1000) * time.Millisecond
}
