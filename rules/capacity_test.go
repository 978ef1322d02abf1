package rules_test

import (
	"testing"

	"wetside/internal/lab"
	"wetside/rules"
)

// A container is as large as a person says from then on, until that is taken
// back or set to nothing; what it will not take follows.
func TestCapacity(t *testing.T) {
	u := newScript("c41").Unit
	small := enters(u, -60, lab.EntryCapacity, "", lab.ContainerCapacity{Container: "waste", CapacityL: 2})
	for name, tt := range map[string]struct {
		entries  []lab.Entry
		capacity float64
		alert    bool
	}{
		"as the unit says": {nil, lab.DefaultCapacityL, false},
		"smaller":          {[]lab.Entry{small}, 2, true},
		"back again":       {[]lab.Entry{small, enters(u, -50, lab.EntryCapacity, "", lab.ContainerCapacity{Container: "waste"})}, lab.DefaultCapacityL, false},
		"taken back":       {[]lab.Entry{small, enters(u, 1700, lab.EntryTakesBack, "", lab.TakesBack{ID: small.ID})}, lab.DefaultCapacityL, false},
	} {
		t.Run(name, func(t *testing.T) {
			b := played(t, c41Run(t, func(s *script) {
				for _, at := range []float64{20, 40, 60, 80} {
					s.Level(at, "waste", 1.9)
				}
			}), tt.entries...)
			v, _ := b.E.View(u, b.Clock)
			for _, c := range v.Containers {
				if c.Name == "waste" && c.CapacityL != tt.capacity {
					t.Errorf("waste takes %g l; want %g", c.CapacityL, tt.capacity)
				}
			}
			raised := false
			for _, o := range b.Found {
				raised = raised || o.Rule == rules.RuleWasteNearlyFull || o.Rule == rules.RuleWasteWillNotFit
			}
			if raised != tt.alert {
				t.Errorf("told of the waste: %v, want %v: %v", raised, tt.alert, b.Lines())
			}
		})
	}
}
