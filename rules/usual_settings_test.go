package rules_test

import (
	"testing"

	"wetside/internal/lab"
	"wetside/rules"
)

// Units as labs have them set stay silent, whatever is said of where a figure
// is from: a fixer of C-41 at 6:30 (usual) or at 4:20 (the least of Z-131's
// table), a B&W wash of 5:00 (after a washing aid), of 20:00 or of 30:00
// (without one), E-6's baths anywhere in their ranges, its first wash at 34 °C.
func TestUsualSettingsAreSilent(t *testing.T) {
	for _, tt := range []struct {
		name, process, step string
		setS, c             float64 // 0: the sheet's
	}{
		{"C-41 fixer 6:30", "c41", "fixer", 390, 0},
		{"C-41 fixer 4:20", "c41", "fixer", 260, 0},
		{"B&W wash 5:00", "bw", "wash", 300, 0},
		{"B&W wash 20:00", "bw", "wash", 1200, 0},
		{"B&W wash 30:00", "bw", "wash", 1800, 0},
		{"E-6 first wash at 34 °C", "e6-7", "wash-1", 0, 34},
		{"E-6 reversal bath at 25 °C", "e6-7", "reversal-bath", 0, 25},
		{"E-6 bleach at 34 °C", "e6-7", "bleach", 0, 34},
		{"C-41 second wash at 25 °C", "c41", "wash-2", 0, 25},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := newScript(tt.process)
			if tt.setS > 0 {
				s.SetTimes[tt.step] = tt.setS
			}
			s.WholeRun(t, map[string]float64{tt.step: tt.c})
			b := played(t, s)
			for _, o := range b.Found {
				t.Errorf("%s %s raised: %s", o.Rule, o.Step, o.Message)
			}
			if r := b.Runs[rules.RunID(s.Unit, "r1")]; r.Verdict == nil || *r.Verdict != lab.InControl {
				t.Errorf("verdict %v, reasons %+v", r.Verdict, r.Reasons)
			}
		})
	}
}
