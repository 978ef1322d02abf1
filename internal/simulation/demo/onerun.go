package demo

import (
	"bytes"
	"io"
	"sync"
	"time"

	"wetside/internal/lab"
	"wetside/internal/simulation/sim"
)

// beforeRun is how long the unit that is printed stands idle first.
const beforeRun = 40 * time.Second

// longestRun bounds one run; the longest built-in process takes under two
// hours.
const longestRun = 6 * time.Hour

// OneRun is one whole run of one unit, and nothing else.
type OneRun struct {
	Lab     string // id
	Process string // id, of a built-in process
	Seed    uint64
	Start   time.Time
}

// Write writes it as a capture that begins at its start: what a unit has to
// send, and no more often than it has to. "wetside replay" reads it.
func (r OneRun) Write(out io.Writer) error {
	start := r.Start.UTC().Truncate(time.Second)
	l, err := sim.New(sim.Config{Lab: r.Lab, Seed: r.Seed, Start: start, Cadence: sim.Sparse, Schedule: sim.Schedule{
		Units: []sim.UnitPlan{{Name: "plover", Processes: []string{r.Process}, Runs: []sim.RunPlan{{Process: r.Process, At: start.Add(beforeRun)}}}},
	}})
	if err != nil {
		return err
	}
	w := lab.NewCaptureWriter(out)
	for at := start; at.Before(start.Add(longestRun)); {
		over := l.Ended() > 0
		at = at.Add(time.Minute)
		for _, raw := range l.Advance(at) {
			if err := w.Write(raw); err != nil {
				return err
			}
		}
		if over { // a minute of what comes after it
			return nil
		}
	}
	return lab.Errorf(lab.KindUnavailable, "the simulated run did not end within %s", longestRun)
}

// ExampleRun is the run that the description of the telemetry shows: always
// the same one.
var ExampleRun = sync.OnceValues(func() ([]byte, error) {
	var b bytes.Buffer
	err := OneRun{Lab: sim.DemoLab, Process: "c41", Seed: 1, Start: time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)}.Write(&b)
	return b.Bytes(), err
})
