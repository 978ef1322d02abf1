package lab_test

import (
	"testing"

	"wetside/internal/lab"
)

// A roll has what the film got against what the roll itself wanted; a roll of
// another process, or of a run whose push error is not known, has none.
func TestJudgeRolls(t *testing.T) {
	t.Parallel()
	rolls := []lab.Roll{{TwinCheck: "as the run"}, {TwinCheck: "its own push", Process: "c41", Push: 2}, {TwinCheck: "another process", Process: "bw"}}
	got := 0.25
	r := lab.Run{Process: "c41", Push: 1, PushErrorStops: &got}
	r = lab.RunRow{Run: r, Loaded: rolls}.Stated(nil)
	for i, want := range []float64{0.25, -0.75} {
		if x := r.Rolls[i]; x.PushErrorStops == nil || *x.PushErrorStops != want {
			t.Errorf("%s: %v; want %g", x.TwinCheck, x.PushErrorStops, want)
		}
	}
	if x := r.Rolls[2]; x.PushErrorStops != nil {
		t.Errorf("%s: %g; want none", x.TwinCheck, *x.PushErrorStops)
	}
	r.PushErrorStops = nil
	r.JudgeRolls()
	for _, x := range r.Rolls {
		if x.PushErrorStops != nil {
			t.Errorf("not known of the run, and yet %g of the roll %s", *x.PushErrorStops, x.TwinCheck)
		}
	}
}
