package strips

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"wetside/internal/lab"
)

// A plot outside that the telemetry of its run explains is told apart from one
// that it does not. Directions: CIS-254, p. 6 (published; reference 5.5, rows
// 1 and 2): LD high: developer too long or too warm.
func TestExplained(t *testing.T) {
	plot := func(name, label string, dev, action, control float64) lab.StripPlot {
		p := lab.StripPlot{Plot: name, Label: label, Deviation: &dev, Action: &action, Control: &control, Side: "both", Status: lab.StripIn}
		if p.Aim = ptr(0.0); math.Abs(dev) > action {
			p.Status = lab.StripAction
		}
		return p
	}
	ld, hd := plot("ld.r", "LD red", .07, .06, .08), plot("hd-ld.r", "HD-LD red", .08, .07, .09)
	silver := plot("silver", "Retained silver", .13, .10, .12)
	warm := Telemetry{PushStops: ptr(0.28), WarmerC: ptr(0.4)}
	with := func(perStop float64) Telemetry {
		m := warm
		m.Slopes = map[string]Slope{"ld.r": {PerStop: perStop, Strips: 12}}
		return m
	}
	for _, tt := range []struct {
		name                   string
		plots                  []lab.StripPlot
		m                      Telemetry
		explained, unexplained []string
		text                   string
	}{
		{"0.4 °C warm", []lab.StripPlot{ld, hd}, warm, []string{"LD red", "HD-LD red"}, []string{},
			"Explained by telemetry. Its run developed more than the sheet says (push error +0.28 stop, developer 0.4 °C warmer than with strips that were in). Correct that and run another strip. By its direction; by how much is not known yet."},
		{"warm, but silver is left too", []lab.StripPlot{ld, silver}, warm, []string{"LD red"}, []string{"Retained silver"},
			"Its run developed more than the sheet says (push error +0.28 stop, developer 0.4 °C warmer than with strips that were in): that explains LD red. By its direction; by how much is not known yet. It does not explain Retained silver: look at the chemistry."},
		{"as the sheet wants", []lab.StripPlot{ld}, Telemetry{PushStops: ptr(0.01)}, []string{}, []string{"LD red"},
			"Not explained by telemetry: time and temperature of its run were right (push error +0.01 stop). Look at the chemistry."},
		{"cool, and yet high", []lab.StripPlot{ld}, Telemetry{PushStops: ptr(-0.2)}, []string{}, []string{"LD red"},
			"Not explained by telemetry. Its run developed less than the sheet says (push error -0.20 stop), which does not account for LD red: look at the chemistry."},
		{"as much as push errors move it here", []lab.StripPlot{ld}, with(0.25), []string{"LD red"}, []string{},
			"Explained by telemetry. Its run developed more than the sheet says (push error +0.28 stop, developer 0.4 °C warmer than with strips that were in). Correct that and run another strip."},
		{"far more than push errors move it here", []lab.StripPlot{plot("ld.r", "LD red", .15, .06, .08)}, with(0.25), []string{}, []string{"LD red"},
			"Not explained by telemetry. Its run developed more than the sheet says (push error +0.28 stop, developer 0.4 °C warmer than with strips that were in), which does not account for LD red: look at the chemistry."},
		{"its run is not known", []lab.StripPlot{ld}, Telemetry{}, []string{}, []string{}, ""},
		{"nothing is off", []lab.StripPlot{plot("ld.r", "LD red", .01, .06, .08)}, warm, []string{}, []string{}, ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got := Explained(lab.Strip{Process: "c41", Plots: tt.plots}, tt.m)
			if !slices.Equal(got.Explained, tt.explained) || !slices.Equal(got.Unexplained, tt.unexplained) || got.Text != tt.text {
				t.Errorf("got %+v; want %q, %q, %q", got, tt.explained, tt.unexplained, tt.text)
			}
		})
	}
}

// What a stop moves a plot is found again in strips that were made with it;
// from too few, or from runs that were all alike, nothing is worked out.
func TestSlopes(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 6))
	var reads []Reading
	push := map[string]float64{}
	for i := range 40 {
		run := string(rune('a'+i%26)) + string(rune('a'+i/26))
		push[run] = 0.15 * random.NormFloat64()
		dev := 0.01 + 0.3*push[run] + 0.01*random.NormFloat64()
		reads = append(reads, Reading{Run: run, Strip: lab.Strip{Process: "c41", Status: lab.StripIn, Plots: []lab.StripPlot{{Plot: "ld.r", Deviation: &dev}}}})
	}
	near(t, "slope", Slopes(reads, push)["ld.r"].PerStop, 0.3, 4*0.01/(0.15*math.Sqrt(40)))
	if s := Slopes(reads[:slopeStrips-1], push); len(s) != 0 {
		t.Errorf("from %d strips: %v", slopeStrips-1, s)
	}
	for run := range push {
		push[run] = 0.01
	}
	if s := Slopes(reads, push); len(s) != 0 {
		t.Errorf("from runs that were all alike: %v", s)
	}
}

// A drift that began with a new mix is told by it, even where the first strips
// of that mix were in.
func TestMovedWithMix(t *testing.T) {
	read := func(mix string, dev float64) Reading {
		p := lab.StripPlot{Plot: "hd-ld.r", Label: "HD-LD red", Deviation: &dev, Action: ptr(.07), Control: ptr(.09), Side: "both", Status: lab.StripIn}
		if dev > .07 {
			p.Status = lab.StripAction
		}
		return Reading{Strip: lab.Strip{Process: "c41", Mix: mix, Status: p.Status, Plots: []lab.StripPlot{p}}}
	}
	before := []Reading{read("A", .01), read("A", -.01), read("A", 0)}
	for _, tt := range []struct {
		name  string
		reads []Reading
		moved bool
	}{
		{"climbs since the new mix", append(slices.Clone(before), read("B", .02), read("B", .05), read("B", .08)), true},
		{"was off with the mix before", append([]Reading{read("A", .06), read("A", .06), read("A", .06)}, read("B", .06), read("B", .08)), false},
		{"too few of the mix before", append(slices.Clone(before[:2]), read("B", .08)), false},
		{"the same mix throughout", append(slices.Clone(before), read("A", .08)), false},
		{"nothing is off", append(slices.Clone(before), read("B", .06)), false},
	} {
		if got := MovedWithMix(tt.reads)["hd-ld.r"]; got != tt.moved {
			t.Errorf("%s: %v", tt.name, got)
		}
	}
	days := 6.0
	last := read("B", .08).Strip
	causes := Causes(last, Telemetry{PushStops: ptr(0.0), Mix: "B", MixDays: &days, Moved: map[string]bool{"hd-ld.r": true}})
	if len(causes) == 0 || !causes[0].Fits || causes[0].Evidence != "It moved since mix B came into use 6 days ago; with the mix before it stood where it should." {
		t.Errorf("%+v", causes)
	}
}

// The spread of colors is a range: it has limits and no run rules.
func TestSpreadHasNoRunRules(t *testing.T) {
	var reads []Reading
	for i := range 12 {
		v, zero, control := 0.01+0.007*float64(i), 0.0, 0.08
		reads = append(reads, Reading{At: lab.At(day0.AddDate(0, 0, i)), Strip: lab.Strip{Process: "c41", Plots: []lab.StripPlot{{Plot: "spread", Value: v, Aim: &zero, Deviation: &v, Control: &control, Side: "high"}}}})
	}
	marks := SeriesOf(reads)[0].Marks
	if len(marks) != 1 || marks[0].Signal != ControlLimit || marks[0].Point != 11 {
		t.Errorf("%+v, want the control limit at the last alone", marks)
	}
}

// The limits are those of Kodak Z-131, Table 5-1, Status M (quoted elsewhere;
// reference 5.1): as half widths in density, D-min and retained silver on the
// high side only; the colors of HD-LD may lie 0.09 apart.
func TestC41LimitsArePublished(t *testing.T) {
	f, ok := FamilyOf("c41")
	if !ok {
		t.Fatal("C-41 has no plots")
	}
	want := map[string]PlotSpec{
		"dmin":   {Action: ptr(.03), Control: ptr(.05), Side: High},
		"ld":     {Action: ptr(.06), Control: ptr(.08), Side: Both},
		"hd-ld":  {Action: ptr(.07), Control: ptr(.09), Side: Both},
		"silver": {Action: ptr(.10), Control: ptr(.12), Side: High},
		"spread": {Control: ptr(.09), Side: High},
	}
	if len(f.Plots) != len(want) {
		t.Errorf("%d plots, the table has %d", len(f.Plots), len(want))
	}
	same := func(a, b *float64) bool { return (a == nil) == (b == nil) && (a == nil || *a == *b) }
	for _, p := range f.Plots {
		w, ok := want[p.Plot]
		if !ok || !same(p.Action, w.Action) || !same(p.Control, w.Control) || sideOr(p.Side) != w.Side {
			t.Errorf("%s: %+v is not as in the table", p.Plot, p)
		}
	}
	if e6, _ := FamilyOf("e6-7"); slices.ContainsFunc(e6.Plots, func(p PlotSpec) bool { return p.Action != nil || p.Control != nil }) {
		t.Error("E-6 has limits; none were found published")
	}
}
