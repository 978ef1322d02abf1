package rules

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"wetside/internal/lab"
)

// runShare follows what part of the volumes that a run moved came and went by the
// probe. One run may be disturbed; two in a row that are off, beside what is
// usual on this container, are no accident: what left did not arrive.
type runShare struct {
	FromL   float64    `json:"from_l,omitempty"` // what the probe showed when the run began
	MovedL  float64    `json:"moved_l,omitempty"`
	Set     bool       `json:"set,omitempty"`
	Spoiled bool       `json:"spoiled,omitempty"` // people were at it, or something was not heard
	Usual   lastValues `json:"usual,omitempty"`   // the parts of sound runs
	Off     int        `json:"off,omitempty"`     // runs in a row that were off, below zero: too little
}

// Figures of what left and did not arrive. Common practice, no source.
const (
	shareOff    = 0.12 // beside the usual part
	shareOffL   = 0.3  // and so many liters
	shareRuns   = 2    // in so many runs in a row
	shareLeastL = 1    // runs that move less tell nothing
	// A container that is drawn from and falls by less than this part: no pump
	// fills a tank so badly that nobody notices, something flows in.
	shareFlowsIn = 0.5
)

// beginShares begins to follow the containers through a run.
func (u *Unit) beginShares() {
	for _, t := range u.s.Tanks {
		t.Share = runShare{Usual: t.Share.Usual, Off: t.Share.Off, FromL: t.shows(),
			Set: t.Est.Known() && t.sensorFresh(u.s.Clock.T) && !t.Odd.known() && !t.Still.Stuck}
	}
}

// judgeShares judges, at the end of a run, what part of the volumes arrived.
func (u *Unit) judgeShares() {
	if !u.s.Run.heardWhole() {
		return
	}
	specs := u.containerSpecs()
	for _, name := range slices.Sorted(maps.Keys(u.s.Tanks)) {
		t := u.s.Tanks[name]
		w := &t.Share
		set := w.Set && !w.Spoiled && math.Abs(w.MovedL) >= shareLeastL && t.sensorFresh(u.s.Clock.T) && !t.Odd.known() && !t.Still.Stuck
		if w.Set = false; !set {
			continue
		}
		part, usual := (t.shows()-w.FromL)/w.MovedL, 1. // not by the gain of the estimate: that follows what went wrong
		if n := len(w.Usual); n > 0 {
			usual = slices.Sorted(slices.Values(w.Usual))[n/2]
		}
		off := part - usual
		if math.Abs(off) < shareOff || math.Abs(off*w.MovedL) < shareOffL+4*t.shakes() {
			w.Usual.add(lab.Round(part, 3))
			w.Off = 0
			continue
		}
		if side := int(math.Copysign(1, off)); w.Off*side < 0 {
			w.Off = side
		} else {
			w.Off += side
		}
		if w.Off >= shareRuns || w.Off <= -shareRuns {
			u.raiseShare(name, t, specs[name].Role, part, usual)
		}
	}
}

// raiseShare raises level-disagrees for what left and did not arrive.
func (u *Unit) raiseShare(name string, t *tank, role lab.Role, part, usual float64) {
	if u.open(alertKey{rule: RuleLevelDisagrees, subject: name}) != nil {
		return
	}
	into, less := role == lab.RoleWaste || role == lab.RoleRecovery, part < usual
	fault, verb := faultLeak, "rose"
	switch {
	case into && !less:
		fault = faultBackflow
	case !into && part < shareFlowsIn:
		fault = faultBackflow
	case !into && less:
		fault = faultShortDraw
	}
	if !into {
		verb = "fell"
	}
	u.raiseLevel(name, t, fault, u.s.Clock.T,
		fmt.Sprintf("%s %s by %.0f %% of what was pumped, in two runs; %.0f %% is usual here", capital(u.containerName(name)), verb, 100*part, 100*usual),
		map[string]any{"level_l": lab.Round(t.Level, 2), "part": lab.Round(part, 2), "usual_part": lab.Round(usual, 2)})
}
