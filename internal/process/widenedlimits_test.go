package process

import (
	"strings"
	"testing"
	"time"
)

// The published limits of the C-41 developer, 37.65 to 37.95 °C, are those of
// Kodak publication Z-131, table 4-1 (37.8 +/- 0.15 °C).
func TestWidenedLimits(t *testing.T) {
	for _, c := range []struct {
		name, step, standing, why string
		wide                      int
	}{
		{"as published", "limits_c: [37.65, 37.95]", LabsOwn, "", 0},
		{"narrower", "limits_c: [37.7, 37.9]", LabsOwn, "", 0},
		{"wider above", "limits_c: [37.65, 38.2]", LabsOwn, "", 1},
		{"wider below", "limits_c: [37.4, 37.95]", LabsOwn, "", 1},
		{"with a reason", `limits_c: [37.4, 38.2], sources: [{figure: limits_c, from: "strips in control"}]`, LabsOwn, "strips in control", 1},
	} {
		lib, err := NewLibrary(nil, nil)
		if err != nil {
			t.Fatal(err)
		}
		at := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
		lib, err = lib.With(SheetChange{ID: "c41", Body: []byte("id: c41\nsteps:\n  - {id: developer, " + c.step + "}\n"), From: at})
		if err != nil {
			t.Fatal(err)
		}
		s, _ := lib.At(at).Sheet("c41")
		got := WidenedLimits(s)
		if len(got) != c.wide || c.wide > 0 && (got[0].Why != c.why || got[0].PublishedLowC != 37.65 || got[0].PublishedHighC != 37.95) {
			t.Errorf("%s: %+v", c.name, got)
		}
		if v := ProvenanceOf(s.Steps[0].Sources, "limits_c"); v != c.standing {
			t.Errorf("%s: the standing is %q; want %q", c.name, v, c.standing)
		}
		for _, src := range SourcesOf(s.Steps[0].Sources, "limits_c") {
			if strings.Contains(src.From, "Z-131") {
				t.Errorf("%s: it still cites %s", c.name, src.From)
			}
		}
		if c.wide > 0 && !strings.HasPrefix(got[0].Words(), "the lab's own limit; published: 37.65 to 37.95 °C") {
			t.Errorf("%s: %s", c.name, got[0].Words())
		}
	}
	for _, id := range Builtin().IDs() {
		if s, _ := Builtin().Sheet(id); len(WidenedLimits(s)) > 0 {
			t.Errorf("the built-in %s is wider than published", id)
		}
	}
}
