package rules

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"time"

	"wetside/internal/lab"
)

// stripHistory is what the last control strips of a process and mix showed on the
// unit, and which runs there were since.
type stripHistory struct {
	Process string    `json:"process"`
	Mix     string    `json:"mix,omitempty"`
	Outs    int       `json:"outs,omitempty"` // strips in a row that were beyond a control limit
	OutT    time.Time `json:"out_t,omitzero"` // the first of them
	LastInT time.Time `json:"last_in_t,omitzero"`
	LastT   time.Time `json:"last_t,omitzero"` // when the last was read: one read earlier and entered later changes nothing
	Runs    []string  `json:"runs,omitempty"`  // since the last that was in
	Own     []string  `json:"own,omitempty"`   // those of them that ran a control strip, without customers' film
}

// Caps of what is kept of one unit.
const (
	stripHistoriesKept = 16
	stripRunsKept      = 64
)

// stripsOf finds the history of a process and mix, or begins one. Beyond the cap
// the one used longest ago is forgotten.
func (s *state) stripsOf(process, mix string) *stripHistory {
	i := slices.IndexFunc(s.Strips, func(g *stripHistory) bool { return g.Process == process && g.Mix == mix })
	g := &stripHistory{Process: process, Mix: mix}
	if i >= 0 {
		g = s.Strips[i]
		s.Strips = slices.Delete(s.Strips, i, i+1)
	}
	s.Strips = append(s.Strips, g)
	if more := len(s.Strips) - stripHistoriesKept; more > 0 {
		s.Strips = slices.Delete(s.Strips, 0, more)
	}
	return g
}

// applyStrip takes a control strip that was read. One beyond a control limit may
// be the strip's own fault; a second in a row raises strip-out.
func (u *Unit) applyStrip(k *Entry) {
	var b lab.Strip
	if json.Unmarshal(k.Body, &b) != nil || b.Process == "" {
		return
	}
	g, t := u.s.stripsOf(b.Process, b.Mix), u.s.Clock.T
	if k.T.Before(g.LastT) {
		return
	}
	g.LastT = k.T
	a := g.alertKey()
	switch b.Status {
	case lab.StripIn, lab.StripAction:
		g.Outs, g.OutT = 0, time.Time{}
		if b.Status == lab.StripIn {
			g.LastInT = t
			g.wasIn(k.RunID)
		}
		u.clear(a, t)
	case lab.StripOut:
		if g.Outs++; g.Outs == 1 {
			g.OutT = t
		}
		if g.Outs < 2 {
			return
		}
		if w := u.stripContent(g, b); u.open(a) != nil {
			u.change(a, w, false)
		} else {
			u.raise(a, t, w)
		}
	}
}

// wasIn forgets the runs up to the one of a strip that was within its limits. Runs
// while the strip dried came after it, and stay. Where the strip's own run is not
// known, all runs up to its reading are forgotten.
func (g *stripHistory) wasIn(run string) {
	i := slices.Index(g.Runs, run)
	if i < 0 {
		i = len(g.Runs) - 1
	}
	g.Runs = slices.Clone(g.Runs[i+1:])
	g.Own = slices.DeleteFunc(g.Own, func(id string) bool { return !slices.Contains(g.Runs, id) })
}

// film are the runs with customers' film since the last strip that was in.
func (g *stripHistory) film() []string {
	return slices.DeleteFunc(slices.Clone(g.Runs), func(id string) bool { return slices.Contains(g.Own, id) })
}

func (g *stripHistory) alertKey() alertKey {
	subject := g.Process
	if g.Mix != "" {
		subject += " " + g.Mix
	}
	return alertKey{rule: RuleStripOut, subject: subject, apart: true}
}

func (u *Unit) stripContent(g *stripHistory, b lab.Strip) alertContent {
	facts := map[string]any{"process": g.Process, "strips": g.Outs, "runs": g.film(),
		"out_since": lab.At(u.s.Clock.report(g.OutT)).String()}
	if g.Mix != "" {
		facts["mix"] = g.Mix
	}
	if !g.LastInT.IsZero() {
		facts["last_in_at"] = lab.At(u.s.Clock.report(g.LastInT)).String()
	}
	return alertContent{priority: lab.High, facts: facts,
		message: fmt.Sprintf("Control strip out twice: %s", b.Beyond())}
}

// ranSinceStrip adds a run that ended to the histories of its process: whoever
// looks into a strip that is out must find the film that ran since the last good
// one.
func (u *Unit) ranSinceStrip() {
	r := u.s.Run
	if !r.followed() {
		return
	}
	for _, g := range u.s.Strips {
		if g.Process != r.Process || slices.Contains(g.Runs, r.ID) {
			continue
		}
		g.Runs = append(g.Runs, r.ID)
		if !r.film() {
			g.Own = append(g.Own, r.ID)
		}
		if more := len(g.Runs) - stripRunsKept; more > 0 {
			g.Runs = slices.Delete(g.Runs, 0, more)
			g.Own = slices.DeleteFunc(g.Own, func(id string) bool { return !slices.Contains(g.Runs, id) })
		}
		if o := u.open(g.alertKey()); o != nil {
			facts := maps.Clone(o.Facts)
			facts["runs"] = g.film()
			o.Facts = facts
			u.found.PutOccurrence(*o)
		}
	}
}
