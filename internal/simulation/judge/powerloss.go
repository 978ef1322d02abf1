package judge

import (
	"math"
	"slices"

	"wetside/internal/lab"
	"wetside/internal/process"
	"wetside/internal/simulation/sim"
)

// judgedPowerLoss is one true loss of power beside the record of it.
type judgedPowerLoss struct {
	Step    string
	Kind    sim.Kind
	TrueS   float64
	GotS    float64
	Missing bool // the record does not have it
	Right   bool // its length, near enough
}

// nearEnoughS is how far off an outage may be told, seconds. Of a silent unit it
// is known only when its last message came and when it was back, and its
// slowest messages in a bath come every 10 s.
const nearEnoughS = 11

// judgePowerLosses finds each loss of power while film was wet in the record, and
// counts what the record has beyond them.
func (p *playedScenario) judgePowerLosses(t *sim.RunTruth, steps []stepTruth, run *lab.Run) (cuts []judgedPowerLoss, invented int) {
	left := slices.Clone(run.Outages)
	for _, f := range p.faults {
		if f.Run != t.Run || f.Fault.Kind != sim.PowerCut && f.Fault.Kind != sim.Restart || f.To.IsZero() || len(steps) == 0 {
			continue
		}
		c := judgedPowerLoss{Step: f.Step, Kind: f.Fault.Kind, TrueS: f.To.Sub(f.From).Seconds(), Missing: true}
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

// clockLost tells whether the unit's clock was lost, so that its times of day
// mean nothing.
func (p *playedScenario) clockLost() bool {
	return slices.ContainsFunc(p.faults, func(f sim.FaultTruth) bool { return f.Fault.Kind == sim.ClockLost })
}

// judgedEquivalent sets the equivalent time of a developer that does not push beside
// the truth: what share of the sheet's time it is off.
type judgedEquivalent struct {
	Step    string
	Missing bool
	Off     float64
}

func (p *playedScenario) judgeEquivalents(t *sim.RunTruth, steps []stepTruth, run *lab.Run) []judgedEquivalent {
	var out []judgedEquivalent
	if p.want.pushUndefined || p.want.onlyByProbe || t.Aborted {
		return nil
	}
	for i := range steps {
		x := &steps[i]
		if x.sheet.Kind != process.Dev || x.sheet.Push != nil || x.Drained.IsZero() || x.withoutReadingS >= 10 || x.edgeLost {
			continue
		}
		v := judgedEquivalent{Step: x.Step, Missing: true}
		at := slices.IndexFunc(run.Steps, func(s lab.RunStep) bool { return s.Step == x.Step })
		if at >= 0 && run.Steps[at].EquivalentS != nil {
			v.Missing = false
			v.Off = math.Abs(*run.Steps[at].EquivalentS-p.equivalentS(x, byProbe, x.sheet.Factor.Best, 0)) / x.sheetS
		}
		out = append(out, v)
	}
	return out
}
