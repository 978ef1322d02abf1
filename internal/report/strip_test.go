package report

import (
	"testing"

	"wetside/internal/lab"
)

// The report says by whose aims and limits a control strip was judged.
func TestStripWords(t *testing.T) {
	dev, width := 0.09, 0.08
	plot := func(limits, aim, standing string) lab.StripPlot {
		return lab.StripPlot{Plot: "ld.r", Label: "LD red", Deviation: &dev, Action: &width, Control: &width, Side: "both", Limits: limits, AimFrom: aim, Standing: standing}
	}
	for _, tt := range []struct {
		name  string
		strip lab.Strip
		want  string
	}{
		{"published", lab.Strip{Standing: lab.StripIn, Plots: []lab.StripPlot{plot(lab.LimitsPublished, lab.AimReference, lab.StripIn), plot(lab.LimitsPublished, lab.AimReference, lab.StripIn)}},
			"read the control strip: in; judged by aims of the reference strip, published limits"},
		{"the lab's own", lab.Strip{Standing: lab.StripOut, Plots: []lab.StripPlot{plot(lab.LimitsOwn, lab.AimOwn, lab.StripOut)}},
			"read the control strip: beyond a control limit, LD red +0.09 (limit ±0.08); judged by the lab's own aims, the lab's own limits"},
		{"entered by an earlier version", lab.Strip{Standing: lab.StripIn}, "read the control strip: in"},
		{"nothing to judge it by", lab.Strip{Standing: lab.StripUnjudged}, "read the control strip: not judged, it had no aims or no limits yet"},
	} {
		if got := stripWords(tt.strip); got != tt.want {
			t.Errorf("%s: %q, want %q", tt.name, got, tt.want)
		}
	}
}
