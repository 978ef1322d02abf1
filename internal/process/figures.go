package process

import (
	"fmt"
	"math"
	"strings"
)

// figureLabels name the figures of a sheet for people.
var figureLabels = map[string]string{
	"aim_s": "time", "least_s": "least time", "under_s": "tolerance under", "over_s": "tolerance over",
	"aim_c": "temperature", "limits_c": "limits", "push_s": "push times", "push_factor": "push factors",
	"push_spread": "spread of push times", "per_10c": "temperature factor", "edges": "edges of the verdict",
	"time_at_c": "times by temperature", "slower_cold": "times when cold", "fills": "fills", "rpm": "rotation",
	"dry_max_c": "hottest dryer", "light_safe": "light", "minutes": "times by temperature", "rounded_min": "rounding of its times",
	allFigures: "all figures",
}

// FigureLabel names a figure, or several with spaces between, for people:
// "aim_s limits_c" is "time, limits"; what names a part of one stays behind it.
func FigureLabel(figure string) string {
	out := ""
	for i, w := range strings.Fields(figure) {
		label, known := figureLabels[w]
		switch {
		case i > 0 && known:
			out += ", " + label
		case i > 0:
			out += " " + w
		case known:
			out = label
		default:
			out = w
		}
	}
	return out
}

// minutes writes seconds as people write the time of a step: 3:15.
func minutes(s float64) string {
	n := int(math.Round(s))
	return fmt.Sprintf("%d:%02d", n/60, n%60)
}

// Value writes a figure of the step for people, in degrees Celsius.
func (s *Step) Value(figure string) string {
	switch figure {
	case "aim_s":
		return minutes(s.AimS)
	case "least_s":
		return minutes(s.LeastS)
	case "under_s":
		return fmt.Sprintf("%g s", s.UnderS)
	case "over_s":
		return fmt.Sprintf("%g s", s.OverS)
	case "aim_c":
		if s.RangeC {
			return fmt.Sprintf("usually %g °C", s.AimC)
		}
		return fmt.Sprintf("%g °C", s.AimC)
	case "limits_c":
		return fmt.Sprintf("%g to %g °C", s.LowC, s.HighC)
	case "push_s", "push_factor":
		return s.Push.words()
	case "push_spread":
		return fmt.Sprintf("%g to %g stops for a stop", s.Push.Spread.Low, s.Push.Spread.High)
	case "per_10c":
		return fmt.Sprintf("%g times as fast for each +10 °C (%g to %g)", s.Factor.Best, s.Factor.Low, s.Factor.High)
	case "edges":
		return s.Edges.words()
	case "time_at_c":
		return byTemperature(s.AtC, minutes)
	case "slower_cold":
		return byTemperature(s.Slower.Points, func(v float64) string { return fmt.Sprintf("%g times", v) })
	case "fills":
		return fmt.Sprint(s.Fills)
	case "rpm":
		return fmt.Sprintf("%g rpm", s.RPM)
	}
	return ""
}

// Value writes a figure of the sheet as a whole for people.
func (s *Sheet) Value(figure string) string {
	switch figure {
	case "dry_max_c":
		return fmt.Sprintf("%g °C", s.DryMaxC)
	case "light_safe":
		if s.Light.AtEnd {
			return "after the " + s.label(s.Light.Step)
		}
		return fmt.Sprintf("%s into the %s", minutes(s.Light.InS), s.label(s.Light.Step))
	}
	return ""
}

func (s *Sheet) label(step string) string {
	if st, ok := s.Step(step); ok {
		return st.Label
	}
	return step
}

func (p *Push) words() string {
	var out []string
	for i, stops := range p.Stops {
		v := minutes(p.Values[i])
		if p.Factors {
			v = fmt.Sprintf("%g times", p.Values[i])
		}
		if stops != 0 {
			out = append(out, fmt.Sprintf("%+g: %s", stops, v))
		}
	}
	return strings.Join(out, ", ")
}

func (e Edges) words() string {
	if e.Ratio {
		return fmt.Sprintf("inspect -%g %% / +%g %%, out of control -%g %% / +%g %%", 100*e.InspectUnder, 100*e.InspectOver, 100*e.OutUnder, 100*e.OutOver)
	}
	return fmt.Sprintf("inspect %g, out of control %g stop", e.InspectStops, e.OutStops)
}

func byTemperature(points []TimeAt, word func(float64) string) string {
	var out []string
	for _, p := range points {
		if p.S == 1 { // as long as ever
			continue
		}
		out = append(out, fmt.Sprintf("%g °C: %s", p.C, word(p.S)))
	}
	return strings.Join(out, ", ")
}

// Figures lists the figures that a step has, as a sheet's file names them.
func (s *Step) Figures() []string {
	var out []string
	for _, f := range []struct {
		name string
		has  bool
	}{
		{"aim_s", s.AimS > 0}, {"least_s", s.LeastS > 0}, {"under_s", s.UnderS > 0}, {"over_s", s.OverS > 0},
		{"aim_c", true}, {"limits_c", true},
		{"push_s", s.Push != nil && !s.Push.Factors}, {"push_factor", s.Push != nil && s.Push.Factors},
		{"push_spread", s.Push != nil && s.Push.Spread != Factor{}},
		{"per_10c", s.Factor.Best > 0}, {"edges", s.Kind == Dev}, {"time_at_c", len(s.AtC) > 0},
		{"slower_cold", s.Slower != nil}, {"fills", s.Fills > 1}, {"rpm", s.RPM > 0},
	} {
		if f.has {
			out = append(out, f.name)
		}
	}
	return out
}

// Figures lists the figures of a sheet as a whole.
func (s *Sheet) Figures() []string {
	var out []string
	if s.DryMaxC > 0 {
		out = append(out, "dry_max_c")
	}
	if s.Light.Step != "" {
		out = append(out, "light_safe")
	}
	return out
}

// figures lists what a file says of a step.
func (d stepDoc) figures() []string {
	var out []string
	for _, f := range []struct {
		name  string
		given bool
	}{
		{"aim_s", d.AimS != nil}, {"least_s", d.LeastS != nil}, {"under_s", d.UnderS != nil}, {"over_s", d.OverS != nil},
		{"aim_c", d.AimC != nil}, {"limits_c", d.LimitsC != nil}, {"push_s", d.PushS != nil}, {"push_factor", d.PushX != nil},
		{"push_spread", d.Spread != nil}, {"per_10c", d.Factor != nil}, {"edges", d.Edges != nil}, {"time_at_c", d.AtC != nil},
		{"slower_cold", d.Slower != nil}, {"fills", d.Fills != nil}, {"rpm", d.RPM != nil},
	} {
		if f.given {
			out = append(out, f.name)
		}
	}
	return out
}

// figures lists what a file says of a sheet as a whole.
func (d *sheetDoc) figures() []string {
	var out []string
	if d.DryMaxC != nil {
		out = append(out, "dry_max_c")
	}
	if d.Light != nil {
		out = append(out, "light_safe")
	}
	return out
}
