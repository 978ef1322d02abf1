package timeline_test

import (
	"context"
	"runtime"
	"testing"
	"time"

	"wetside/ingest"
	"wetside/internal/lab"
	"wetside/internal/simulation/sim"
	"wetside/rules"
	"wetside/rules/timeline"
)

// none is a store that gives nothing back: what the fold keeps is measured.
type none struct{}

func (none) UnitMessages(context.Context, lab.UnitID, int64) ([]lab.Message, error) { return nil, nil }

// TestHeapIsFlat: fifty units at ten times real speed, as they come over the
// wire, with faults, holes, late and double messages: what comes later
// does not make the fold keep more.
func TestHeapIsFlat(t *testing.T) {
	const speed = 10
	start := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	l, err := sim.New(sim.Config{Seed: 1, Start: start, Schedule: sim.EndlessPlan(1, 50, 0.25)})
	if err != nil {
		t.Fatal(err)
	}
	e := timeline.NewEngine(rules.Config{})
	e.Monitoring(start)
	var h none
	messages := 0
	measure := func() int64 {
		var m runtime.MemStats
		runtime.GC()
		runtime.GC()
		runtime.ReadMemStats(&m)
		runtime.KeepAlive(e)
		return int64(m.HeapAlloc)
	}
	var at []int64
	for s := time.Duration(0); s <= 16*time.Minute; s += time.Second {
		for _, raw := range l.Advance(start.Add(s)) {
			raw.Received = start.Add(raw.Received.Sub(start) / speed)
			m, err := ingest.Decode(raw)
			if err != nil {
				continue
			}
			messages++
			m.Arrival = int64(messages)
			if _, err := e.Feed(t.Context(), []lab.Arrival{{Message: &m}}, h); err != nil {
				t.Fatal(err)
			}
		}
		if s%(10*time.Second) == 0 {
			if _, err := e.Tick(t.Context(), start.Add(s/speed), h); err != nil {
				t.Fatal(err)
			}
		}
		if s > 0 && s%(4*time.Minute) == 0 {
			at = append(at, measure())
		}
	}
	t.Logf("%d messages; heap after each four minutes, kB: %d %d %d %d", messages, at[0]>>10, at[1]>>10, at[2]>>10, at[3]>>10)
	if messages < 16_000 {
		t.Fatalf("only %d messages: nothing was simulated", messages)
	}
	if grown := at[3] - at[1]; grown > 50*50<<10 {
		t.Errorf("in the second half the heap grew by %d kB: more than 50 kB a unit", grown>>10)
	}
	if bad := e.SetAside(); len(bad) > 0 {
		t.Errorf("set aside: %+v", bad[0])
	}
}
