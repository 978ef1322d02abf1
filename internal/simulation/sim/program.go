package sim

import (
	"math"

	"wetside/internal/process"
)

// programStep is one step of a run as the unit is set for it.
type programStep struct {
	id         string
	wash       bool
	setS       float64
	setC       float64
	aimC       float64 // by the sheet, or by the time that the run is set to
	called     string  // the name that the unit gives it
	fills      int
	fillL      float64
	from       string
	to         string
	factor     float64 // for 10 °C, by the sheet; 0 for a step that is no developer
	trueFactor float64 // for 10 °C, of what is in the bottle
}

const (
	washFills     = 3
	recoveryName  = "fixer-recovery"
	bwNormalS     = 390
	defaultFillML = 500
)

// programOf sets the unit for a run of the sheet, with the true factors of its
// developers by bottle.
func programOf(s *process.Sheet, p RunPlan, factors map[string]float64) []programStep {
	out := make([]programStep, 0, len(s.Steps))
	for i := range s.Steps {
		st := &s.Steps[i]
		g := programStep{id: st.ID, called: st.ID, wash: st.Wash, setC: st.AimC, aimC: st.AimC, fills: 1, fillL: p.FillML / 1000,
			from: s.ID + "/" + st.ID, to: "waste", factor: st.Factor.Best}
		if g.trueFactor = g.factor; factors[g.from] > 0 {
			g.trueFactor = factors[g.from]
		}
		if p.AtC > 0 {
			g.setC, g.aimC = p.AtC, p.AtC
		}
		if st.Wash {
			g.fills, g.from = washFills, "wash"
		}
		if s := p.Steps[st.ID]; s.Fills > 0 {
			g.fills = s.Fills
		}
		if st.Fixes {
			g.to = recoveryName
		}
		normal := p.SetS
		if st.FromUnit && st.Push != nil {
			normal *= factorFor(st.Push, p.Push)
		}
		set, ok := st.TimeFor(p.Push, normal)
		if !ok {
			set = normal
		}
		if s := p.Steps[st.ID]; s.S > 0 {
			set = s.S
		}
		g.setS = math.Round(set)
		out = append(out, g)
	}
	return out
}

// factorFor reads the factor for a push off straight lines between the
// table's entries.
func factorFor(t *process.Push, push float64) float64 {
	i := 1
	for i < len(t.Stops)-1 && push > t.Stops[i] {
		i++
	}
	x0, x1, y0, y1 := t.Stops[i-1], t.Stops[i], t.Values[i-1], t.Values[i]
	return y0 + (y1-y0)*(push-x0)/(x1-x0)
}

// litersMoved is how many litres the stages move out of and into each container.
func litersMoved(prog []programStep) (draw, drain map[string]float64) {
	draw, drain = map[string]float64{}, map[string]float64{}
	for _, g := range prog {
		l := float64(g.fills) * g.fillL
		draw[g.from] += l
		drain[g.to] += l
	}
	return draw, drain
}
