package sim

import (
	"fmt"
	"time"

	"wetside/internal/lab"
)

// run is a run as the controller has it; it is stored, so that it outlives a
// restart.
type run struct {
	plan     RunPlan
	id       string
	ordinal  int
	began    time.Time
	program  []programStep
	step     int
	phase    lab.Phase
	phaseAt  time.Time
	heatS    float64 // the least heating still to come, seconds
	inStep   bool    // the step's clock runs
	stepS    float64 // the time in the step, by the controller's count
	fill     int     // which fill of the step
	fillS    float64 // time in the bath of this fill
	targetS  float64 // when the step ends, by the controller's count
	setS     float64 // what the controller says that it is set to
	fillPart float64 // what part of the fill the controller takes for the whole
	waits    string
	then     lab.Phase // the phase after a wait
	personS  float64   // seconds that people or machines still take in this phase
	called   string    // what the unit calls the process
	rescues  string    // the run whose film this one takes on, as it says
	dryC     float64
	dryS     float64
	truth    *RunTruth
}

func (r *run) current() *programStep { return &r.program[r.step] }

// jacketC is the temperature that the bottles are held at: the first bath's.
func (r *run) jacketC() float64 { return r.program[0].setC }

// washC is the temperature that the wash tank is held at.
func (r *run) washC() float64 {
	for _, g := range r.program {
		if g.wash {
			return g.setC
		}
	}
	return r.jacketC()
}

// wet tells whether the run is in its baths, or heating for one.
func (r *run) wet() bool {
	switch r.phase {
	case lab.PhaseHeating, lab.PhaseFilling, lab.PhaseInBath, lab.PhaseDraining:
		return true
	case lab.PhaseWaiting:
		return r.waits != lab.WaitToDryer
	}
	return false
}

// counts tells whether the time in the step goes on: from the first entry
// into the bath to the start of the last draining.
func (r *run) counts() bool {
	return r.inStep && (r.phase != lab.PhaseDraining || r.fill < r.current().fills)
}

// turns tells whether the tank rotates in this phase.
func (r *run) turns() bool {
	return r.phase == lab.PhaseFilling || r.phase == lab.PhaseInBath || r.phase == lab.PhaseDraining ||
		(r.phase == lab.PhaseWaiting && r.then == lab.PhaseDraining)
}

// startRun begins the run that is due.
func (u *unit) startRun(p RunPlan) {
	if p.FillML == 0 {
		p.FillML = defaultFillML
	}
	if p.SetS == 0 {
		p.SetS = bwNormalS
	}
	if p.Kind == "" {
		p.Kind = lab.KindOfRunFilm
	}
	sheet, _ := u.sheets.Sheet(p.Process)
	u.runs++
	r := &run{plan: p, ordinal: u.runs, began: u.now, program: programOf(sheet, p, u.plan.Factors),
		id:   fmt.Sprintf("%s-%s-%d", u.id.Unit, u.now.Format("20060102T150405"), u.runs),
		dryC: min(45, sheet.DryMaxC-4), dryS: between(u.people, 480, 780)}
	if sheet.DryMaxC == 0 {
		r.dryC = 40
	}
	r.truth = &RunTruth{Unit: u.id.String(), Run: r.id, Ordinal: r.ordinal, Process: p.Process, Kind: p.Kind, Push: p.Push, Began: u.now}
	u.done = append(u.done, r.truth)
	u.run = r
	r.heatS = between(u.people, 60, 240)
	u.applyRunFaults(r)
	u.beginStep(max(0, sheet.Index(p.From)))
}

// beginStep goes to a step, past those that are skipped.
func (u *unit) beginStep(i int) {
	r := u.run
	for r.step = i; r.step < len(r.program); r.step++ {
		if _, skip := u.ofStep(SkippedStep); !skip {
			break
		}
	}
	if r.step >= len(r.program) {
		r.step = len(r.program) - 1
		u.wait(lab.WaitToDryer, lab.PhaseDrying)
		return
	}
	r.inStep, r.stepS, r.fill, r.fillS = false, 0, 1, 0
	r.setS = r.current().setS
	if f, ok := u.ofStep(WrongTime); ok {
		r.setS = max(1, r.setS+f.Strength)
	}
	r.targetS = r.setS
	if f, ok := u.ofStep(LongStep); ok {
		r.targetS += f.Strength
	}
	if f, ok := u.ofStep(ShortStep); ok {
		r.targetS = max(5, r.targetS-f.Strength)
	}
	u.applyStepFaults()
	r.fillPart = 1
	if f, ok := u.ofStep(FillShort); ok {
		r.fillPart = f.Strength
	}
	if i > 0 {
		r.heatS = between(u.noise, 3, 6)
	}
	u.enter(lab.PhaseHeating)
}

// enter changes the phase and says so.
func (u *unit) enter(p lab.Phase) {
	r := u.run
	r.phase, r.phaseAt = p, u.now
	if p != lab.PhaseWaiting {
		r.waits = ""
	}
	u.sendStep()
	switch p {
	case lab.PhaseInBath:
		u.sendTemp(true)
		u.sendMotion()
	case lab.PhaseHeating:
		if r.step == 0 {
			u.sendTank()
		}
	}
}

// control is the controller's own step of time.
func (u *unit) control() {
	r := u.run
	if r == nil {
		u.takeWork()
		return
	}
	if r.counts() {
		r.stepS += u.dt
	}
	switch r.phase {
	case lab.PhaseHeating:
		u.heat()
	case lab.PhaseFilling:
		if u.bath.litres >= r.fillPart*u.fillsL(r.current())-1e-6 {
			u.comesAlong()
			u.bathIn()
		} else if u.tank(r.current().from).litres < 1e-6 {
			u.wait(u.shortOf(), lab.PhaseFilling)
		}
	case lab.PhaseInBath:
		r.fillS += u.dt
		if u.fillOver() {
			u.tryDrain()
		}
	case lab.PhaseDraining:
		if u.bath.litres <= 0 {
			u.drained()
		}
	case lab.PhaseWaiting:
		u.waitOn()
	case lab.PhaseDrying, lab.PhaseDone, lab.PhaseAborted:
		u.finish()
	}
}

// heat waits for the bath to come to temperature.
func (u *unit) heat() {
	r := u.run
	r.heatS -= u.dt
	if r.heatS > 0 || !u.mains {
		return
	}
	if r.step == 0 && (apart(u.feed.t, r.jacketC()+u.eff.preheat) > 0.12 || u.eff.coldWash == nil && apart(u.washT.t, r.washC()) > 0.5 ||
		apart(u.bath.wall.t, r.jacketC()) > max(3.6, u.wallLag(r.jacketC())+0.1)) {
		return
	}
	u.tryFill()
}

func apart(a, b float64) float64 { return max(a-b, b-a) }

// tryFill fills, or waits for what is not there.
func (u *unit) tryFill() {
	g := u.run.current()
	if u.tank(g.from).read(u.noise) < g.fillL {
		u.wait(u.shortOf(), lab.PhaseFilling)
		return
	}
	u.enter(lab.PhaseFilling)
}

func (u *unit) shortOf() string {
	if u.run.current().wash {
		return lab.WaitTopUpWash
	}
	return lab.WaitChemistry
}

// bathIn begins the time in the bath: the liquid is all in.
func (u *unit) bathIn() {
	r := u.run
	r.fillS = 0
	if !r.inStep {
		r.inStep = true
		r.truth.Steps = append(r.truth.Steps, StepTruth{N: r.step + 1, Step: r.current().id, SetS: r.current().setS, ControllerSetS: r.setS, InBath: u.now})
	}
	r.truth.Steps[len(r.truth.Steps)-1].Fills = r.fill
	u.enter(lab.PhaseInBath)
}

// fillOver tells whether the time of this fill, or of the step, is up.
func (u *unit) fillOver() bool {
	r := u.run
	g := r.current()
	if !u.mains {
		return false // the pumps stand still
	}
	if r.fill >= g.fills || r.stepS >= r.targetS {
		return r.stepS >= r.targetS
	}
	changes := float64(g.fills-1) * (u.filler.seconds(g.fillL, u.dt) + u.drainer.seconds(g.fillL, u.dt))
	return r.fillS >= max(10, (r.targetS-changes)/float64(g.fills))
}

// tryDrain drains, or waits where it would not fit.
func (u *unit) tryDrain() {
	r := u.run
	if r.stepS >= r.targetS {
		r.fill = r.current().fills // no time for another
	}
	if to := u.tank(r.current().to); to.closed || to.read(u.noise)+r.current().fillL > to.capacity {
		u.wait(lab.WaitEmptyWaste, lab.PhaseDraining)
		return
	}
	u.startDrain()
}

func (u *unit) startDrain() {
	r := u.run
	s := &r.truth.Steps[len(r.truth.Steps)-1]
	if !s.ByHand {
		s.Drained, s.TimeS = u.now, u.now.Sub(s.InBath).Seconds()
	}
	u.leaveOnFilm()
	u.enter(lab.PhaseDraining)
}

// drained goes on to the next fill or step.
func (u *unit) drained() {
	r := u.run
	u.sendTank()
	switch {
	case r.fill < r.current().fills:
		r.fill++
		u.tryFill()
	case r.step+1 < len(r.program):
		u.beginStep(r.step + 1)
	default:
		r.inStep = false
		u.wait(lab.WaitToDryer, lab.PhaseDrying)
	}
}

// applyStepFaults changes the settings of the step that begins by its faults.
func (u *unit) applyStepFaults() {
	g := u.run.current()
	if f, ok := u.ofStep(WrongTemperature); ok {
		g.setC += f.Strength
	}
	if f, ok := u.ofStep(Renamed); ok {
		g.called = f.Called
	}
	if f, ok := u.ofStep(WrongDrain); ok {
		g.to = f.Container
	}
}

// applyRunFaults sets how the run names its process and whose film it takes on.
func (u *unit) applyRunFaults(r *run) {
	r.called = r.plan.Process
	if f, ok := u.ofStep(UnknownProcess); ok {
		r.called = f.Called
	}
	if n := len(u.done); r.plan.Continues && n > 1 {
		r.rescues = u.done[n-2].Run
	}
}
