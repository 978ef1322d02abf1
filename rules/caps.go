package rules

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"wetside/internal/lab"
)

// Caps of what is kept of one unit. No unit in order comes near them; they bound
// what a broken or hostile one can cost.
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
	runsWithinS = 3600 // so many within so long, by the unit's clock: no processor runs film that often
)

// tooManyRuns tells whether a message begins a run beyond the cap. It is not
// folded, and telemetry-refused says so.
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

// keepHole adds a hole. Beyond the cap its length is added to the last one, so
// that none is forgotten.
func (r *run) keepHole(h hole) {
	if n := len(r.Holes); n >= holesKept {
		last := &r.Holes[n-1]
		last.After, last.S = min(last.After, h.After), last.S+h.S
		return
	}
	r.Holes = append(r.Holes, h)
}

// keepGap adds a gap of seqs. Beyond the cap it is dropped: that data is missing
// is known from the holes.
func (r *run) keepGap(g lab.Gap) {
	if len(r.Gaps) < holesKept {
		r.Gaps = append(r.Gaps, g)
	}
}

// keepOutage adds an outage; beyond the cap the oldest goes.
func (r *run) keepOutage(o *outage) { r.Outages = lab.LastOf(append(r.Outages, o), outagesKept) }

// roomForOne makes room for one more lasting alert, and tells whether there is
// any. At the cap the oldest latched one is forgotten here: people still see it,
// and it is only known here so that it is not raised twice.
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

// keepTanks keeps the containers within their cap: of those that the unit does
// not declare, the one read longest ago is forgotten first.
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
		u.dropHolds("near:" + name)
		u.dropHolds("near:in:" + name)
	}
}

// keepPast keeps the last runs of processes within their cap. The first by name
// is forgotten, but never that of the process at hand.
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
