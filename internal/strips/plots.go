package strips

import (
	_ "embed"
	"fmt"
	"maps"
	"slices"
	"strings"
	"sync"

	"github.com/goccy/go-yaml"

	"wetside/internal/lab"
)

//go:embed plots.yaml
var plotsYAML []byte

// Family is what is plotted of the strips of a family of processes, and where
// its limits are from.
type Family struct {
	Source     string     `yaml:"source"`
	Provenance string     `yaml:"standing"` // published, quoted elsewhere or unconfirmed
	Plots      []PlotSpec `yaml:"plots"`
}

// PlotSpec is one figure that is plotted of a strip.
type PlotSpec struct {
	Plot    string   `yaml:"plot"`
	Label   string   `yaml:"label"`
	Value   string   `yaml:"value"`  // a step, or "a - b"
	Colors  string   `yaml:"colors"` // a plot for each letter
	Spread  string   `yaml:"spread"` // in place of Value: the largest less the smallest deviation of that plot's colors
	Action  *float64 `yaml:"action"`
	Control *float64 `yaml:"control"`
	Side    Side     `yaml:"side"`
}

var families = sync.OnceValue(func() map[string]Family {
	var all map[string]Family
	if err := yaml.UnmarshalWithOptions(plotsYAML, &all, yaml.Strict()); err != nil {
		panic(fmt.Sprintf("strips: the built-in plots do not load: %v", err))
	}
	return all
})

// FamilyOf gives what is plotted of strips of a process; false where no family
// has it.
func FamilyOf(process string) (Family, bool) {
	best := ""
	for _, name := range slices.Sorted(maps.Keys(families())) {
		if (process == name || strings.HasPrefix(process, name+"-")) && len(name) > len(best) {
			best = name
		}
	}
	f, ok := families()[best]
	return f, ok
}

// Charted is how many plots the run rules and drift charts are made for: all
// but the spreads of colors, which are ranges.
func (f Family) Charted() int {
	n := 0
	for _, p := range f.Plots {
		n += len(p.Colors)
	}
	return n
}

// Steps lists the steps of a strip that the plots of a family want, in the
// order in which a densitometer's user reads them.
func (f Family) Steps() []string {
	var out []string
	for _, step := range readingOrder {
		if slices.ContainsFunc(f.Plots, func(p PlotSpec) bool { a, b := p.steps(); return a == step || b == step }) {
			out = append(out, step)
		}
	}
	return out
}

// Field is one density of a strip that is read.
type Field struct {
	Step  string `json:"step" doc:"The step of the strip."`
	Color string `json:"color" enum:"r,g,b" doc:"r: red, g: green, b: blue."`
	Label string `json:"label" doc:"What people call it."`
}

// Fields lists the densities that the plots want, in the order in which they
// are read: step by step, red, green, blue.
func (f Family) Fields() []Field {
	out, one := []Field{}, f.oneColor()
	for _, step := range f.Steps() {
		for _, color := range []string{"r", "g", "b"} {
			if !slices.ContainsFunc(f.Plots, func(p PlotSpec) bool {
				a, b := p.steps()
				return (a == step || b == step) && strings.Contains(p.Colors, color)
			}) {
				continue
			}
			label := stepLabel(step)
			if !one {
				label += " " + colorNames[color]
			}
			out = append(out, Field{step, color, label})
		}
	}
	return out
}

// oneColor tells whether all is read in one color, as on black-and-white film.
func (f Family) oneColor() bool {
	return !slices.ContainsFunc(f.Plots, func(p PlotSpec) bool { return p.Colors != "" && p.Colors != "g" })
}

var stepLabels = map[string]string{"dmin": "D-min", "speed": "Speed point", "ld": "LD", "hd": "HD", "yellow": "Yellow", "dmax": "D-max"}

// stepLabel is what people call a step.
func stepLabel(step string) string {
	if l, ok := stepLabels[step]; ok {
		return l
	}
	return step
}

var readingOrder = []string{"dmin", "speed", "ld", "hd", "yellow", "dmax"}

// stepNames are the names under which a step may be given, without spaces,
// dashes and capitals.
var stepNames = map[string]string{"y": "yellow", "yb": "yellow", "fog": "dmin", "bf": "dmin", "basefog": "dmin", "b+f": "dmin", "speedpoint": "speed", "dl": "ld", "dh": "hd"}

// StepName gives a step's name as the plots have it: "D-min" is dmin.
func StepName(s string) string {
	s = strings.ToLower(strings.NewReplacer("-", "", " ", "", "_", "").Replace(s))
	if name, ok := stepNames[s]; ok {
		return name
	}
	return s
}

func (p PlotSpec) steps() (a, b string) {
	a, b, _ = strings.Cut(p.Value, " - ")
	return a, b
}

// value is a plot worked out of densities; nil where a step was not read.
func (p PlotSpec) value(d map[string]lab.RGB, color string) *float64 {
	a, b := p.steps()
	v := d[a].Of(color)
	if v == nil || b == "" {
		return v
	}
	w := d[b].Of(color)
	if w == nil {
		return nil
	}
	diff := *v - *w
	return &diff
}

var colorNames = map[string]string{"r": "red", "g": "green", "b": "blue"}

// name gives name and label of a plot in one color. Where a family has one color
// only, they do not say it.
func (p PlotSpec) name(color string) (name, label string) {
	if len(p.Colors) < 2 {
		return p.Plot, p.Label
	}
	return p.Plot + "." + color, p.Label + " " + colorNames[color]
}
