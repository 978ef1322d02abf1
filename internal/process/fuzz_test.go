package process

import (
	"math"
	"testing"
	"testing/fstest"

	"wetside/internal/lab"
)

// FuzzSheet: whatever stands in a sheet of the lab's own, it is refused with a
// reason, or every figure that comes of it is a number: at any push, set time
// and temperature that a unit may send.
func FuzzSheet(f *testing.F) {
	files, err := builtin.ReadDir("sheets")
	if err != nil {
		f.Fatal(err)
	}
	for _, file := range files {
		b, err := builtin.ReadFile("sheets/" + file.Name())
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b)
	}
	for _, s := range []string{
		"id: c41\nsteps: [{id: developer, aim_s: .inf}]", "id: c41\nsteps: [{id: developer, limits_c: [.nan, 41]}]",
		"id: c41\nsteps: [{id: wash-1, fills: 50000000}]", "id: c41\nsteps: [{id: developer, per_10c: {best: 1e308, low: 1, high: 1e308}}]",
		"id: c41\nsteps: [{id: developer, push_s: {-6: 1, 6: 604800}}]", "id: own\nbased_on: c41\n", "id: own\nbased_on: own\n",
		"id: c41\nsteps: [{id: developer, push_s: {0: 195, 0.0000001: 604800}}]",
		"a: &a [x,x]\nb: &b [*a,*a]\nc: &c [*b,*b]\nid: [*c,*c]", "{", "- - - -", "id: c41\nsteps: [{id: developer, edges: {inspect_stops: 1e-300, out_stops: 1e300}}]",
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, body []byte) {
		if len(body) > 8<<10 {
			t.Skip()
		}
		lib, err := NewLibrary(fstest.MapFS{"own.yaml": {Data: body}}, nil)
		if err != nil {
			if err.Error() == "" {
				t.Fatal("refused without a reason")
			}
			return
		}
		book := lib.base
		for _, id := range book.IDs() {
			sheet, _ := book.Sheet(id)
			for i := range sheet.Steps {
				numbersOf(t, id, &sheet.Steps[i])
			}
		}
	})
}

func numbersOf(t *testing.T, id string, s *Step) {
	t.Helper()
	finite := func(what string, values ...float64) {
		t.Helper()
		for _, v := range values {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Fatalf("%s %s: %s is %v", id, s.ID, what, values)
			}
		}
	}
	for _, push := range []float64{lab.BoundPush.Low, -1, 0, 1.0 / 3, lab.BoundPush.High} {
		sheetS, ok := s.TimeFor(push, lab.BoundSeconds.High)
		if !ok {
			continue
		}
		short, over := s.Tolerance(sheetS)
		finite("time", sheetS, short, over, s.ShortestS(sheetS), s.LongestS(sheetS))
		for _, eq := range []float64{0, 1e-3, sheetS, lab.BoundSeconds.High} {
			if v, ok := s.PushError(eq, push, 60); ok {
				finite("push error", v)
			}
		}
		if e, ok := s.EdgeTimes(Aim{Push: push, SetS: 60}); ok {
			finite("edges", e.TargetS, e.Under, e.OutUnder) // the upper two may be +Inf: none
		}
	}
	for _, c := range []float64{lab.BoundTemperature.Low, 0, 20, 38, 100, lab.BoundTemperature.High} {
		r := s.EquivalentWithin(20, c, lab.BoundSeconds.High, 10)
		finite("equivalent", r.Best, r.Low, r.High)
		at := s.Rates(c)
		finite("rate", at.Best, at.Low, at.High)
	}
}

// Stops are said in words whatever they are.
func TestStopsBeyondMeasureAreSaid(t *testing.T) {
	for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e308, -1e308, 4e18, -7} {
		if Thirds(v) == "" || ThirdsRange(Range{v, -v, v}) == "" {
			t.Errorf("%v is not said", v)
		}
	}
}
