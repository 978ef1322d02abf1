package rules

import (
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// reportRun gives the run's record out as it stands.
func (f *fold) reportRun() {
	if f.s.Run != nil {
		f.out.putRun(f.record())
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
		out.Rolls = append(out.Rolls, l.Rolls...)
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
	if r.Outcome != lab.OutcomeRunning {
		f.verdict(&out)
	}
	return out
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
	ended := !c.EndT.IsZero()
	if ended && c.BathHeard && !c.EndLost {
		out.TimeS = ptr(round(c.EndT.Sub(c.BathT).Seconds(), 3))
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
	if sp != nil && sp.Kind == process.Dev && known && ended && c.BathHeard && b.N > 0 {
		f.pushErrors(c, sp, &out)
	}
	return out
}

// pushErrors are what a developer came to: against the house aim where the
// lab has one, with the sheet's own beside it.
func (f *fold) pushErrors(c *stepRec, sp *process.Step, out *lab.RunStep) {
	eq, a := c.Bath.Eq, f.aim(c)
	eq.High += f.slowDrainS(c) * sp.Rates(c.Bath.PrevC).High // some of the film had it longer
	out.EquivalentS = ptr(round(eq.Best, 2))
	if a.HouseS > 0 {
		out.HouseAimS = ptr(a.HouseS)
	}
	v, ok := sp.StopsRange(eq, a)
	if !ok {
		return
	}
	out.PushErrorStops, out.PushErrorLowStops, out.PushErrorHighStops = ptr(round(v.Best, 4)), ptr(round(v.Low, 4)), ptr(round(v.High, 4))
	if a.HouseS > 0 {
		if w, ok := sp.PushError(eq.Best, a.Push, a.SetS); ok {
			out.PushErrorSheetStops = ptr(round(w, 4))
		}
	}
}
