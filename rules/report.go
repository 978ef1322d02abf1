package rules

import (
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// reportRun gives the run's record out as it stands.
func (f *fold) reportRun() {
	if f.s.Run != nil {
		rec := f.record()
		f.out.putRun(rec)
		f.reportFilm(rec)
	}
}

// record is the run as the contract shows it.
func (f *fold) record() lab.Run {
	r := f.s.Run
	out := lab.Run{ID: r.ID, Unit: f.unit.String(), Run: r.Name, Process: r.Process, Push: r.Push, Kind: r.Kind,
		StartedAt: lab.At(r.StartedAt), EndedAt: lab.AtPtr(r.EndedAt), Outcome: r.Outcome,
		Reasons: []lab.Reason{}, Steps: []lab.RunStep{}, Outages: []lab.Outage{}, Gaps: []lab.Gap{},
		Alerts: []string{}, Rolls: []lab.Roll{}}
	if l := f.load(r, time.Time{}); l != nil {
		out.Rolls = append(out.Rolls, wantsSaid(l, r)...)
	}
	out.Gaps = append(out.Gaps, r.Gaps...)
	out.Alerts = append(out.Alerts, r.Alerts...)
	for _, o := range r.Outages {
		out.Outages = append(out.Outages, o.record())
	}
	for _, c := range r.Steps {
		st := f.stepRecord(c)
		out.Steps = append(out.Steps, st)
		if sp := f.spec(c); sp != nil && sp.Push != nil && st.PushErrorStops != nil {
			out.PushErrorStops = st.PushErrorStops
		}
	}
	f.filmRecord(&out)
	out.JudgeRolls()
	if r.Outcome != lab.OutcomeRunning {
		f.verdict(&out)
	}
	if out.Film != nil {
		out.Film.Verdict = out.Verdict
	}
	return out
}

// filmRecord adds the film's whole way. Where one run was given up, another
// film's began and this one spoke again, what it had before belongs to it.
func (f *fold) filmRecord(out *lab.Run) {
	r := f.s.Run
	if out.Film = f.filmOf(r); out.Film == nil {
		return
	}
	if r.Continues != "" {
		out.Continues = ptr(r.Continues)
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

// wantsSaid are the rolls of a load, with what they want where the load wanted
// something else than the run did: the record has no load to say it.
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
func (f *fold) stepRecord(c *stepRec) lab.RunStep {
	out := lab.RunStep{N: c.N, Step: c.ID, Fills: c.Fills}
	if !c.BathT.IsZero() {
		out.StartedAt = lab.AtPtr(f.s.Clock.report(c.BathT))
	}
	if c.SetS > 0 {
		out.SetS = ptr(c.SetS)
	}
	sp := f.spec(c)
	sheetS, known := f.sheetS(c)
	if sp != nil {
		out.LowC, out.HighC = ptr(sp.LowC), ptr(sp.HighC)
		if known {
			out.SheetS = ptr(sheetS)
		}
	}
	ended := !c.EndT.IsZero() && !c.Stranded
	if ended && c.BathHeard && !c.EndLost {
		out.TimeS = ptr(round(c.EndT.Sub(c.fromT()).Seconds(), 3))
	}
	b := c.Bath
	if b.N > 0 {
		out.MinC, out.MaxC = ptr(round(b.MinC, 3)), ptr(round(b.MaxC, 3))
		if b.SumS > 0 {
			out.MeanC = ptr(round(b.SumC/b.SumS, 3))
		}
		if sp != nil {
			out.OutsideS = ptr(round(b.OutS, 1))
		}
	}
	if d := c.Doubt; d.N > 0 {
		out.UnbelievedN, out.UnbelievedS, out.UnbelievedWhy = d.N, round(d.S, 1), d.Why
	}
	if d := c.Doubt; d.FlatS >= f.fig().FlatS && d.FlatN >= f.fig().FlatReadings {
		out.FlatS = ptr(round(d.FlatS, 0))
	}
	if c.Measured > 0 {
		out.MeasuredOffsetC = ptr(round(c.OffsetC, 2))
	}
	if sp != nil && sp.Kind == process.Dev && ended && c.BathHeard && b.N > 0 {
		if known {
			f.pushErrors(c, sp, &out)
		} else if sp.Push != nil && !sp.PushKnown(f.s.Run.Push) {
			f.pushUnknownErrors(c, sp, &out)
		}
	}
	return out
}

// pushErrors are what a developer came to: against the house aim where the
// lab has one, with the sheet's own beside it. What lies outside the push
// table is not told, only on which side; nor is what nobody read.
func (f *fold) pushErrors(c *stepRec, sp *process.Step, out *lab.RunStep) {
	a := f.aim(c)
	eq := f.honest(c, sp)
	if !f.mostlyUnread(c) {
		out.EquivalentS = ptr(round(eq.Best, 2))
	}
	if a.HouseS > 0 {
		out.HouseAimS = ptr(a.HouseS)
	}
	v, ok := sp.StopsRange(eq, a)
	if !ok {
		return
	}
	if side := sp.Side(eq.Best, a); side != 0 {
		bound := round(sp.Bound(side, a), 4)
		if side < 0 {
			out.PushErrorHighStops = &bound
		} else {
			out.PushErrorLowStops = &bound
		}
		return
	}
	v = sp.Scaled(v)
	out.PushErrorLowStops, out.PushErrorHighStops = ptr(round(v.Low, 4)), ptr(round(v.High, 4))
	if f.mostlyUnread(c) {
		return
	}
	out.PushErrorStops = ptr(round(v.Best, 4))
	out.Narrower = f.narrower(c, sp, v)
	if a.HouseS > 0 {
		if w, ok := sp.PushError(eq.Best, a.Push, a.SetS); ok {
			out.PushErrorSheetStops = ptr(round(w, 4))
		}
	}
}

// pushUnknownErrors says of a push that the sheet has no time for only on
// which side of it the film came out.
func (f *fold) pushUnknownErrors(c *stepRec, sp *process.Step, out *lab.RunStep) {
	side, bound, ok := sp.SideOfUnknown(f.honest(c, sp), f.s.Run.Push, c.SetS)
	if !ok {
		return
	}
	bound = round(bound, 4)
	if side < 0 {
		out.PushErrorHighStops = &bound
	} else {
		out.PushErrorLowStops = &bound
	}
}
