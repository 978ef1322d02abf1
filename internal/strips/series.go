package strips

import (
	"slices"

	"wetside/internal/lab"
)

// Series is one plot over the strips that have it, oldest first.
type Series struct {
	Plot    string
	Label   string
	Reads   []Reading
	Figures []lab.StripPlot // one a read
	Marks   []Mark
}

// SeriesOf sorts strips, oldest first, into a series for each plot. The signals
// are worked out over deviations from the aims that each strip was judged by; the spread is that of the first baselineSize strips.
func SeriesOf(reads []Reading) []Series {
	var out []Series
	for _, r := range reads {
		for _, p := range r.Plots {
			i := slices.IndexFunc(out, func(s Series) bool { return s.Plot == p.Plot })
			if i < 0 {
				out = append(out, Series{Plot: p.Plot, Label: p.Label})
				i = len(out) - 1
			}
			out[i].Reads, out[i].Figures = append(out[i].Reads, r), append(out[i].Figures, p)
		}
	}
	for i := range out {
		out[i].Marks = Chart(out[i].points(), Defaults)
		if isSpread(out[i].Plot) { // a range lies on one side of its aim always
			out[i].Marks = slices.DeleteFunc(out[i].Marks, func(m Mark) bool { return m.Signal != ControlLimit && m.Signal != ActionLimit })
		}
	}
	return out
}

// points are those of a series for the chart. A strip that had no aim yet is
// compared with the mean of the first ones.
func (s Series) points() []Point {
	var values, deviations []float64
	for _, p := range s.Figures {
		values = append(values, p.Value)
		if p.Deviation != nil {
			deviations = append(deviations, *p.Deviation)
		}
	}
	aim, sigma, _ := baselineOf(values)
	if len(deviations) > 0 && len(deviations) >= min(baselineSize, len(values)) {
		_, sigma, _ = baselineOf(deviations)
	}
	if len(values) < provisionalFrom || isSpread(s.Plot) {
		sigma = 0 // too few to tell a spread; or a range, which the run rules are not made for
	}
	points := make([]Point, len(s.Figures))
	for i, p := range s.Figures {
		points[i] = Point{Value: p.Value, Aim: aim, Sigma: sigma, Side: Side(p.Side)}
		if p.Aim != nil {
			points[i].Aim = *p.Aim
		}
		if p.Action != nil {
			points[i].Action = *p.Action
		}
		if p.Control != nil {
			points[i].Control = *p.Control
		}
	}
	return points
}

// isSpread tells whether a plot is the range of a figure's colors.
func isSpread(plot string) bool {
	for _, f := range families() {
		if slices.ContainsFunc(f.Plots, func(p PlotSpec) bool { return p.Spread != "" && p.Plot == plot }) {
			return true
		}
	}
	return false
}

// AimsToOffer gives the lab's own aims and spreads that its strips have set, where
// there are enough that were not out, for a lead to accept or not.
func AimsToOffer(reads []Reading, unit string) []lab.StripAim {
	good := slices.DeleteFunc(slices.Clone(reads), func(r Reading) bool { return r.Status == lab.StripOut })
	out := []lab.StripAim{}
	for _, s := range SeriesOf(good) {
		if len(s.Figures) < baselineSize || isSpread(s.Plot) {
			continue
		}
		var values []float64
		for _, p := range s.Figures[len(s.Figures)-baselineSize:] {
			values = append(values, p.Value)
		}
		if aim, sigma, ok := baselineOf(values); ok {
			last := s.Reads[len(s.Reads)-1]
			out = append(out, lab.StripAim{Process: last.Process, Unit: unit, Plot: s.Plot, Aim: round(aim), Sigma: round(sigma), Strips: len(values)})
		}
	}
	return out
}
