package web

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/strips"
)

// A signal is shown at the strip that it is of, also where the time asked for
// leaves out strips before it.
func TestSignalsStandAtTheirStrip(t *testing.T) {
	day := time.Date(2026, 3, 2, 7, 0, 0, 0, time.UTC)
	var reads []strips.Reading
	for i, off := range []float64{0, 0.01, 0, 0.10, -0.01} {
		aim, action, control := 0.80, 0.06, 0.08
		reads = append(reads, strips.Reading{ID: fmt.Sprint("strip-", i), Unit: "tern-street/plover", At: lab.At(day.AddDate(0, 0, i)),
			Strip: lab.Strip{Process: "c41", Plots: []lab.StripPlot{{Plot: "ld.r", Label: "LD red", Value: aim + off,
				Aim: &aim, Deviation: &off, Action: &action, Control: &control, Side: "both", Limits: lab.LimitsPublished}}}})
	}
	for _, from := range []int{0, 2} {
		var c StripChart
		c.draw(reads, day.AddDate(0, 0, from), day.AddDate(0, 0, 9))
		if len(c.Strips) != 5-from || len(c.Plots) != 1 || len(c.Plots[0].Points) != 5-from {
			t.Fatalf("from day %d: %d strips, plots %+v", from, len(c.Strips), c.Plots)
		}
		for _, p := range c.Plots[0].Points {
			beyond := slices.ContainsFunc(p.Signals, func(s StripSignal) bool { return s.Signal == string(strips.ControlLimit) && s.Do != "" })
			if beyond != (p.ID == "strip-3") {
				t.Errorf("from day %d: %s has the signals %+v", from, p.ID, p.Signals)
			}
		}
	}
}
