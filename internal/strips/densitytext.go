package strips

import (
	_ "embed"
	"fmt"
	"slices"
	"strings"
	"sync"

	"github.com/goccy/go-yaml"

	"wetside/internal/lab"
)

//go:embed formats.yaml
var formatsYAML []byte

// Format is a plain form in which densities come as text.
type Format struct {
	Name    string            `yaml:"name"`
	Per     string            `yaml:"per"` // what a line holds: density, step or strip
	Named   bool              `yaml:"named"`
	Colors  map[string]string `yaml:"colors"`
	Example string            `yaml:"example"`
	About   string            `yaml:"about"`
}

// Formats lists all of them, the usual one first.
var Formats = sync.OnceValue(func() []Format {
	var all []Format
	if err := yaml.UnmarshalWithOptions(formatsYAML, &all, yaml.Strict()); err != nil {
		panic(fmt.Sprintf("strips: the built-in formats do not load: %v", err))
	}
	return all
})

// FormatNamed finds a format; false where there is none of that name.
func FormatNamed(name string) (Format, bool) {
	i := slices.IndexFunc(Formats(), func(f Format) bool { return f.Name == name })
	if i < 0 {
		return Format{}, false
	}
	return Formats()[i], true
}

// TextReader reads strips out of lines of text. It belongs to one goroutine.
type TextReader struct {
	format    Format
	steps     []stepFields
	line      int
	densities map[string]lab.RGB
	place     int  // the next step, or density, of those that come in order
	unsure    bool // something did not read: what follows may be of any step
}

// stepFields is a step of a strip with the colors that are read of it.
type stepFields struct {
	step   string
	colors string
}

// NewTextReader reads strips of a family in a format.
func NewTextReader(format Format, family Family) *TextReader {
	t := &TextReader{format: format, densities: map[string]lab.RGB{}}
	for _, f := range family.Fields() {
		if n := len(t.steps); n > 0 && t.steps[n-1].step == f.Step {
			t.steps[n-1].colors += f.Color
		} else {
			t.steps = append(t.steps, stepFields{f.Step, f.Color})
		}
	}
	return t
}

// Line takes one line in. It gives a strip where the line completes one, else
// nil. After an error the rest up to the next empty line is skipped, since
// it is not certain of which step it would be.
func (t *TextReader) Line(line string) (map[string]lab.RGB, error) {
	t.line++
	if strings.Contains(line, "\f") || strings.TrimSpace(line) == "" {
		return t.End()
	}
	if t.unsure {
		return nil, nil
	}
	if err := t.takeLine(line); err != nil {
		t.unsure, t.densities, t.place = true, map[string]lab.RGB{}, 0
		return nil, fmt.Errorf("line %d: %w; what follows up to the next empty line is not read", t.line, err)
	}
	if t.complete() {
		return t.End()
	}
	return nil, nil
}

// End gives the strip that was begun, nil where none was.
func (t *TextReader) End() (map[string]lab.RGB, error) {
	got, at := t.densities, t.place
	t.densities, t.place, t.unsure = map[string]lab.RGB{}, 0, false
	if len(got) == 0 {
		return nil, nil
	}
	if !t.format.Named && at < t.linesInOrder() {
		return nil, fmt.Errorf("line %d: the strip ends after %d of %d %s; it is not taken", t.line, at, t.linesInOrder(), map[bool]string{true: "densities", false: "steps"}[t.format.Per == "density"])
	}
	return got, nil
}

// Next names what is read next, for whoever reads; "" where any step may be.
func (t *TextReader) Next() string {
	switch {
	case t.unsure || t.format.Named || t.format.Per == "strip":
		return ""
	case t.format.Per == "density":
		step, color := t.density(t.place)
		return stepLabel(step) + " " + colorNames[color]
	}
	return stepLabel(t.steps[t.place].step)
}

// linesInOrder is how many lines a strip has that come in order.
func (t *TextReader) linesInOrder() int {
	switch t.format.Per {
	case "strip":
		return 1
	case "density":
		n := 0
		for _, s := range t.steps {
			n += len(s.colors)
		}
		return n
	}
	return len(t.steps)
}

func (t *TextReader) complete() bool {
	if t.format.Named {
		return len(t.densities) == len(t.steps)
	}
	return t.place == t.linesInOrder()
}

// density is the step and color of the density in place i.
func (t *TextReader) density(i int) (step, color string) {
	for _, s := range t.steps {
		if i < len(s.colors) {
			return s.step, s.colors[i : i+1]
		}
		i -= len(s.colors)
	}
	return "", ""
}

func (t *TextReader) takeLine(line string) error {
	name := ""
	if t.format.Named {
		name, line = cutName(line)
	}
	figures, err := t.figures(line)
	if err != nil || len(figures) == 0 {
		return err
	}
	switch {
	case t.format.Named:
		i := slices.IndexFunc(t.steps, func(s stepFields) bool { return s.step == StepName(name) })
		if i < 0 {
			return fmt.Errorf("a step of this strip must be one of %[2]s; got %[1]q", name, t.stepLabels())
		}
		if _, twice := t.densities[t.steps[i].step]; twice {
			return fmt.Errorf("%s is there twice", stepLabel(t.steps[i].step))
		}
		return t.put(t.steps[i], figures)
	case t.format.Per == "step":
		if err := t.put(t.steps[t.place], figures); err != nil {
			return err
		}
	case t.format.Per == "density":
		step, color := t.density(t.place)
		if err := t.put(stepFields{step, color}, figures); err != nil {
			return err
		}
	default:
		for _, s := range t.steps {
			n := min(len(s.colors), len(figures))
			if err := t.put(s, figures[:n]); err != nil {
				return err
			}
			figures = figures[n:]
		}
		if len(figures) > 0 {
			return fmt.Errorf("%d figures too many for a strip", len(figures))
		}
	}
	t.place++
	return nil
}

// put takes the figures of a step. A step that is read in one color may come
// with all three.
func (t *TextReader) put(s stepFields, figures []figure) error {
	d := t.densities[s.step]
	colors := s.colors
	if len(colors) == 1 && len(figures) == 3 && t.format.Per == "step" {
		colors = "rgb"
	}
	if len(figures) != len(colors) {
		return fmt.Errorf("%[1]s must have %[3]d figures (%[4]s); got %[2]d", stepLabel(s.step), len(figures), len(colors), colorWords(colors))
	}
	for i, f := range figures {
		color := colors[i : i+1]
		if f.color != "" {
			color = f.color
		}
		if !(f.v >= lab.MinDensity && f.v <= lab.MaxDensity) {
			return fmt.Errorf("%s %s is %g; a density is %d to %d", stepLabel(s.step), colorNames[color], f.v, lab.MinDensity, lab.MaxDensity)
		}
		if !strings.Contains(s.colors, color) {
			continue // read, and of no use here
		}
		if *d.At(color) != nil {
			return fmt.Errorf("%s %s is there twice", stepLabel(s.step), colorNames[color])
		}
		*d.At(color) = &f.v
	}
	t.densities[s.step] = d
	return nil
}

func (t *TextReader) stepLabels() string {
	var out []string
	for _, s := range t.steps {
		out = append(out, stepLabel(s.step))
	}
	return strings.Join(out, ", ")
}

func colorWords(colors string) string {
	var out []string
	for _, c := range colors {
		out = append(out, colorNames[string(c)])
	}
	return strings.Join(out, ", ")
}
