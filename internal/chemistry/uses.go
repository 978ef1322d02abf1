package chemistry

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"wetside/internal/lab"
)

// Positions is what stood at the positions of units, and since when.
type Positions map[string][]placed // by unit and position, oldest first

type placed struct {
	at     time.Time
	bottle lab.Bottle
}

func key(unit, position string) string { return unit + " " + position }

// PositionsOf follows what people said of bottles, entries undone set aside. Of
// two that are of the same moment the later one entered counts.
func PositionsOf(entries []lab.Entry) Positions {
	p := Positions{}
	for _, e := range lab.InForce(entries) {
		if e.What != lab.EntryBottle {
			continue
		}
		b := lab.BodyOf[lab.Bottle](e)
		k := key(e.Unit.String(), b.Position)
		p[k] = append(p[k], placed{e.At, b})
	}
	for _, list := range p {
		slices.SortStableFunc(list, func(a, b placed) int { return a.at.Compare(b.at) })
	}
	return p
}

// At is what stood at a position at a moment, and since when; false where
// nobody has said so by then.
func (p Positions) At(unit, position string, t time.Time) (b lab.Bottle, since time.Time, ok bool) {
	list := p[key(unit, position)]
	i, exact := slices.BinarySearchFunc(list, t, func(x placed, t time.Time) int { return x.at.Compare(t) })
	for exact && i+1 < len(list) && list[i+1].at.Equal(t) {
		i++
	}
	if !exact {
		i--
	}
	if i < 0 {
		return b, since, false
	}
	return list[i].bottle, list[i].at, list[i].bottle.Mix != ""
}

// Span is a stretch in which a mix stood at a position; To zero: it still does.
type Span struct {
	Unit, Position string
	From, To       time.Time
}

// Spans are where and when a mix stood, by unit, position and time.
func (p Positions) Spans(mix string) (out []Span) {
	for _, k := range sortedKeys(p) {
		unit, position, _ := strings.Cut(k, " ")
		list := p[k]
		for i, x := range list {
			if x.bottle.Mix != mix || mix == "" {
				continue
			}
			s := Span{Unit: unit, Position: position, From: x.at}
			if i+1 < len(list) {
				s.To = list[i+1].at
			}
			out = append(out, s)
		}
	}
	return out
}

// OfUnit are the positions of a unit at a moment with what stands there; those
// of which nothing is known then are left out.
func (p Positions) OfUnit(unit string, t time.Time) (out []Standing) {
	for _, k := range sortedKeys(p) {
		u, position, _ := strings.Cut(k, " ")
		if u != unit {
			continue
		}
		if b, since, ok := p.At(unit, position, t); ok {
			out = append(out, Standing{Unit: unit, Position: position, Bottle: b, Since: since})
		}
	}
	return out
}

// Standing is a mix at a position.
type Standing struct {
	Unit, Position string
	Bottle         lab.Bottle
	Since          time.Time
}

func sortedKeys(p Positions) []string {
	keys := make([]string, 0, len(p))
	for k := range p {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, cmp.Compare[string])
	return keys
}

// Mixes says which mix each step of a run used. Positions that nobody ever
// spoke of are left out: a lab that uses no mixes is asked nothing.
//
// A step that was not heard, though the bottle of its position was there while
// the run went on, may have used it: it is there, not sure. So is a bottle that
// was changed while a step was filled again.
func (p Positions) Mixes(r lab.Run) (out []lab.StepMix) {
	heard := map[string]bool{}
	for _, s := range r.Steps {
		position := cmp.Or(s.DrawFrom, r.Process+"/"+s.Step)
		heard[position] = true
		if len(p[key(r.Unit, position)]) == 0 {
			continue
		}
		at := r.StartedAt.Time
		if s.StartedAt != nil {
			at = s.StartedAt.Time
		}
		b, _, ok := p.At(r.Unit, position, at)
		if ok || !p.changes(r.Unit, position, at, ends(r, s)) {
			out = append(out, stepMix(s.N, s.Step, position, b, true))
		}
		if s.StartedAt == nil || s.Fills > 1 {
			out = append(out, p.during(r.Unit, position, at, ends(r, s), s)...)
		}
	}
	return append(out, p.unheard(r, heard)...)
}

func stepMix(n int, step, position string, b lab.Bottle, sure bool) lab.StepMix {
	m := lab.StepMix{N: n, Step: step, Position: position, Mix: b.Mix, Sure: sure, Text: "not known which mix"}
	if b.Mix != "" {
		m.Text = b.MixWords()
	}
	return m
}

// ends is when a step was over at the latest, as far as it is known.
func ends(r lab.Run, s lab.RunStep) time.Time {
	switch {
	case s.StartedAt != nil && s.TimeS != nil:
		return s.StartedAt.Add(lab.Seconds(*s.TimeS))
	case r.EndedAt != nil:
		return r.EndedAt.Time
	}
	return r.StartedAt.Add(longestRun)
}

// longestRun is how long a run that nobody heard the end of may have gone on:
// the contract gives one up after six hours of silence.
const longestRun = 6 * time.Hour

func (p Positions) changes(unit, position string, from, to time.Time) bool {
	return len(p.during(unit, position, from, to, lab.RunStep{})) > 0
}

// during are the mixes that were put at a position within a time.
func (p Positions) during(unit, position string, from, to time.Time, s lab.RunStep) (out []lab.StepMix) {
	for _, x := range p[key(unit, position)] {
		if x.at.After(from) && !x.at.After(to) && x.bottle.Mix != "" {
			out = append(out, stepMix(s.N, s.Step, position, x.bottle, false))
		}
	}
	return out
}

// unheard are the mixes at positions of the run's process of which no step was
// heard: where telemetry has a hole, or the run's end was not heard, they may
// have been used.
func (p Positions) unheard(r lab.Run, heard map[string]bool) (out []lab.StepMix) {
	if len(r.Gaps) == 0 && r.Outcome != lab.OutcomeLost {
		return nil
	}
	for _, k := range sortedKeys(p) {
		unit, position, _ := strings.Cut(k, " ")
		process, step, _ := strings.Cut(position, "/")
		if unit != r.Unit || process != r.Process || heard[position] {
			continue
		}
		if b, _, ok := p.At(unit, position, r.StartedAt.Time); ok {
			out = append(out, stepMix(0, step, position, b, false))
		}
		out = append(out, p.during(unit, position, r.StartedAt.Time, ends(r, lab.RunStep{}), lab.RunStep{Step: step})...)
	}
	return out
}
