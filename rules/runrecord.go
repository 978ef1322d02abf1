package rules

import (
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// reportRun gives the run's record out as it stands.
func (u *Unit) reportRun() {
	if u.s.Run != nil {
		rec := u.runRecord()
		u.found.PutRun(rec)
		u.reportFilm(rec)
	}
}

// runRecord is the run as the contract shows it.
func (u *Unit) runRecord() lab.Run {
	r := u.s.Run
	out := lab.Run{ID: r.ID, Unit: u.id.String(), Run: r.Name, Process: r.Process, Push: r.Push, Kind: r.Kind,
		StartedAt: lab.At(r.StartedAt), EndedAt: lab.AtPtr(r.EndedAt), Outcome: r.Outcome,
		Reasons: []lab.Reason{}, Steps: []lab.RunStep{}, Outages: []lab.Outage{}, Gaps: []lab.Gap{},
		Alerts: []string{}, Rolls: []lab.Roll{}}
	if l := u.loadOf(r, time.Time{}); l != nil {
		out.Rolls = append(out.Rolls, wantsSaid(l, r)...)
	}
	out.Gaps = append(out.Gaps, r.Gaps...)
	out.Alerts = append(out.Alerts, r.Alerts...)
	for _, o := range r.Outages {
		out.Outages = append(out.Outages, o.record())
	}
	for _, c := range r.Steps {
		st := u.stepRecord(c)
		out.Steps = append(out.Steps, st)
		if sp := u.spec(c); sp != nil && sp.Push != nil && st.PushErrorStops != nil {
			out.PushErrorStops = st.PushErrorStops
		}
	}
	u.filmRecord(&out)
	out.JudgeRolls()
	if r.Outcome != lab.OutcomeRunning {
		u.verdict(&out)
	}
	if out.Film != nil {
		out.Film.Verdict = out.Verdict
	}
	return out
}

// filmRecord adds the film with all its runs. A run that was given up, left its
// film and then went on is one run: its record keeps the steps from before.
func (u *Unit) filmRecord(out *lab.Run) {
	r := u.s.Run
	if out.Film = u.filmOf(r); out.Film == nil {
		return
	}
	if r.Continues != "" {
		out.Continues = new(r.Continues)
	}
	if r.Took != nil && r.Took.last().ID == r.ID {
		if rec, ok := r.Took.last().record(out.Film); ok {
			out.Steps, out.StartedAt, out.Continues = append(rec.Steps, out.Steps...), rec.StartedAt, rec.Continues
		}
	}
	if out.PushErrorStops != nil {
		out.Film.PushErrorStops, out.Film.Push = out.PushErrorStops, r.Push
	} else if r.Took != nil {
		out.Film.Push = r.Took.Push
	}
}

// wantsSaid are the rolls of a load. Where the load as a whole was for another
// process or push than the run's, each roll says so: the record has no load.
func wantsSaid(l *lab.Load, r *run) []lab.Roll {
	rolls := slices.Clone(l.Rolls)
	if wants(l.Process, l.Push, r) {
		return rolls
	}
	for i := range rolls {
		if x := &rolls[i]; x.Process == "" {
			x.Process = l.Process
			if x.Push == 0 {
				x.Push = l.Push
			}
		}
	}
	return rolls
}

// stepRecord is one step of the record.
func (u *Unit) stepRecord(c *runStep) lab.RunStep {
	out := lab.RunStep{N: c.N, Step: c.ID, Fills: c.Fills}
	if !c.BathT.IsZero() {
		out.StartedAt = lab.AtPtr(u.s.Clock.report(c.BathT))
	}
	if c.DrawFrom != "" && c.DrawFrom != u.defaultDraw(u.s.Run.Process, c.ID) {
		out.DrawFrom = c.DrawFrom
	}
	if c.SetS > 0 {
		out.SetS = new(c.SetS)
	}
	sp := u.spec(c)
	sheetS, known := u.sheetS(c)
	if sp != nil {
		out.LowC, out.HighC = new(sp.LowC), new(sp.HighC)
		if known {
			out.SheetS = new(sheetS)
		}
	}
	ended := !c.EndT.IsZero() && !c.Stranded
	if ended && c.BathHeard && !c.EndLost {
		out.TimeS = new(lab.Round(c.EndT.Sub(c.fromT()).Seconds(), 3))
	}
	b := c.Bath
	if b.N > 0 {
		out.MinC, out.MaxC = new(lab.Round(b.MinC, 3)), new(lab.Round(b.MaxC, 3))
		if b.SumS > 0 {
			out.MeanC = new(lab.Round(b.SumC/b.SumS, 3))
		}
		if sp != nil {
			out.OutsideS = new(lab.Round(b.OutS, 1))
		}
	}
	if d := c.Doubt; d.N > 0 {
		out.UnbelievedN, out.UnbelievedS, out.UnbelievedWhy = d.N, lab.Round(d.S, 1), d.Why
	}
	if d := c.Doubt; d.FlatS >= u.fig().FlatS && d.FlatN >= u.fig().FlatReadings {
		out.FlatS = new(lab.Round(d.FlatS, 0))
	}
	if c.Measured > 0 {
		out.MeasuredOffsetC = new(lab.Round(c.OffsetC, 2))
	}
	if sp != nil && sp.Kind == process.Dev && ended && c.BathHeard && b.N > 0 {
		if known {
			u.pushErrors(c, sp, &out)
		} else if sp.Push != nil && !sp.PushKnown(u.s.Run.Push) {
			u.pushUnknownErrors(c, sp, &out)
		}
	}
	return out
}

// pushErrors adds a developer's push error, against the house aim where the lab
// has one, and then against the sheet too. Beyond the ends of the push table only
// the side is told, and of a developer that was mostly not read only the range.
func (u *Unit) pushErrors(c *runStep, sp *process.Step, out *lab.RunStep) {
	a := u.aim(c)
	eq := u.equivalentBounds(c, sp)
	if !u.mostlyUnread(c) {
		out.EquivalentS = new(lab.Round(eq.Best, 2))
	}
	if a.HouseS > 0 {
		out.HouseAimS = new(a.HouseS)
	}
	v, ok := sp.StopsRange(eq, a)
	if !ok {
		return
	}
	if side := sp.Side(eq.Best, a); side != 0 {
		bound := lab.Round(sp.Bound(side, a), 4)
		if side < 0 {
			out.PushErrorHighStops = &bound
		} else {
			out.PushErrorLowStops = &bound
		}
		return
	}
	v = sp.Scaled(v)
	out.PushErrorLowStops, out.PushErrorHighStops = new(lab.Round(v.Low, 4)), new(lab.Round(v.High, 4))
	if u.mostlyUnread(c) {
		return
	}
	out.PushErrorStops = new(lab.Round(v.Best, 4))
	out.Narrower = u.narrower(c, sp, v)
	if a.HouseS > 0 {
		if w, ok := sp.PushError(eq.Best, a.Push, a.SetS); ok {
			out.PushErrorSheetStops = new(lab.Round(w, 4))
		}
	}
}

// pushUnknownErrors adds, for a push that the sheet has no time for, only the
// side on which the film came out.
func (u *Unit) pushUnknownErrors(c *runStep, sp *process.Step, out *lab.RunStep) {
	side, bound, ok := sp.SideOfUnknown(u.equivalentBounds(c, sp), u.s.Run.Push, c.SetS)
	if !ok {
		return
	}
	bound = lab.Round(bound, 4)
	if side < 0 {
		out.PushErrorHighStops = &bound
	} else {
		out.PushErrorLowStops = &bound
	}
}
