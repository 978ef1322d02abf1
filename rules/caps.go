package rules

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"wetside/internal/lab"
)

// Caps of what one unit can make the fold keep. No unit in order comes near
// them; one that is broken or hostile costs a stated amount and no more.
const (
	stepsKept   = 2 * lab.MaxN // of a run
	holesKept   = 256          // of a run, and as many gaps
	outagesKept = 64           // of a run
	alertsKept  = 512          // of a run, by id
	stillKept   = 64           // of a step, and as many turned by hand in a run
	openKept    = 128          // conditions that last
	pastKept    = 32           // processes whose last run is known
	tanksKept   = 2 * lab.MaxContainers
	runsKept    = 32   // beginnings of runs that are kept in mind
	runsWithinS = 3600 // so many within so long, by the unit's clock, are no runs
)

// tooManyRuns tells whether a message begins one run too many: no processor
// runs film that often. It is told as refused telemetry, and not folded.
func (u *Unit) tooManyRuns(st *lab.Step) bool {
	s := u.s
	if st.Run == "" || st.Phase == lab.PhaseIdle || s.Run != nil && s.Run.Name == st.Run {
		return false
	}
	now := s.Clock.T
	s.Began = slices.DeleteFunc(s.Began, func(t time.Time) bool { return now.Sub(t) >= lab.Seconds(runsWithinS) })
	if len(s.Began) < runsKept {
		s.Began = append(s.Began, now)
		u.clear(alertKey{rule: RuleTelemetryRefused, subject: "runs", apart: true}, now)
		return false
	}
	u.raise(alertKey{rule: RuleTelemetryRefused, subject: "runs", apart: true}, now, alertContent{priority: lab.High,
		message: fmt.Sprintf("%d runs began within an hour: further ones are not judged", runsKept),
		facts:   map[string]any{"code": "too-many-runs", "run": st.Run}})
	return true
}

// tooManySteps tells whether a run has more steps than are kept, and says so
// once a run.
func (u *Unit) tooManySteps(st *lab.Step) bool {
	r := u.s.Run
	if len(r.Steps) < stepsKept {
		return false
	}
	r.Lacks = true
	u.raise(alertKey{rule: RuleTelemetryRefused, subject: "steps", run: true}, u.s.Clock.T, alertContent{priority: lab.High,
		message: fmt.Sprintf("The run has more than %d steps: further ones are not judged", stepsKept),
		latched: true, facts: map[string]any{"code": "too-many-steps", "step": st.Step}})
	return true
}

// keepHole adds a hole; beyond the cap it is added to the last.
func (r *run) keepHole(h hole) {
	if n := len(r.Holes); n >= holesKept {
		last := &r.Holes[n-1]
		last.After, last.S = min(last.After, h.After), last.S+h.S
		return
	}
	r.Holes = append(r.Holes, h)
}

// keepGap adds a gap; beyond the cap the list stays as it is: the holes say
// that more is missing.
func (r *run) keepGap(g lab.Gap) {
	if len(r.Gaps) < holesKept {
		r.Gaps = append(r.Gaps, g)
	}
}

// keepOutage adds an outage; beyond the cap the oldest goes.
func (r *run) keepOutage(o *outage) { r.Outages = lab.LastOf(append(r.Outages, o), outagesKept) }

// roomForOne tells whether one more condition that lasts is kept. At the cap the
// oldest latched one gives way: it lives on where people see it, and the fold
// only knows it so as not to raise it twice.
func (u *Unit) roomForOne() bool {
	if len(u.s.Open) < openKept {
		return true
	}
	oldest := ""
	for _, key := range slices.Sorted(maps.Keys(u.s.Open)) {
		if o := u.s.Open[key]; o.Latched && (oldest == "" || o.RaisedAt.Before(u.s.Open[oldest].RaisedAt)) {
			oldest = key
		}
	}
	delete(u.s.Open, oldest)
	return oldest != ""
}

// keepTanks forgets containers that the unit does not declare, those heard
// longest ago first.
func (u *Unit) keepTanks() {
	s := u.s
	if len(s.Tanks) <= tanksKept {
		return
	}
	specs := u.containerSpecs()
	names := slices.DeleteFunc(slices.Collect(maps.Keys(s.Tanks)), func(name string) bool { _, ok := specs[name]; return ok })
	slices.SortFunc(names, func(a, b string) int {
		if c := s.Tanks[a].HeardT.Compare(s.Tanks[b].HeardT); c != 0 {
			return c
		}
		return strings.Compare(a, b)
	})
	for _, name := range names[:min(len(names), len(s.Tanks)-tanksKept)] {
		delete(s.Tanks, name)
		u.drop("near:" + name)
		u.drop("near:in:" + name)
	}
}

// keepPast forgets the last run of a process beyond the cap: of the first by
// name that is not the one in hand.
func (s *state) keepPast(like string) {
	for _, name := range slices.Sorted(maps.Keys(s.Past)) {
		if len(s.Past) <= pastKept {
			return
		}
		if name != like {
			delete(s.Past, name)
		}
	}
}
