package sim

import (
	"testing"
	"time"

	"wetside/internal/labtest"
)

// Every kind that can be asked for makes a fault that stands, and it happens
// in the first runs of a lab that never stops.
func TestChosenFaultsHappen(t *testing.T) {
	if len(Choosable()) < 25 {
		t.Errorf("only %v can be chosen", Choosable())
	}
	for _, k := range labtest.Few(Choosable(), 5) {
		s := EndlessPlan(8, 1, 1)
		s.Units[0].Runs, s.Units[0].Begin = nil, nil
		s.Units[0].Endless.Faults = []Kind{k}
		l := mustLab(t, Config{Seed: 8, Start: t0, Schedule: s})
		l.Advance(t0.Add(3 * time.Hour))
		truths := l.Faults()
		if len(truths) == 0 {
			t.Errorf("%s was chosen and never happened", k)
		}
		for _, tr := range truths {
			if err := tr.Fault.check(); err != nil || tr.Fault.Kind != k {
				t.Errorf("%s: %s, %v", k, tr.Fault.Kind, err)
			}
		}
	}
}
