package rules

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"time"

	"wetside/internal/lab"
)

// Figures of fill-slow. Fills of about the same volume (within fillClass) are
// compared with each other; fillsLeast of them tell what is usual. Common
// practice, no source.
const (
	fillClass     = 1.1
	fillsLeast    = 5
	fillsKept     = 9
	fillClassKept = 16
)

// fillKey names the fills to compare one with: of about its volume, from bottles
// or from the wash water, which has its own pump and hose on many units.
func (u *Unit) fillKey(c *runStep) string {
	from := "bottle"
	if u.containerSpecs()[u.drawFrom(c.ID, c)].Role == lab.RoleWash {
		from = "wash"
	}
	return fmt.Sprintf("%s/%d", from, int(math.Round(math.Log(c.FillML)/math.Log(fillClass))))
}

// learnFill notes how long a fill took. Slow ones count too: a few do not move the
// median, and a pump that stays slow becomes the usual.
func (u *Unit) learnFill(c *runStep, tookS float64) {
	s := u.s
	if c.FillML <= 0 || tookS <= 0 || !s.poweredSince(s.PhaseT) {
		return
	}
	if s.Fills == nil {
		s.Fills = map[string]lastValues{}
	}
	key := u.fillKey(c)
	if s.Fills[key] == nil && len(s.Fills) >= fillClassKept { // the rarest is forgotten
		delete(s.Fills, slices.MinFunc(slices.Sorted(maps.Keys(s.Fills)), func(a, b string) int {
			return cmp.Or(cmp.Compare(len(s.Fills[a]), len(s.Fills[b])), cmp.Compare(a, b))
		}))
	}
	s.Fills[key] = lab.LastOf(append(s.Fills[key], lab.Round(tookS/(c.FillML/1000), 1)), fillsKept)
}

// poweredSince tells whether the unit has had mains power since t, as far as is
// known.
func (s *state) poweredSince(t time.Time) bool {
	if s.Power.Source == lab.SourceBattery || !s.Power.LostT.IsZero() {
		return false
	}
	return !slices.ContainsFunc(s.Run.Outages, func(o *outage) bool { return o.BackT.IsZero() || o.BackT.After(t) })
}

// usualFillS is how long a fill like that of c usually takes, false where too
// few were seen.
func (u *Unit) usualFillS(c *runStep) (usualS float64, known int, ok bool) {
	if c.FillML <= 0 {
		return 0, 0, false
	}
	perL := u.s.Fills[u.fillKey(c)] // seconds a liter
	if len(perL) < fillsLeast {
		return 0, 0, false
	}
	return perL.median() * c.FillML / 1000, len(perL), true
}

// fillSlowDue raises fill-slow once a message proves that a fill went on for
// longer than this unit's fills of that volume do.
func (u *Unit) fillSlowDue(t time.Time) {
	s, c := u.s, u.s.currentStep()
	if !u.judged() || s.Phase != lab.PhaseFilling || c == nil || s.Unsure != nothingMissed || !s.PhaseHeard || !s.poweredSince(s.PhaseT) {
		return
	}
	usualS, known, ok := u.usualFillS(c)
	a, fig := alertKey{rule: RuleFillSlow, step: c}, u.fig()
	if !ok || u.open(a) != nil {
		return
	}
	limitS := max(fig.FillSlowTimes*usualS, usualS+fig.FillSlowS)
	due := s.PhaseT.Add(lab.Seconds(limitS))
	if !t.After(due) {
		return
	}
	from := u.drawFrom(c.ID, c)
	u.raise(a, due, alertContent{priority: lab.High,
		message:  fmt.Sprintf("%s fills for longer than %s; %.0f mL usually take %s", capital(StepWords(c.ID)), lab.SpanText(limitS), c.FillML, lab.SpanText(usualS)),
		response: fmt.Sprintf("Look at %s, its hose and its filter: empty, kinked, clogged, or the pump is weak. If the fill does not end, finish it by hand. Note the time with the rolls.", from),
		facts: map[string]any{"usual_s": lab.Round(usualS, 1), "limit_s": lab.Round(limitS, 1), "fill_ml": c.FillML, "fills_known": known,
			"container": from}})
}

// destination is where a step usually drains to on this unit, by its completed
// runs.
type destination struct {
	T     time.Time `json:"t"`
	Step  string    `json:"step"`
	Usual string    `json:"usual,omitempty"`
	Last  string    `json:"last"` // in the last completed run, N of which in a row were alike
	N     int       `json:"n"`
}

// destinationLeast completed runs in a row make a destination the usual one;
// destinationsKept is the cap of steps. Common practice, no source.
const (
	destinationLeast = 2
	destinationsKept = 64
)

func (r *run) drainKey(c *runStep) string { return r.like() + "/" + c.ID }

// learnDrains keeps where the steps of a completed run drained to.
func (u *Unit) learnDrains() {
	s := u.s
	for _, c := range s.Run.Steps {
		if c.Into == "" || c.IntoMore {
			continue
		}
		if s.Drains == nil {
			s.Drains = map[string]*destination{}
		}
		key := s.Run.drainKey(c)
		d := s.Drains[key]
		if d == nil {
			if len(s.Drains) >= destinationsKept {
				delete(s.Drains, slices.MinFunc(slices.Sorted(maps.Keys(s.Drains)), func(a, b string) int {
					return cmp.Or(s.Drains[a].T.Compare(s.Drains[b].T), cmp.Compare(a, b))
				}))
			}
			d = &destination{Step: c.ID}
			s.Drains[key] = d
		}
		d.T = s.Clock.T
		if d.Last != c.Into {
			d.Last, d.N = c.Into, 0
		}
		if d.N = min(d.N+1, destinationLeast); d.N >= destinationLeast {
			d.Usual = d.Last
		}
	}
}

// drainsInto notes where a draining goes that begins, and raises
// wrong-destination where that is another waste stream than usual. Where the unit
// does not say it, it is not guessed.
func (u *Unit) drainsInto(c *runStep) {
	to := c.DrainTo
	if to == "" {
		return
	}
	c.IntoMore = c.IntoMore || c.Into != "" && c.Into != to
	c.Into = to
	d := u.s.Drains[u.s.Run.drainKey(c)]
	if d == nil || d.Usual == "" || u.sameStream(d.Usual, to, c.ID) {
		return
	}
	u.raise(alertKey{rule: RuleWrongDestination, step: c, subject: to}, u.s.Clock.T, alertContent{priority: lab.High,
		message: fmt.Sprintf("%s drains into %s; it usually goes into %s", capital(StepWords(c.ID)), u.containerName(to), u.containerName(d.Usual)),
		response: fmt.Sprintf("Stop the drain or put the hose into %s, if that can still be done. Never mix waste streams: gloves, goggles and fresh air; mark %s as mixed and do not reuse it. If this is intended, it counts as usual after two such runs.",
			u.containerName(d.Usual), u.containerName(to)),
		facts: map[string]any{"container": to, "usual_container": d.Usual}})
}

// sameStream tells whether two containers take the same waste stream. All waste
// containers do. Each recovery container and each bottle is a stream of its own,
// unless the step is known to drain into both.
func (u *Unit) sameStream(usual, to, step string) bool {
	if usual == to {
		return true
	}
	specs := u.containerSpecs()
	a, b := specs[usual].Role, specs[to].Role
	if a != b || a == "" {
		return false
	}
	if a == lab.RoleWaste {
		return true
	}
	for _, d := range u.s.Drains {
		if d.Step == step && d.Usual == to {
			return true
		}
	}
	return false
}
