package process_test

import (
	"strings"
	"testing"
	"time"

	"wetside/internal/process"
)

func noon(day int) time.Time { return time.Date(2026, 3, day, 12, 0, 0, 0, time.UTC) }

func dev(t *testing.T, l *process.Library, at time.Time, id string) *process.Step {
	t.Helper()
	sheet, ok := l.At(at).Sheet(id)
	if !ok {
		t.Fatalf("no sheet %s at %s", id, at)
	}
	step, ok := sheet.Step("developer")
	if !ok {
		t.Fatalf("sheet %s has no developer", id)
	}
	return step
}

// TestLibraryKeepsWhatWas: a run is judged by the sheet of its own day, a
// change names only what differs, the next one stands in its place, and an
// empty one takes it back. The sheet that is based on another follows it.
func TestLibraryKeepsWhatWas(t *testing.T) {
	l, err := process.NewLibrary(nil, []process.SheetChange{
		{ID: "c41", From: noon(2), Body: []byte("id: c41\nsteps: [{id: developer, limits_c: [37.6, 38.0]}]")},
		{ID: "c41", From: noon(4), Body: []byte("id: c41\nsteps: [{id: developer, aim_s: 190}]")},
		{ID: "house-c41", From: noon(5), Body: []byte("id: house-c41\nbased_on: c41\nname: C-41 of the house")},
		{ID: "c41", From: noon(6)},
	})
	if err != nil {
		t.Fatal(err)
	}
	for day, want := range map[int][2]float64{1: {195, 37.65}, 2: {195, 37.6}, 3: {195, 37.6}, 4: {190, 37.65}, 6: {195, 37.65}} {
		if s := dev(t, l, noon(day), "c41"); s.AimS != want[0] || s.LowC != want[1] {
			t.Errorf("on day %d: %g s, from %g °C; want %v", day, s.AimS, s.LowC, want)
		}
	}
	if _, ok := l.At(noon(4)).Sheet("house-c41"); ok {
		t.Error("a sheet is there before it was added")
	}
	if s := dev(t, l, noon(5), "house-c41"); s.AimS != 190 {
		t.Errorf("based on the changed sheet: %g s", s.AimS)
	}
	if s := dev(t, l, noon(7), "house-c41"); s.AimS != 195 {
		t.Errorf("based on the sheet whose change was taken back: %g s", s.AimS)
	}
	if l.Changed("c41") != nil || l.Changed("house-c41") == nil {
		t.Error("what is changed now is not told rightly")
	}
}

// TestLibraryRefuses what does not make a sheet, and says where.
func TestLibraryRefuses(t *testing.T) {
	for want, c := range map[string]process.SheetChange{
		"steps are missing":    {ID: "new", Body: []byte("id: new")},
		"another id":           {ID: "c41x", Body: []byte("id: c41\nname: x")},
		"lies outside limits":  {ID: "c41", Body: []byte("id: c41\nsteps: [{id: developer, aim_c: 45}]")},
		"the lab's change of":  {ID: "c41", Body: []byte("id: c41\nstepz: 3")},
		"older than the last ": {ID: "bw", From: noon(1).Add(-time.Hour)},
	} {
		l, err := process.NewLibrary(nil, []process.SheetChange{{ID: "c41", From: noon(1)}})
		if err != nil {
			t.Fatal(err)
		}
		if c.From.IsZero() {
			c.From = noon(2)
		}
		if _, err := l.With(c); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v; want one that says %q", err, want)
		}
	}
}
