package strips

import (
	_ "embed"
	"fmt"
	"regexp"
	"slices"
	"strconv"
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

// Text reads strips out of lines of text. It belongs to one goroutine.
type Text struct {
	format Format
	steps  []stepFields
	line   int
	got    map[string]lab.RGB
	at     int  // the next step, or density, of those that come in order
	lost   bool // something did not read: what follows may be of any step
}

// stepFields is a step of a strip with the colors that are read of it.
type stepFields struct {
	step   string
	colors string
}

// NewText reads strips of a family in a format.
func NewText(format Format, family Family) *Text {
	t := &Text{format: format, got: map[string]lab.RGB{}}
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
// nil. After an error the rest up to the next empty line is passed over: of
// which step it would be is not certain.
func (t *Text) Line(line string) (map[string]lab.RGB, error) {
	t.line++
	if strings.Contains(line, "\f") || strings.TrimSpace(line) == "" {
		return t.End()
	}
	if t.lost {
		return nil, nil
	}
	if err := t.take(line); err != nil {
		t.lost, t.got, t.at = true, map[string]lab.RGB{}, 0
		return nil, fmt.Errorf("line %d: %w; what follows up to the next empty line is not read", t.line, err)
	}
	if t.whole() {
		return t.End()
	}
	return nil, nil
}

// End gives the strip that was begun, nil where none was.
func (t *Text) End() (map[string]lab.RGB, error) {
	got, at := t.got, t.at
	t.got, t.at, t.lost = map[string]lab.RGB{}, 0, false
	if len(got) == 0 {
		return nil, nil
	}
	if !t.format.Named && at < t.inOrder() {
		return nil, fmt.Errorf("line %d: the strip ends after %d of %d %s; it is not taken", t.line, at, t.inOrder(), map[bool]string{true: "densities", false: "steps"}[t.format.Per == "density"])
	}
	return got, nil
}

// Next names what is read next, for whoever reads; "" where any step may be.
func (t *Text) Next() string {
	switch {
	case t.lost || t.format.Named || t.format.Per == "strip":
		return ""
	case t.format.Per == "density":
		step, color := t.density(t.at)
		return StepLabel(step) + " " + colorNames[color]
	}
	return StepLabel(t.steps[t.at].step)
}

// inOrder is how many lines a strip has that come in order.
func (t *Text) inOrder() int {
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

func (t *Text) whole() bool {
	if t.format.Named {
		return len(t.got) == len(t.steps)
	}
	return t.at == t.inOrder()
}

// density is the step and color of the density in place i.
func (t *Text) density(i int) (step, color string) {
	for _, s := range t.steps {
		if i < len(s.colors) {
			return s.step, s.colors[i : i+1]
		}
		i -= len(s.colors)
	}
	return "", ""
}

func (t *Text) take(line string) error {
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
		if _, twice := t.got[t.steps[i].step]; twice {
			return fmt.Errorf("%s is there twice", StepLabel(t.steps[i].step))
		}
		return t.put(t.steps[i], figures)
	case t.format.Per == "step":
		if err := t.put(t.steps[t.at], figures); err != nil {
			return err
		}
	case t.format.Per == "density":
		step, color := t.density(t.at)
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
	t.at++
	return nil
}

// put takes the figures of a step. A step that is read in one color may come
// with all three.
func (t *Text) put(s stepFields, figures []figure) error {
	d := t.got[s.step]
	colors := s.colors
	if len(colors) == 1 && len(figures) == 3 && t.format.Per == "step" {
		colors = "rgb"
	}
	if len(figures) != len(colors) {
		return fmt.Errorf("%[1]s must have %[3]d figures (%[4]s); got %[2]d", StepLabel(s.step), len(figures), len(colors), colorWords(colors))
	}
	for i, f := range figures {
		color := colors[i : i+1]
		if f.color != "" {
			color = f.color
		}
		if !(f.v >= lab.MinDensity && f.v <= lab.MaxDensity) {
			return fmt.Errorf("%s %s is %g; a density is %d to %d", StepLabel(s.step), colorNames[color], f.v, lab.MinDensity, lab.MaxDensity)
		}
		if !strings.Contains(s.colors, color) {
			continue // read, and of no use here
		}
		if *d.At(color) != nil {
			return fmt.Errorf("%s %s is there twice", StepLabel(s.step), colorNames[color])
		}
		*d.At(color) = &f.v
	}
	t.got[s.step] = d
	return nil
}

type figure struct {
	v     float64
	color string // "" where no letter says it
}

var (
	pointFigure = regexp.MustCompile(`[-+]?(?:\d+\.\d+|\.\d+|\d+)`)
	commaFigure = regexp.MustCompile(`[-+]?(?:\d+,\d+|,\d+|\d+)`)
	letterMark  = regexp.MustCompile(`([A-Za-z]+)\s*[:=]?\s*$`)
)

// figures takes the figures of a line, with the letters before them where the
// format has such.
func (t *Text) figures(line string) ([]figure, error) {
	one := commaFigure
	if strings.Contains(line, ".") {
		one = pointFigure
	}
	var out []figure
	from := 0
	for _, at := range one.FindAllStringIndex(line, -1) {
		v, err := readDensity(line[at[0]:at[1]])
		if err != nil {
			return nil, err
		}
		if broken(line[at[1]:], len(t.format.Colors) > 0) {
			return nil, fmt.Errorf("%q does not read as a density", strings.Fields(line[at[0]:])[0])
		}
		f, known := figure{v: v}, true
		if mark := letterMark.FindStringSubmatch(line[from:at[0]]); mark != nil && len(t.format.Colors) > 0 {
			if f.color, known = t.format.Colors[strings.ToUpper(mark[1])]; !known {
				return nil, fmt.Errorf("the letter before %[2]s must be one of %[3]s; got %[1]q", mark[1], line[at[0]:at[1]], letters(t.format.Colors))
			}
			known = f.color != ""
		} else if len(t.format.Colors) > 0 {
			return nil, fmt.Errorf("there is no letter before %s; put one of %s there", line[at[0]:at[1]], letters(t.format.Colors))
		}
		if from = at[1]; known {
			out = append(out, f)
		}
	}
	return out, nil
}

// broken tells whether what stands right behind a figure shows that it was
// received with a fault. Letters may follow where they mark the next one.
func broken(rest string, marked bool) bool {
	if rest == "" {
		return false
	}
	c := rest[0]
	return c == '.' || !marked && (c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z')
}

// readDensity reads a figure. Ten and more without decimals is in hundredths.
func readDensity(s string) (float64, error) {
	v, err := strconv.ParseFloat(strings.Replace(s, ",", ".", 1), 64)
	if err == nil && !strings.ContainsAny(s, ".,") && (v >= 10 || v <= -10) {
		v /= 100
	}
	return v, err
}

// cutName takes the name of a step off the beginning of a line.
func cutName(line string) (name, rest string) {
	line = strings.TrimSpace(line)
	for _, sep := range []string{":", "=", "\t", ";"} {
		if a, b, ok := strings.Cut(line, sep); ok {
			return strings.TrimSpace(a), b
		}
	}
	i := strings.IndexAny(line, "0123456789")
	if i < 0 {
		return line, ""
	}
	if j := strings.LastIndexAny(line[:i], " "); j >= 0 {
		i = j
	}
	return strings.TrimSpace(line[:i]), line[i:]
}

func (t *Text) stepLabels() string {
	var out []string
	for _, s := range t.steps {
		out = append(out, StepLabel(s.step))
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

func letters(colors map[string]string) string {
	var out []string
	for l := range colors {
		out = append(out, l)
	}
	slices.Sort(out)
	return strings.Join(out, ", ")
}
