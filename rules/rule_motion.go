package rules

import (
	"fmt"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// takeRotation judges one reading of the rotation.
func (u *Unit) takeRotation(m *lab.Motion) {
	s, c, t := u.s, u.s.currentStep(), u.s.Clock.T
	if m.RPM == nil {
		return
	}
	s.RPM = reading{*m.RPM, t}
	if !u.followed() || s.Phase != lab.PhaseInBath || c == nil || c.ByHand || s.Unsure == longHole {
		return
	}
	u.rotationSlow(c, *m.RPM, t)
	fig, a := u.fig(), alertKey{rule: RuleRotationStopped, step: c}
	sp := u.spec(c)
	dev := sp != nil && sp.Kind == process.Dev
	holdS := fig.RotationHoldS
	if dev {
		holdS = fig.RotationHoldDevS
	}
	due, proved := u.held("rotation", *m.RPM < fig.RotationRPM, t, holdS)
	switch {
	case *m.RPM >= fig.RotationRPM:
		if n := len(c.Still); n > 0 && c.Still[n-1].To.IsZero() {
			c.Still[n-1].To = t
		}
		u.clear(a, t)
	case proved && sp != nil && u.open(a) == nil:
		c.NoRotation = true
		c.Still = lab.LastOf(append(c.Still, period{From: due.Add(-lab.Seconds(holdS))}), stillKept)
		w := alertContent{priority: lab.Low, message: fmt.Sprintf("The tank stands still in %s", sp.Label),
			facts: map[string]any{"rpm": lab.Round(*m.RPM, 1)}}
		if dev {
			w.priority = lab.Urgent
		}
		u.raise(a, due, w)
	}
}

// Rotation is not slow any more when it was at slowBack of the usual for
// slowBackS seconds: a dead band, so that the alert does not flicker.
const (
	slowBack  = 0.75
	slowBackS = 20
)

// rotationSlow compares the rotation with the sheet's, else with what this unit
// usually does in this step. A tank that stands still is rotation-stopped's.
func (u *Unit) rotationSlow(c *runStep, rpm float64, t time.Time) {
	fig, a, sp := u.fig(), alertKey{rule: RuleRotationSlow, step: c}, u.spec(c)
	usual, whose := u.usualRPM(c, sp)
	if rpm >= fig.RotationRPM {
		c.RPMSum, c.RPMN = c.RPMSum+rpm, c.RPMN+1
	}
	if rpm < fig.RotationRPM || usual <= 0 || sp == nil || u.s.Power.Source == lab.SourceBattery {
		u.dropHolds("slow")
		return
	}
	if u.open(a) != nil {
		if due, proved := u.held("slow:in", rpm >= slowBack*usual, t, slowBackS); proved {
			u.dropHolds("slow")
			u.clear(a, due)
		}
		return
	}
	due, proved := u.held("slow:out", rpm < fig.RotationSlow*usual, t, fig.RotationSlowHoldS)
	if !proved {
		return
	}
	u.dropHolds("slow")
	c.Slow = true
	w := alertContent{priority: lab.Low,
		message: fmt.Sprintf("%s turns at %.0f rpm, %s %.0f rpm", capital(sp.Label), rpm, whose, usual),
		facts:   map[string]any{"rpm": lab.Round(rpm, 1), "usual_rpm": lab.Round(usual, 1), "share": lab.Round(rpm/usual, 2)}}
	if sp.Kind == process.Dev {
		w.priority = lab.High
	}
	u.raise(a, due, w)
}

// usualRPM is the rotation that a step ought to have.
func (u *Unit) usualRPM(c *runStep, sp *process.Step) (rpm float64, whose string) {
	if sp == nil {
		return 0, ""
	}
	if sp.RPM > 0 {
		return sp.RPM, "the sheet says"
	}
	return u.s.habit(u.habitKey(c), u.s.Clock.T).RPM.median(), "usually"
}
