package report_test

import (
	"bufio"
	"bytes"
	"fmt"
	"time"

	"wetside/ingest"
	"wetside/internal/lab"
	"wetside/internal/report"
	"wetside/internal/simulation/sim"
)

// A simulated C-41 run whose developer lasted 40 s too long. At 30 s for a
// stop (Kodak Z-131) that is a push of a stop and a third.
func ExampleMake() {
	start := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	simulated, err := sim.New(sim.Config{Seed: 7, Start: start, Schedule: sim.Schedule{
		Units:  []sim.UnitPlan{{Name: "plover", Processes: []string{"c41"}, Runs: []sim.RunPlan{{Process: "c41"}}}},
		Faults: []sim.Fault{{Kind: sim.LongStep, Unit: "plover", Run: 1, Step: "developer", Strength: 40}},
	}})
	if err != nil {
		fmt.Println(err)
		return
	}
	evidence := report.Evidence{Unit: lab.UnitID{Lab: sim.DemoLab, Unit: "plover"}, UnitName: "Plover"}
	for _, raw := range simulated.Advance(start.Add(2 * time.Hour)) {
		if message, err := ingest.Decode(raw); err == nil {
			evidence.Messages = append(evidence.Messages, message)
		}
	}
	evidence.RunName = simulated.Runs()[0].Run

	made, err := report.Make(evidence)
	if err != nil {
		fmt.Println(err)
		return
	}
	var text bytes.Buffer
	if err := report.Text(&text, made.Report, report.Options{}); err != nil {
		fmt.Println(err)
		return
	}
	printed := 0
	for lines := bufio.NewScanner(&text); lines.Scan() && printed < 3; {
		if printed > 0 || bytes.HasPrefix(lines.Bytes(), []byte("VERDICT")) {
			fmt.Println(lines.Text())
			printed++
		}
	}
	// Output:
	// VERDICT: out of control. Hold the film. A person looks before anything is
	//   decided.
	// Push error +1.34 stop (about 1 1/3 stops pushed), between +0.73 and +2.23.
}
