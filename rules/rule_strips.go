package rules

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"time"

	"wetside/internal/lab"
)

// stripStand is how the control strips of one process and mix on a unit stand.
type stripStand struct {
	Process string    `json:"process"`
	Mix     string    `json:"mix,omitempty"`
	Outs    int       `json:"outs,omitempty"` // beyond a control limit, in a row, up to the last
	OutT    time.Time `json:"out_t,omitzero"` // the first of them
	LastInT time.Time `json:"last_in_t,omitzero"`
	Runs    []string  `json:"runs,omitempty"` // with film, since the last that was in
}

// Caps: what one unit can make the fold keep of strips.
const (
	stripStandsKept = 16
	stripRunsKept   = 64
)

// stripsOf finds where the strips of a process and mix stand. Beyond the cap
// the one that was used longest ago is forgotten.
func (s *state) stripsOf(process, mix string) *stripStand {
	i := slices.IndexFunc(s.Strips, func(g *stripStand) bool { return g.Process == process && g.Mix == mix })
	g := &stripStand{Process: process, Mix: mix}
	if i >= 0 {
		g = s.Strips[i]
		s.Strips = slices.Delete(s.Strips, i, i+1)
	}
	s.Strips = append(s.Strips, g)
	if more := len(s.Strips) - stripStandsKept; more > 0 {
		s.Strips = slices.Delete(s.Strips, 0, more)
	}
	return g
}

// applyStrip takes in a strip that was read. One beyond a control limit may be
// the strip's own fault; a second one right after it stops the process.
func (f *fold) applyStrip(k *entry) {
	var b lab.Strip
	if json.Unmarshal(k.Body, &b) != nil || b.Process == "" {
		return
	}
	g, t := f.s.stripsOf(b.Process, b.Mix), f.s.Clock.T
	a := g.about()
	switch b.Standing {
	case lab.StripIn, lab.StripAction:
		g.Outs, g.OutT = 0, time.Time{}
		if b.Standing == lab.StripIn {
			g.LastInT, g.Runs = t, nil
		}
		f.clear(a, t)
	case lab.StripOut:
		if g.Outs++; g.Outs == 1 {
			g.OutT = t
		}
		if g.Outs < 2 {
			return
		}
		if w := f.stripSays(g, b); f.open(a) != nil {
			f.change(a, w, false)
		} else {
			f.raise(a, t, w)
		}
	}
}

func (g *stripStand) about() about {
	subject := g.Process
	if g.Mix != "" {
		subject += " " + g.Mix
	}
	return about{rule: RuleStripOut, subject: subject, apart: true}
}

func (f *fold) stripSays(g *stripStand, b lab.Strip) say {
	facts := map[string]any{"process": g.Process, "strips": g.Outs, "runs": slices.Clone(g.Runs),
		"out_since": lab.At(f.s.Clock.report(g.OutT)).String()}
	if g.Mix != "" {
		facts["mix"] = g.Mix
	}
	if !g.LastInT.IsZero() {
		facts["last_in_at"] = lab.At(f.s.Clock.report(g.LastInT)).String()
	}
	return say{priority: lab.High, facts: facts,
		message: fmt.Sprintf("Control strip out twice: %s", b.Beyond())}
}

// ranSinceStrip notes a run with film that ended, with the strips of its
// process: those who look into a strip that is out must find it.
func (f *fold) ranSinceStrip() {
	r := f.s.Run
	if !r.film() {
		return
	}
	for _, g := range f.s.Strips {
		if g.Process != r.Process || slices.Contains(g.Runs, r.ID) {
			continue
		}
		g.Runs = append(g.Runs, r.ID)
		if more := len(g.Runs) - stripRunsKept; more > 0 {
			g.Runs = slices.Delete(g.Runs, 0, more)
		}
		if o := f.open(g.about()); o != nil {
			facts := maps.Clone(o.Facts)
			facts["runs"] = slices.Clone(g.Runs)
			o.Facts = facts
			f.out.putOccurrence(*o)
		}
	}
}
