package strips

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

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
func (t *TextReader) figures(line string) ([]figure, error) {
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
		if garbled(line[at[1]:], len(t.format.Colors) > 0) {
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

// garbled tells whether what stands right behind a figure shows that it was
// received with a fault. Letters may follow where they mark the next one.
func garbled(rest string, marked bool) bool {
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

func letters(colors map[string]string) string {
	var out []string
	for l := range colors {
		out = append(out, l)
	}
	slices.Sort(out)
	return strings.Join(out, ", ")
}
