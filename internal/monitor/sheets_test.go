package monitor_test

import (
	"testing"

	"wetside/internal/lab"
	"wetside/internal/monitor"
	"wetside/internal/monitor/monitortest"
	"wetside/internal/postgres/pgtest"
	"wetside/internal/process"
	"wetside/internal/replay/history"
	"wetside/rules"
)

// What changed in the figures is no news to a lab that never ran with those
// before; one that has runs is told.
func TestFigureChangesAreNoNewsToNewLabs(t *testing.T) {
	t.Parallel()
	for _, runs := range []bool{false, true} {
		store := pgtest.Store(t, monitortest.StoreConfig(pgtest.New(t)))
		if runs {
			day := func(each func(lab.Raw) error) error {
				for _, raw := range monitortest.FaultyDay(t) {
					if err := each(raw); err != nil {
						return err
					}
				}
				return nil
			}
			if err := history.NewImporter(store, rules.Config{}).Group(t.Context(), day); err != nil {
				t.Fatal(err)
			}
		}
		if err := monitor.NoNewsForNewLabs(t.Context(), store); err != nil {
			t.Fatal(err)
		}
		want := process.LastLot()
		if runs {
			want = 0
		}
		if seen, err := store.FiguresSeen(t.Context()); err != nil || seen.Lot != want {
			t.Errorf("with runs %v: read up to lot %d (%v), want %d", runs, seen.Lot, err, want)
		}
	}
}
