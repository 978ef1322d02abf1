package strips

import (
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/labtest"
)

var day0 = time.Date(2026, 3, 1, 7, 0, 0, 0, time.UTC)

func rgb(r, g, b float64) lab.RGB { return lab.RGB{R: &r, G: &g, B: &b} }

func plotOf(t *testing.T, s lab.Strip, name string) lab.StripPlot {
	t.Helper()
	i := slices.IndexFunc(s.Plots, func(p lab.StripPlot) bool { return p.Plot == name })
	if i < 0 {
		t.Fatalf("there is no plot %s in %+v", name, s.Plots)
	}
	return s.Plots[i]
}

// The worked C-41 reading of reference densities (a lab supplier's page,
// quoted elsewhere): D-min 0.32/0.63/0.72, LD 0.44/0.76/0.98, HD
// 1.30/1.77/2.03, contrast 0.86/1.01/1.05; yellow blue 2.70, D-max blue 2.98,
// whose difference is 0.28 (the page prints 0.18, a fault of its own).
func TestFiguresOfAStrip(t *testing.T) {
	d := map[string]lab.RGB{"dmin": rgb(.32, .63, .72), "ld": rgb(.44, .76, .98), "hd": rgb(1.30, 1.77, 2.03),
		"yellow": {B: ptr(2.70)}, "dmax": {B: ptr(2.98)}}
	settings := lab.StripSettings{References: []lab.StripReference{{Process: "c41", Code: "7", Densities: d}}}
	s, notes := Evaluate(lab.Strip{Process: "c41", Code: "7", Densities: d}, "a/b", nil, settings)
	for name, want := range map[string]float64{"hd-ld.r": .86, "hd-ld.g": 1.01, "hd-ld.b": 1.05, "silver": .28, "ld.r": .44, "dmin.b": .72, "spread": 0} {
		p := plotOf(t, s, name)
		near(t, name, p.Value, want, 1e-9)
		if p.Status != lab.StripIn || p.Limits != lab.LimitsPublished {
			t.Errorf("%s stands %s by limits %s; the reference itself is in, by those published", name, p.Status, p.Limits)
		}
	}
	if s.Status != lab.StripIn || len(notes) != 0 {
		t.Errorf("stands %s, notes %q", s.Status, notes)
	}
}

func TestJudge(t *testing.T) {
	aims := map[string]lab.RGB{"dmin": rgb(.30, .60, .70), "ld": rgb(.40, .70, .90), "hd": rgb(1.20, 1.70, 2.00)}
	box := lab.StripReference{Process: "c41", Code: "7", Densities: aims, Corrections: map[string]lab.RGB{"ld": rgb(.04, .06, .08)}}
	with := func(edit func(d map[string]lab.RGB)) map[string]lab.RGB {
		d := map[string]lab.RGB{"dmin": rgb(.30, .60, .70), "ld": rgb(.44, .76, .98), "hd": rgb(1.20, 1.70, 2.00)}
		edit(d)
		return d
	}
	tests := []struct {
		name     string
		edit     func(d map[string]lab.RGB)
		settings lab.StripSettings
		plot     string
		standing string // of the plot
	}{
		{"correction factors count", func(map[string]lab.RGB) {}, lab.StripSettings{}, "ld.r", lab.StripIn},
		{"on the action limit", func(d map[string]lab.RGB) { d["ld"] = rgb(.50, .76, .98) }, lab.StripSettings{}, "ld.r", lab.StripIn},
		{"beyond it", func(d map[string]lab.RGB) { d["ld"] = rgb(.51, .76, .98) }, lab.StripSettings{}, "ld.r", lab.StripAction},
		{"beyond the control limit", func(d map[string]lab.RGB) { d["ld"] = rgb(.35, .76, .98) }, lab.StripSettings{}, "ld.r", lab.StripOut},
		{"D-min low", func(d map[string]lab.RGB) { d["dmin"] = rgb(.10, .60, .70) }, lab.StripSettings{}, "dmin.r", lab.StripIn},
		{"colors part company", func(d map[string]lab.RGB) { d["hd"] = rgb(1.25, 1.65, 2.00) }, lab.StripSettings{}, "spread", lab.StripOut},
		{"the lab's own limit", func(d map[string]lab.RGB) { d["ld"] = rgb(.51, .76, .98) },
			lab.StripSettings{Limits: []lab.StripLimit{{Process: "c41", Plot: "ld.r", Action: .08, Control: .1, Reason: "old densitometer"}}}, "ld.r", lab.StripIn},
		{"another unit's limit is not its own", func(d map[string]lab.RGB) { d["ld"] = rgb(.51, .76, .98) },
			lab.StripSettings{Limits: []lab.StripLimit{{Process: "c41", Unit: "a/c", Plot: "ld.r", Action: .08, Control: .1, Reason: "x"}}}, "ld.r", lab.StripAction},
		{"an aim taken over", func(d map[string]lab.RGB) { d["ld"] = rgb(.51, .76, .98) },
			lab.StripSettings{Aims: []lab.StripAim{{Process: "c41", Unit: "a/b", Plot: "ld.r", Aim: .50, Sigma: .01}}}, "ld.r", lab.StripIn},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			test.settings.References = []lab.StripReference{box}
			s, _ := Evaluate(lab.Strip{Process: "c41", Code: "7", Densities: with(test.edit)}, "a/b", nil, test.settings)
			if p := plotOf(t, s, test.plot); p.Status != test.standing {
				t.Errorf("%s stands %s (%+v), want %s", test.plot, p.Status, p, test.standing)
			}
		})
	}
}

// Where no limits are published the first strips set them: nothing is said of
// the first four, provisional limits stand until there are twenty.
func TestFirstStripsSetTheLimits(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	var reads []Reading
	for i := range 24 {
		s, notes := Evaluate(lab.Strip{Process: "bw", Densities: map[string]lab.RGB{"ld": {G: ptr(0.60 + 0.02*random.NormFloat64())}}}, "a/b", reads, lab.StripSettings{})
		p := plotOf(t, s, "ld")
		want := lab.LimitsOwn
		switch {
		case i < provisionalFrom:
			want = lab.LimitsNone
		case i < baselineSize:
			want = lab.LimitsProvisional
		}
		if p.Limits != want || (want == lab.LimitsNone) != (p.Status == lab.StripUnjudged) {
			t.Errorf("strip %d: limits %s, standing %s (%q); want %s", i+1, p.Limits, p.Status, notes, want)
		}
		reads = append(reads, Reading{Strip: s, Unit: "a/b", At: lab.At(day0.AddDate(0, 0, i))})
	}
	far, _ := Evaluate(lab.Strip{Process: "bw", Densities: map[string]lab.RGB{"ld": {G: ptr(0.80)}}}, "a/b", reads, lab.StripSettings{})
	if far.Status != lab.StripOut {
		t.Errorf("ten sigma off stands %s", far.Status)
	}
	if offer := AimsToOffer(reads, "a/b"); len(offer) != 1 || offer[0].Strips != baselineSize || offer[0].Aim < 0.57 || offer[0].Aim > 0.63 {
		t.Errorf("offered %+v, want the aim of LD", offer)
	}
}

func TestGate(t *testing.T) {
	at := func(d int, standing string) Reading {
		return Reading{Strip: lab.Strip{Process: "c41", Status: standing}, At: lab.At(day0.AddDate(0, 0, d))}
	}
	opened := func(d float64) *Opening {
		return &Opening{By: "Wren", At: lab.At(day0.Add(time.Duration(d * 24 * float64(time.Hour)))), Reason: "retested"}
	}
	now := day0.AddDate(0, 0, 3).Add(time.Hour)
	tests := []struct {
		name   string
		reads  []Reading
		opened *Opening
		asked  bool
		want   string
		says   string
	}{
		{name: "nothing asked, nothing read", want: GateNone},
		{name: "asked and none read", asked: true, want: GateStop, says: "No control strip was read today"},
		{name: "in today", reads: []Reading{at(3, lab.StripIn)}, asked: true, want: GateIn},
		{name: "in yesterday, asked", reads: []Reading{at(2, lab.StripIn)}, asked: true, want: GateStop, says: "today"},
		{name: "in yesterday, not asked", reads: []Reading{at(2, lab.StripIn)}, want: GateIn},
		{name: "beyond an action limit", reads: []Reading{at(3, lab.StripAction)}, want: GateWatch, says: "Film may run"},
		{name: "one out", reads: []Reading{at(2, lab.StripIn), at(3, lab.StripOut)}, want: GateWatch, says: "second strip"},
		{name: "two out", reads: []Reading{at(2, lab.StripOut), at(3, lab.StripOut)}, want: GateStop, says: "No customers' film"},
		{name: "one that could not be judged says nothing", reads: []Reading{at(1, lab.StripOut), at(2, lab.StripOut), at(3, lab.StripUnjudged)}, want: GateStop, says: "could not be judged"},
		{name: "nor does one in between", reads: []Reading{at(1, lab.StripOut), at(2, lab.StripUnjudged), at(3, lab.StripOut)}, want: GateStop, says: "2 strips in a row"},
		{name: "only such ones", reads: []Reading{at(3, lab.StripUnjudged)}, asked: true, want: GateWatch, says: "could not be judged"},
		{name: "in, then one that could not be judged", reads: []Reading{at(2, lab.StripIn), at(3, lab.StripUnjudged)}, want: GateWatch, says: "could not be judged"},
		{name: "out, then in", reads: []Reading{at(1, lab.StripOut), at(2, lab.StripOut), at(3, lab.StripIn)}, want: GateIn},
		{name: "out, in between, out", reads: []Reading{at(1, lab.StripOut), at(2, lab.StripIn), at(3, lab.StripOut)}, want: GateWatch},
		{name: "not judged", reads: []Reading{at(3, lab.StripUnjudged)}, want: GateWatch, says: "could not be judged"},
		{name: "opened by a lead", reads: []Reading{at(2, lab.StripOut), at(3, lab.StripOut)}, opened: opened(3.01), want: GateWatch, says: "Opened by Wren: retested"},
		{name: "a strip read since closes it again", reads: []Reading{at(2, lab.StripOut), at(3, lab.StripOut)}, opened: opened(2.5), want: GateStop},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			g := GateOf(test.reads, test.opened, test.asked, now)
			if g.Gate != test.want || !strings.Contains(strings.Join(g.Reasons, " "), test.says) {
				t.Errorf("gate %s, reasons %q; want %s and %q", g.Gate, g.Reasons, test.want, test.says)
			}
		})
	}
	night := time.Date(2026, 3, 5, 0, 30, 0, 0, time.UTC)
	if g := GateOf([]Reading{{Strip: lab.Strip{Status: lab.StripIn}, At: lab.At(night.Add(-4 * time.Hour))}}, nil, true, night); g.Gate != GateIn {
		t.Errorf("a night shift's strip of the evening: gate %s", g.Gate)
	}
}

// A warm run explains an LD that is high; without one the chemistry is looked
// at, and a new mix stands first.
func TestCauses(t *testing.T) {
	dev, action, control := 0.09, 0.06, 0.08
	high := lab.Strip{Process: "c41", Plots: []lab.StripPlot{
		{Plot: "ld.r", Label: "LD red", Deviation: &dev, Action: &action, Control: &control, Side: "both", Status: lab.StripOut},
		{Plot: "hd-ld.r", Label: "HD-LD red", Deviation: &dev, Action: &action, Control: &control, Side: "both", Status: lab.StripOut},
	}}
	warm := Telemetry{PushStops: ptr(0.2), WarmerC: ptr(0.4)}
	causes := Causes(high, warm)
	if len(causes) == 0 || !causes[0].Fits || !strings.Contains(causes[0].Text, "too warm") || !strings.Contains(causes[0].Evidence, "+0.4 °C") {
		t.Errorf("a warm run: %+v", causes)
	}
	mixed := Telemetry{PushStops: ptr(0.0), NewMix: "B12"}
	causes = Causes(high, mixed)
	if len(causes) == 0 || !causes[0].Fits || !strings.Contains(causes[0].Evidence, "B12") {
		t.Errorf("a new mix: %+v", causes)
	}
}

// All rules on a dozen plots call falsely every few strips: they never move
// the gate. Shewhart's three sigma alone: 1 / (1 - 0.9973^12) = 31.3; the gate
// stops at two such strips in a row: 31.3 squared, about 980. On one plot three
// sigma calls every 370, two sigma every 22 (normal distribution, exact).
func TestFalseRate(t *testing.T) {
	normal := rand.New(rand.NewPCG(1, 2)).NormFloat64
	strips := labtest.Fewer(200_000, 50_000)
	r := FalseRateOf(12, strips, Defaults, normal)
	near(t, "control limits alone, 12 plots", r.ControlOnly, 31.3, 2)
	near(t, "stops of the gate", r.Stops, 980, 200)
	if r.Rules < 4 || r.Rules > 8 {
		t.Errorf("all rules: every %.1f strips", r.Rules)
	}
	one := FalseRateOf(1, strips, Defaults, normal)
	near(t, "control limit, one plot", one.Signals[ControlLimit], 370.4, 60)
	near(t, "action limit, one plot", one.Signals[ActionLimit], 22, 1)
	t.Logf("12 plots: %+v", r)
}
