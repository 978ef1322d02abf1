package rules

import (
	"fmt"
	"math"
	"time"

	"wetside/internal/lab"
)

// still follows how long a probe has read the same to the last digit. A probe
// that shakes, as it has shown, and stands still while the unit pumps, is stuck.
type still struct {
	N       int       `json:"n,omitempty"`    // readings alike, the last one counted
	Most    int       `json:"most,omitempty"` // the longest stretch before
	Seen    int       `json:"seen,omitempty"` // stretches that ended, up to stillSeen: how much the probe shakes
	FromT   time.Time `json:"from_t,omitzero"`
	PumpedL float64   `json:"pumped_l,omitempty"` // since this stretch began
	Stuck   bool      `json:"stuck,omitempty"`
}

// A stretch of stillLeast readings, and stillTimes the longest one before, shows
// that a probe stands still; before stillSeen stretches have ended, and where
// stretches longer than stillMost are usual, it shows nothing. stuckL must have
// been pumped in it. Common practice, no source.
const (
	stillLeast = 8
	stillTimes = 3
	stillSeen  = 30
	stillMost  = 10
	stuckL     = 0.2
)

// note takes a reading that is, or is not, the same as the one before.
func (s *still) note(same bool, now time.Time) {
	if same {
		s.N++
		return
	}
	s.Seen = min(s.Seen+1, stillSeen)
	if !s.Stuck {
		s.Most = max(s.Most, s.N)
	}
	*s = still{N: 1, Most: s.Most, Seen: s.Seen, FromT: now}
}

// stands tells whether the probe stands still for longer than it ever did.
func (s *still) stands() bool {
	return s.Seen >= stillSeen && s.Most <= stillMost && s.N >= max(stillLeast, stillTimes*s.Most)
}

// judgeStuck raises level-disagrees where a probe stood still while so much was
// pumped that it must have moved.
func (u *Unit) judgeStuck(name string, t *tank) {
	s := &t.Still
	a := alertKey{rule: RuleLevelDisagrees, subject: name}
	pumps := u.s.Phase == lab.PhaseFilling || u.s.Phase == lab.PhaseDraining || u.s.Pumping != nil
	if s.Stuck || pumps || u.s.Unsure != nothingMissed || !s.stands() || math.Abs(s.PumpedL) < max(stuckL, levelNoise*t.noiseL()) {
		return
	}
	s.Stuck = true
	t.balanceAnew()
	t.Est.L = max(0, t.HeardL-t.Est.Offset+s.PumpedL)
	t.Est.Pass(unheardL * unheardL)
	t.Level = t.best()
	if u.open(a) == nil {
		u.raiseLevel(name, t, faultStuckProbe, u.s.Clock.T,
			fmt.Sprintf("%s has read %.1f L to the last digit for %s, and %.1f L were pumped", capital(u.containerName(name)), t.HeardL,
				lab.SpanText(u.s.Clock.T.Sub(s.FromT).Seconds()), math.Abs(s.PumpedL)),
			map[string]any{"level_l": lab.Round(t.HeardL, 2), "by_pumping_l": lab.Round(t.Est.L, 2), "still_readings": s.N})
	}
}
