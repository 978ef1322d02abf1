package judge

import (
	"math"
	"slices"

	"wetside/internal/lab"
	"wetside/internal/process"
	"wetside/internal/simulation/sim"
)

// cut is one true loss of power beside the record of it.
type cut struct {
	Step    string
	Kind    sim.Kind
	TrueS   float64
	GotS    float64
	Missing bool // the record does not have it
	Right   bool // its length, near enough
}

// A silent unit says when it was last heard and when it is back: its slowest
// messages in a bath come every 10 s.
const nearEnoughS = 11

// judgeCuts finds each loss of power while film was wet in the record, and
// counts what the record has beyond them.
func (p *played) judgeCuts(t *sim.RunTruth, steps []stepTruth, run *lab.Run) (cuts []cut, invented int) {
	left := slices.Clone(run.Outages)
	for _, f := range p.faults {
		if f.Run != t.Run || f.Fault.Kind != sim.PowerCut && f.Fault.Kind != sim.Restart || f.To.IsZero() || len(steps) == 0 {
			continue
		}
		c := cut{Step: f.Step, Kind: f.Fault.Kind, TrueS: f.To.Sub(f.From).Seconds(), Missing: true}
		for i, o := range left {
			if o.BackAt == nil || o.OutageS == nil || o.BackAt.Sub(f.To).Abs() > seconds(nearEnoughS) && !p.clockLost() {
				continue
			}
			c.Missing, c.GotS = false, *o.OutageS
			c.Right = math.Abs(c.GotS-c.TrueS) <= nearEnoughS
			left = slices.Delete(left, i, i+1)
			break
		}
		cuts = append(cuts, c)
	}
	return cuts, len(left)
}

// clockLost tells whether the unit's times of day are worth nothing.
func (p *played) clockLost() bool {
	return slices.ContainsFunc(p.faults, func(f sim.Truth) bool { return f.Fault.Kind == sim.ClockLost })
}

// stilled sets the equivalent time of a developer that does not push beside
// the truth: what share of the sheet's time it is off.
type stilled struct {
	Step    string
	Missing bool
	Off     float64
}

func (p *played) judgeStilled(t *sim.RunTruth, steps []stepTruth, run *lab.Run) []stilled {
	var out []stilled
	if p.want.noPush || p.want.byProbe || t.Aborted {
		return nil
	}
	for i := range steps {
		x := &steps[i]
		if x.sheet.Kind != process.Dev || x.sheet.Push != nil || x.Drained.IsZero() || x.unheard >= 10 || x.edgeLost {
			continue
		}
		v := stilled{Step: x.Step, Missing: true}
		at := slices.IndexFunc(run.Steps, func(s lab.RunStep) bool { return s.Step == x.Step })
		if at >= 0 && run.Steps[at].EquivalentS != nil {
			v.Missing = false
			v.Off = math.Abs(*run.Steps[at].EquivalentS-p.equivalentS(x, byProbe, x.sheet.Factor.Best, 0)) / x.sheetS
		}
		out = append(out, v)
	}
	return out
}
