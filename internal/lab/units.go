package lab

import (
	"math"
	"regexp"
	"strconv"
	"strings"
)

// GallonL is a US gallon in liters (NIST Handbook 44, appendix C: 231 cubic
// inches).
const GallonL = 3.785411784

// Units are the units of measure that a text is read in: "f" for degrees
// Fahrenheit, "gal" for US gallons; anything else is degrees Celsius, liters.
type Units struct {
	Temperature string `json:"temperature" enum:"c,f" doc:"Degrees Celsius or Fahrenheit."`
	Volume      string `json:"volume" enum:"l,gal" doc:"Liters or US gallons."`
}

// Check says what is wrong with u.
func (u Units) Check() error {
	if u.Temperature != "c" && u.Temperature != "f" {
		return Errorf(KindInvalid, "units.temperature must be c or f; got %q", u.Temperature)
	}
	if u.Volume != "l" && u.Volume != "gal" {
		return Errorf(KindInvalid, "units.volume must be l or gal; got %q", u.Volume)
	}
	return nil
}

// The figures of a text are written in degrees Celsius and liters wherever they
// are stored, and read in what the reader chose: texts carry a sign before a
// difference of temperatures, or a word such as "too" behind it.
var (
	tempText   = regexp.MustCompile(`([+\-−±]?)(\d+(?:\.\d+)?)(?:( to | and |–)(\d+(?:\.\d+)?))?([ \x{a0}])°C( \(-?\d+ °F\)| too | warm| cool| over | more| less| higher| lower| off| above| below| closer| from )?`)
	volumeText = regexp.MustCompile(`(\d+(?:\.\d+)?)(?:( of | to |–)(\d+(?:\.\d+)?))?([ \x{a0}])[lL]([^\p{L}\d-]|$)`)
)

// Read gives a text as it is read in these units.
func (u Units) Read(text string) string {
	if u.Temperature == "f" && strings.Contains(text, "°C") {
		text = replaceMatches(tempText, text, readTemp)
	}
	if volumeText.MatchString(text) {
		text = replaceMatches(volumeText, text, u.readVolume)
	}
	return text
}

func replaceMatches(re *regexp.Regexp, text string, with func([]string) string) string {
	return re.ReplaceAllStringFunc(text, func(s string) string { return with(re.FindStringSubmatch(s)) })
}

func readTemp(m []string) string {
	sign, first, mid, second, space, after := m[1], m[2], m[3], m[4], m[5], m[6]
	if strings.HasSuffix(after, "°F)") {
		return m[0] // it says both
	}
	difference := sign != "" || after != ""
	convert := func(s string) string {
		return figure(s, func(c float64) float64 {
			if difference {
				return c * 9 / 5
			}
			return c*9/5 + 32
		})
	}
	out := sign + convert(first) + mid
	if second != "" {
		out += convert(second)
	}
	return out + space + "°F" + after
}

func (u Units) readVolume(m []string) string {
	first, mid, second, space, after := m[1], m[2], m[3], m[4], m[5]
	unit, convert := "L", func(s string) string { return s }
	if u.Volume == "gal" {
		unit = "gal"
		convert = func(s string) string { return figure(s, func(l float64) float64 { return l / GallonL }) }
	}
	out := convert(first) + mid
	if second != "" {
		out += convert(second)
	}
	return out + space + unit + after
}

// figure converts a figure and writes it with as many decimals as it had; a
// whole one gets a decimal where it is none any more.
func figure(s string, convert func(float64) float64) string {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		return s
	}
	_, decimals, ok := strings.Cut(s, ".")
	v = convert(v)
	if !ok {
		v = math.Round(v*10) / 10
		return strconv.FormatFloat(v, 'f', -1, 64)
	}
	return strconv.FormatFloat(v, 'f', len(decimals), 64)
}

// Degrees is a temperature in these units, without its unit.
func (u Units) Degrees(c float64) float64 {
	if u.Temperature == "f" {
		return c*9/5 + 32
	}
	return c
}

// DegreeUnit is the unit that Degrees gives.
func (u Units) DegreeUnit() string {
	if u.Temperature == "f" {
		return "°F"
	}
	return "°C"
}
