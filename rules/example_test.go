package rules_test

import (
	"fmt"
	"time"

	"wetside/internal/lab"
	"wetside/rules"
)

// findings keeps what a unit finds, each thing as it was told last.
type findings struct {
	alerts map[string]lab.Occurrence
	run    lab.Run
}

func (f *findings) PutOccurrence(o lab.Occurrence) { f.alerts[o.ID] = o }
func (f *findings) PutRun(r lab.Run)               { f.run = r }

// The first bath of a run, in which the developer is a degree too warm from the
// second minute on.
func ExampleUnit() {
	found := &findings{alerts: map[string]lab.Occurrence{}}
	unit := rules.NewUnit(rules.Config{}.WithDefaults(), lab.UnitID{Lab: "tern-street", Unit: "plover"}, found)

	nine, seq := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC), int64(0)
	says := func(afterS float64, m lab.Message) {
		seq++
		m.Boot, m.Seq = "b1", seq
		m.At = nine.Add(lab.Seconds(afterS))
		m.Received = m.At
		unit.Take(&m, nil, false)
	}
	phase := func(p lab.Phase) lab.Message {
		return lab.Message{Step: &lab.Step{Phase: p, Run: "1204", Process: "c41", Step: "developer", N: 1, SetS: new(195.0)}}
	}
	says(0, lab.Message{Step: &lab.Step{Phase: lab.PhaseIdle}})
	says(10, phase(lab.PhaseHeating))
	says(90, phase(lab.PhaseFilling))
	says(100, phase(lab.PhaseInBath))
	for s := 102.0; s < 295; s += 2 {
		c := 37.8
		if s > 200 {
			c = 38.8
		}
		says(s, lab.Message{Temp: &lab.Temp{BathC: &c}})
	}
	says(295, phase(lab.PhaseDraining))
	says(305, lab.Message{Step: &lab.Step{Phase: lab.PhaseFilling, Run: "1204", Process: "c41", Step: "bleach", N: 2}})

	for _, o := range found.alerts {
		fmt.Printf("%s, %s, from %s to %s\n", o.Rule, o.Priority, o.RaisedAt.Format(time.TimeOnly), o.ClearedAt.Format(time.TimeOnly))
		fmt.Println(o.Message)
		fmt.Println(o.Response)
	}
	st := found.run.Steps[0]
	fmt.Printf("%s: %.1f to %.1f °C, equivalent to %.0f s\n", st.Step, *st.MinC, *st.MaxC, *st.EquivalentS)
	// Output:
	// bath-temperature, urgent, from 09:03:25 to 09:04:55
	// Developer 38.8 °C (aim 37.8 °C), ends +1/3 stop
	// Drain now: the sheet's development is reached. Then hold the rolls for inspection.
	// developer: 37.8 to 38.8 °C, equivalent to 206 s
}
