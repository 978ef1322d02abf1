package lab

import (
	"testing"
)

// The report says by whose aims and limits a control strip was judged.
func TestStripWords(t *testing.T) {
	dev, width := 0.09, 0.08
	plot := func(limits, aim, standing string) StripPlot {
		return StripPlot{Plot: "ld.r", Label: "LD red", Deviation: &dev, Action: &width, Control: &width, Side: "both", Limits: limits, AimFrom: aim, Status: standing}
	}
	for _, tt := range []struct {
		name  string
		strip Strip
		want  string
	}{
		{"published", Strip{Status: StripIn, Plots: []StripPlot{plot(LimitsPublished, AimReference, StripIn), plot(LimitsPublished, AimReference, StripIn)}},
			"read the control strip: in; judged by aims of the reference strip, published limits"},
		{"the lab's own", Strip{Status: StripOut, Plots: []StripPlot{plot(LimitsOwn, AimOwn, StripOut)}},
			"read the control strip: beyond a control limit, LD red +0.09 (limit ±0.08); judged by the lab's own aims, the lab's own limits"},
		{"entered by an earlier version", Strip{Status: StripIn}, "read the control strip: in"},
		{"nothing to judge it by", Strip{Status: StripUnjudged}, "read the control strip: not judged, it had no aims or no limits yet"},
	} {
		if got := tt.strip.Words(); got != tt.want {
			t.Errorf("%s: %q, want %q", tt.name, got, tt.want)
		}
	}
}
