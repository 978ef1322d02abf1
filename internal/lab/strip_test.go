package lab_test

import (
	"fmt"
	"testing"

	"wetside/internal/lab"
)

// Named are the plots beyond a control limit; where none is, those beyond an
// action limit; each with the limit that it is beyond.
func TestBeyondNamesTheWorst(t *testing.T) {
	t.Parallel()
	plot := func(label, standing, side string, off float64) lab.StripPlot {
		action, control := 0.06, 0.08
		return lab.StripPlot{Plot: label, Label: label, Status: standing, Side: side, Deviation: &off, Action: &action, Control: &control}
	}
	in, action := plot("LD red", lab.StripIn, "both", 0.01), plot("LD green", lab.StripAction, "high", 0.07)
	out, also := plot("HD-LD blue", lab.StripOut, "both", -0.12), plot("D-min red", lab.StripOut, "high", 0.09)
	for _, c := range []struct {
		plots []lab.StripPlot
		want  string
	}{
		{[]lab.StripPlot{in}, ""},
		{[]lab.StripPlot{in, action}, "LD green +0.07 (limit +0.06)"},
		{[]lab.StripPlot{in, action, out, also}, "HD-LD blue -0.12 (limit ±0.08), D-min red +0.09 (limit +0.08)"},
		{[]lab.StripPlot{{Label: "not judged", Status: lab.StripUnjudged}, {Label: "no deviation", Status: lab.StripOut}}, ""},
	} {
		if got := (lab.Strip{Plots: c.plots}).Beyond(); got != c.want {
			t.Errorf("%q; want %q", got, c.want)
		}
	}
}

// As many as the cap are taken, one more is not.
func TestStripSettingsAtTheCap(t *testing.T) {
	t.Parallel()
	for more, ok := range []bool{true, false} {
		s := lab.StripSettings{}
		for i := range 64 + more {
			s.Asked = append(s.Asked, fmt.Sprint("p", i))
		}
		if err := s.Check(); (err == nil) != ok {
			t.Errorf("%d asked: %v", len(s.Asked), err)
		}
	}
}
