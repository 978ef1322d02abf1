package main

import (
	"bytes"
	"io"
	"sync"
	"time"

	"wetside/internal/lab"
	sheetbook "wetside/internal/process"
	"wetside/internal/simulation/sim"
)

// beforeRun is how long the unit that is printed stands idle first.
const beforeRun = 40 * time.Second

// longestPrinted bounds one run; the longest built-in process takes under two
// hours.
const longestPrinted = 6 * time.Hour

// printRun writes one whole run of one unit as a capture that begins at start:
// what a unit has to send, and no more often than it has to. "wetside replay"
// reads it.
func (c *simulateCmd) printRun(out io.Writer, start time.Time) error {
	if _, known := sheetbook.Builtin().Sheet(c.Process); !known {
		return usagef("%s", lab.MustBeOneOf("--process", c.Process, sheetbook.Builtin().IDs()))
	}
	start = start.UTC().Truncate(time.Second)
	l, err := sim.New(sim.Config{Lab: c.Lab, Seed: c.Seed, Start: start, Cadence: sim.Sparse, Schedule: sim.Schedule{
		Units: []sim.UnitPlan{{Name: "plover", Processes: []string{c.Process}, Runs: []sim.RunPlan{{Process: c.Process, At: start.Add(beforeRun)}}}},
	}})
	if err != nil {
		return asUsage(err)
	}
	w := lab.NewCaptureWriter(out)
	for at := start; at.Before(start.Add(longestPrinted)); {
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
	return lab.Errorf(lab.KindUnavailable, "the simulated run did not end within %s", longestPrinted)
}

// exampleRun is the run that the description of the telemetry shows: always
// the same one.
var exampleRun = sync.OnceValues(func() ([]byte, error) {
	var b bytes.Buffer
	err := (&simulateCmd{Lab: "tern-street", Process: "c41", Seed: 1}).printRun(&b, time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC))
	return b.Bytes(), err
})
