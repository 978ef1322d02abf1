package strips

import (
	"strings"
	"testing"

	"wetside/internal/lab"
)

// A plot that lacks its aim or its limits is not judged, and a note says so:
// C-41 has published limits but no aim without its reference strip; an aim
// that the lab took over for B&W from strips that were all alike has no limits.
func TestWithoutAimOrLimitsNothingIsJudged(t *testing.T) {
	for name, c := range map[string]struct {
		strip    lab.Strip
		settings lab.StripSettings
		plot     string
	}{
		"limits without an aim": {lab.Strip{Process: "c41", Code: "7", Densities: map[string]lab.RGB{"ld": rgb(.44, .76, .98)}}, lab.StripSettings{}, "ld.r"},
		"an aim without limits": {lab.Strip{Process: "bw", Densities: map[string]lab.RGB{"ld": {G: ptr(0.60)}}},
			lab.StripSettings{Aims: []lab.StripAim{{Process: "bw", Unit: "a/b", Plot: "ld", Aim: .60}}}, "ld"},
	} {
		s, notes := Evaluate(c.strip, "a/b", nil, c.settings)
		if p := plotOf(t, s, c.plot); p.Status != lab.StripUnjudged || s.Status != lab.StripUnjudged ||
			!strings.Contains(strings.Join(notes, "\n"), "are not judged") {
			t.Errorf("%s: %+v stands %s, notes %q; want it unjudged and told", name, p, s.Status, notes)
		}
	}
}

// Densities at the bounds of what is read are taken, a hair beyond they are not.
func TestDensitiesAtTheirBounds(t *testing.T) {
	format, ok := FormatNamed("steps")
	family, known := FamilyOf("c41")
	if !ok || !known {
		t.Fatal("no format steps, or no plots of C-41")
	}
	for line, want := range map[string]bool{"-1 0.63 6\n": true, "-1.01 0.63 6\n": false, "-1 0.63 6.01\n": false} {
		if _, err := NewTextReader(format, family).Line(line); (err == nil) != want {
			t.Errorf("%q: %v; taken %v, want %v", line, err, err == nil, want)
		}
	}
}
