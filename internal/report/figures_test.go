package report

import (
	"bytes"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
	"wetside/internal/simulation/sim"
)

// c41Step is a C-41 developer that stood at a temperature for its time.
func c41Step(c, seconds float64) lab.RunStep {
	eq := seconds * math.Pow(2.9, (c-37.8)/10)
	return lab.RunStep{Step: "developer", TimeS: &seconds, EquivalentS: &eq, PushErrorStops: p((eq - 195) / 30)}
}

// What a verdict hangs on: C-41's temperature factor, 2.9 by memory (2.5 to
// 3.1). At 38.3 °C for 3:15 it is the whole difference: 0.34 stop by 2.9, past
// the edge of 0.33; 0.30 by 2.5, within it.
func TestWhatAVerdictHangsOn(t *testing.T) {
	c41, bw := stepsJudgedBy(Criteria{}.config(), "c41", nil), stepsJudgedBy(Criteria{}.config(), "bw", nil)
	for _, tt := range []struct {
		name    string
		sp      sheetSteps
		verdict string
		steps   []lab.RunStep
		reasons []lab.Reason
		want    []string
	}{
		{"at its aim: nothing", c41, lab.InControl, []lab.RunStep{c41Step(37.8, 195)}, nil, nil},
		{"a little warm: not yet", c41, lab.InControl, []lab.RunStep{c41Step(37.9, 195)}, nil, nil},
		{"past the edge by 2.9, not by 2.5: the factor; the limits, published, carry the verdict", c41, lab.Inspect, []lab.RunStep{c41Step(38.3, 195)},
			[]lab.Reason{{Code: "bath-warm", Step: "developer"}}, []string{"developer per_10c"}},
		{"far out by any factor: the edges, from memory", c41, lab.OutOfControl, []lab.RunStep{c41Step(41, 195)},
			[]lab.Reason{{Code: "bath-warm", Step: "developer"}}, []string{"developer edges"}},
		{"a step skipped too: out of control by that", c41, lab.OutOfControl, []lab.RunStep{c41Step(41, 195)},
			[]lab.Reason{{Code: "bath-warm", Step: "developer"}, {Code: "step-skipped", Step: "bleach"}}, nil},
		{"dryer too hot: its limit is quoted", c41, lab.Inspect, []lab.RunStep{c41Step(37.8, 195)}, []lab.Reason{{Code: "dryer"}}, nil},
		{"dryer too hot in B&W: its limit is common practice", bw, lab.Inspect, nil, []lab.Reason{{Code: "dryer"}}, []string{" dry_max_c"}},
		{"B&W stop bath too cool: 18 °C is the lab's choice", bw, lab.Inspect, nil, []lab.Reason{{Code: "bath-cool", Step: "stop-bath"}}, []string{"stop-bath limits_c"}},
		{"with the tank standing still: the verdict stands by that", bw, lab.Inspect, nil,
			[]lab.Reason{{Code: "bath-cool", Step: "stop-bath"}, {Code: "rotation", Step: "developer"}}, nil},
		{"a fixer too short: its least time is quoted", c41, lab.Inspect, nil, []lab.Reason{{Code: "step-short", Step: "fixer"}}, nil},
	} {
		run := lab.Run{Verdict: &tt.verdict, Steps: tt.steps, Reasons: tt.reasons}
		var got []string
		for _, f := range dependsOn(run, tt.sp) {
			got = append(got, f.Step+" "+f.Figure)
		}
		if !slices.Equal(got, tt.want) {
			t.Errorf("%s: it hangs on %q, want %q", tt.name, got, tt.want)
		}
		words := dependsWords(lab.Report{JudgedBy: lab.JudgedBy{HangsOn: dependsOn(run, tt.sp)}})
		if (words != "") != (len(tt.want) > 0) {
			t.Errorf("%s: the report says %q", tt.name, words)
		}
	}
}

// A developer of the lab's own has its own table: the sheet's factor decides
// nothing then, and is not shown.
func TestDeveloperInPlaceOfTheFactor(t *testing.T) {
	sp := stepsJudgedBy(Criteria{}.config(), "bw", []lab.DeveloperChoice{{Process: "bw", Step: "developer", Developer: "tmx-xtol-120"}})
	has := func(figure string) bool {
		return slices.ContainsFunc(figuresOf(sp), func(f lab.SheetFigure) bool { return f.Step == "developer" && f.Figure == figure })
	}
	if has("per_10c") || !has("minutes") {
		t.Errorf("figures %+v", figuresOf(sp))
	}
}

// Every figure of a report says in three words or fewer how far its source
// goes, in text and document alike, and the probe says what it rests on.
func TestReportsSayWhereFiguresAreFrom(t *testing.T) {
	w := simulate(t, sim.UnitPlan{Processes: []string{"c41"}, Runs: []sim.RunPlan{{Process: "c41"}}}, nil, 7, 110*time.Minute)
	r := made(t, w.evidence(t, 0)).Report
	if n := len(r.JudgedBy.Figures); n < 30 {
		t.Errorf("%d figures of the sheet are named", n)
	}
	for _, f := range r.JudgedBy.Figures {
		if f.Value == "" || f.Provenance == "" || len(strings.Fields(f.Provenance)) > 3 {
			t.Errorf("%+v", f)
		}
	}
	for _, s := range r.JudgedBy.Sources {
		if !strings.HasSuffix(s, "(published)") && !strings.HasSuffix(s, "(quoted elsewhere)") && !strings.HasSuffix(s, "(unconfirmed)") {
			t.Errorf("source %q does not say how far it goes", s)
		}
	}
	var text bytes.Buffer
	if err := Text(&text, r, Options{}); err != nil {
		t.Fatal(err)
	}
	flat := strings.Join(strings.Fields(text.String()), " ")
	for _, want := range []string{"temperature factor 2.9 times as fast for each +10 °C (2.5 to 3.1) (unconfirmed)", "limits 37.65 to 37.95 °C (published)",
		"least time 4:20 (quoted elsewhere)", "taken for class B, right to ±0.49 °C (IEC 60751, published)", "out of control (unconfirmed)",
		"Check the probe against a thermometer: "} {
		if !strings.Contains(flat, want) {
			t.Errorf("the report lacks %q", want)
		}
	}
}

// A narrower range is said as people say it.
func TestNarrowedWords(t *testing.T) {
	for to, want := range map[float64]string{0.5: "halves the range", 0.33: "leaves a third of the range", 0.8: "leaves 80 % of the range"} {
		if got := narrowedWords(to); got != want {
			t.Errorf("%g: %q, want %q", to, got, want)
		}
	}
}

// What a row's source does not speak of is carried over and unconfirmed.
func TestRowsCarriedOver(t *testing.T) {
	for _, tt := range []struct{ process, code, step, standing string }{
		{"c41", "step-long", "fixer", process.Published},    // Z-131's footnote
		{"e6-7", "step-long", "fixer", process.Unconfirmed}, // carried over
		{"e6-7", "step-short", "fixer", process.Published},  // TG2044-1
		{"c41", "step-short", "fixer", process.Unconfirmed}, // carried over
		{"e6-7", "bath-warm", "first-developer", process.Unconfirmed},
		{"bw", "step-short", "fixer", process.Published},
		{"house-mix", "rotation", "", process.Unconfirmed},
	} {
		run := lab.Run{Process: tt.process, Reasons: []lab.Reason{{Code: tt.code, Step: tt.step}}}
		got := lookFor(run, stepsJudgedBy(Criteria{}.config(), tt.process, nil))
		if len(got) != 1 || got[0].Provenance != tt.standing {
			t.Errorf("%s %s %s: %+v, want it %s", tt.process, tt.code, tt.step, got, tt.standing)
		}
		if carried := strings.Contains(got[0].Source, "carried over"); carried && got[0].Provenance != process.Unconfirmed {
			t.Errorf("%s %s: carried over, and %s", tt.process, tt.code, got[0].Provenance)
		}
	}
}

// No person's name stands in what a report prints of the table.
func TestNoPersonsInTheTable(t *testing.T) {
	for key, s := range builtinTable().Sources {
		for _, name := range []string{"Pritchard", "Iglewicz", "Hoaglin", "Nishimura", "Wratten", "B. P"} {
			if strings.Contains(s.Text, name) {
				t.Errorf("source %s names a person: %q", key, s.Text)
			}
		}
		if s.Provenance != process.Published && s.Provenance != process.Quoted && s.Provenance != process.Unconfirmed || len(s.Of) == 0 {
			t.Errorf("source %s: standing %q, of %v", key, s.Provenance, s.Of)
		}
	}
}
