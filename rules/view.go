package rules

import (
	"iter"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// View is the unit as the board shows it, as far as its timeline tells: how it
// is connected, its clock's offset and its outlook are not in it. fleet are the
// units of the lab: what a unit of the same model has shown counts where this
// one has not.
func (u *Unit) View(fleet iter.Seq[*Unit]) lab.Unit {
	s := u.s
	v := lab.Unit{ID: u.id.String(), Name: u.id.Unit, Activity: s.activity(), Bath: u.bathView(),
		Light: u.light(), Power: u.powerView(), Containers: u.containerViews(fleet), OpenAlerts: []string{},
		RunVolumes: u.volumeViews(fleet), Model: s.Model, Firmware: s.Firmware, Processes: s.Processes}
	if s.Room.known() {
		v.RoomC = new(s.Room.V)
	}
	if s.RPM.known() {
		v.RPM = new(s.RPM.V)
	}
	if s.running() {
		v.Run = u.runView()
		if s.Load != nil {
			v.NextLoad = &s.Load.Load
		}
	}
	v.Film = u.filmsLeft()
	u.loadViews(&v)
	return v
}

// loadViews adds what the run carries, else what the next one will.
func (u *Unit) loadViews(v *lab.Unit) {
	s := u.s
	if v.Run != nil {
		if v.Load = u.loadOf(s.Run, time.Time{}); v.Load != nil {
			v.Run.Rolls = v.Load.Rolls
			return
		}
	}
	if s.Load != nil {
		v.Load = &s.Load.Load
	}
}

func (s *state) activity() string {
	switch {
	case !s.running():
		return lab.ActivityIdle
	case s.Phase == lab.PhaseWaiting:
		return lab.ActivityWaiting
	case s.Phase == lab.PhaseDrying:
		return lab.ActivityDrying
	}
	return lab.ActivityRunning
}

func (u *Unit) runView() *lab.UnitRun {
	s, r := u.s, u.s.Run
	v := &lab.UnitRun{ID: r.ID, Run: r.Name, Process: r.Process, Push: r.Push, Kind: r.Kind, StartedAt: lab.At(r.StartedAt),
		Of: r.Of, Phase: s.Phase, WaitsFor: s.WaitsFor, Plan: u.planViews()}
	c := s.currentStep()
	if c != nil {
		v.Step, v.N = c.ID, c.N
		if sp := u.spec(c); sp != nil {
			v.Label = sp.Label
		}
		if c.SetS > 0 {
			v.SetS = new(c.SetS)
		}
		if !c.BathT.IsZero() && c.EndT.IsZero() {
			v.ElapsedS = new(lab.Round(s.Clock.T.Sub(c.fromT()).Seconds(), 1))
			v.StepLeftS = new(lab.Round(u.leftS(u.plannedStep(c.ID, c.N, c)), 1))
		}
	}
	if v.Of == 0 {
		v.Of = len(v.Plan)
	}
	if left, ok := u.toDryerS(); ok {
		v.RemainingS = new(lab.Round(left, 1))
		v.EndsAt = lab.AtPtr(s.Clock.report(u.inSeconds(left)))
	}
	switch {
	case s.Phase == lab.PhaseWaiting:
		v.RemainingS = new(0.0)
	case s.Phase == lab.PhaseDrying && s.PhaseSetS > 0:
		v.RemainingS = new(lab.Round(max(u.dryAt().Sub(s.Clock.T).Seconds(), 0), 1))
		v.EndsAt = lab.AtPtr(s.Clock.report(u.dryAt()))
	}
	return v
}

func (u *Unit) planViews() []lab.PlanStep {
	out := []lab.PlanStep{}
	sh := u.sheet()
	plan := u.plan()
	for i, p := range plan {
		v := lab.PlanStep{N: p.N, Step: p.ID, Label: p.ID, AimS: p.TimeS, State: "ahead"}
		if sp, ok := sh.Step(p.ID); ok {
			v.Label, v.Kind = sp.Short, sp.Kind
			v.AimC, v.LowC, v.HighC = new(sp.AimC), new(sp.LowC), new(sp.HighC)
		}
		if c := p.Rec; c != nil {
			v.State = "now"
			if !c.EndT.IsZero() || i+1 < len(plan) && plan[i+1].Rec != nil {
				v.State = "past"
				v.EndedAt = lab.AtPtr(u.s.Clock.report(c.EndT))
			}
			v.StartedAt = lab.AtPtr(u.s.Clock.report(c.FromT))
			if !c.BathT.IsZero() {
				v.StartedAt = lab.AtPtr(u.s.Clock.report(c.BathT))
			}
		}
		out = append(out, v)
	}
	return out
}

func (u *Unit) bathView() lab.Bath {
	s := u.s
	v := lab.Bath{Standing: lab.StandingUnknown}
	c := s.currentStep()
	if !s.running() || s.Phase != lab.PhaseInBath || c == nil {
		return v
	}
	sp := u.spec(c)
	if sp != nil {
		v.LowC, v.HighC = new(sp.LowC), new(sp.HighC)
	}
	if q := &s.Probe; q.BadN >= doubtReadings {
		v.Doubtful = &lab.Doubtful{C: lab.Round(q.Shown.V, 3), Why: q.Why, At: lab.At(s.Clock.report(q.Shown.T))}
	}
	if !s.Bath.known() {
		return v
	}
	v.C, v.At = new(lab.Round(s.Bath.V, 3)), lab.AtPtr(s.Clock.report(s.Bath.T))
	switch {
	case sp == nil || v.Doubtful != nil:
	case s.Clock.T.Sub(c.BathT) < lab.Seconds(u.fig().SettlingS):
		v.Standing = lab.StandingSettling
	case excess(s.Bath.V, sp) > 0:
		v.Standing = lab.StandingOutside
	default:
		v.Standing = lab.StandingWithin
	}
	return v
}

// light tells whether the lid may be opened, by the sheet and what was received.
func (u *Unit) light() lab.Light {
	s, r := u.s, u.s.Run
	if slices.ContainsFunc(u.s.Films, func(fl *film) bool { return !fl.away() && !fl.Fixed }) {
		return lab.Light{State: lab.LightDark}
	}
	if r == nil || !r.Wet || !r.film() || s.Phase == lab.PhaseIdle || s.Phase == lab.PhaseDone {
		return lab.Light{State: lab.LightNone}
	}
	sh := u.sheet()
	if sh == nil || sh.Light.Step == "" {
		return lab.Light{State: lab.LightDark}
	}
	for _, c := range r.Steps {
		if c.ID != sh.Light.Step || c.BathT.IsZero() {
			continue
		}
		since := c.BathT.Add(lab.Seconds(sh.Light.InS))
		if sh.Light.AtEnd {
			if c.EndT.IsZero() || c.Short {
				continue
			}
			since = c.EndT
		}
		end := s.Clock.T
		if !c.EndT.IsZero() {
			end = c.EndT
		}
		if !end.Before(since) {
			return lab.Light{State: lab.LightSafe, Since: lab.AtPtr(s.Clock.report(since))}
		}
	}
	return lab.Light{State: lab.LightDark}
}

func (u *Unit) powerView() lab.PowerNow {
	p := u.s.Power
	v := lab.PowerNow{Source: p.Source, BatteryPct: p.Battery, Since: lab.AtPtr(u.s.Clock.report(p.Since))}
	if v.Source == "" {
		v.Source = "unknown"
	}
	return v
}

// actJob is what an outlook asks a person to do, as a job.
func actJob(v *lab.Outlook) string {
	step := StepWords(v.Step)
	switch v.Action {
	case process.GoOn, process.DrainAt, process.Drain:
		return "drain " + step + " by hand"
	case process.Finish:
		return "finish filling " + step
	case process.Shorten:
		return "end " + step + " early"
	case process.Extend:
		return "end " + step + " late"
	case process.Repeat:
		return "do " + step + " again"
	case process.Discard:
		return "drain " + step + ", hold the rolls"
	}
	return "see " + step + " end"
}
