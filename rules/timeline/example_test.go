package timeline_test

import (
	"context"
	"fmt"
	"time"

	"wetside/internal/lab"
	"wetside/rules"
	"wetside/rules/timeline"
)

// stored is telemetry that was stored, to be folded again.
type stored []lab.Message

func (s stored) UnitMessages(context.Context, lab.UnitID, int64) ([]lab.Message, error) {
	return s, nil
}

// Three readings in a row of a developer are outside its limits, and an alert is
// raised; it is cleared when the bath is inside again. A minute later a reading
// comes in that was on its way all the time: between the second and the third
// the bath was inside. The alert is withdrawn.
func ExampleEngine() {
	engine := timeline.NewEngine(rules.Config{})
	nine := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	var all stored

	tell := func(atS float64, changes timeline.Changes, err error) {
		if err != nil {
			fmt.Println(err)
		}
		for _, o := range changes.Occurrences {
			what := "raised"
			switch {
			case o.Withdrawn:
				what = "withdrawn"
			case !o.ClearedAt.IsZero():
				what = "cleared"
			}
			fmt.Printf("at %.0f s: %s %s: %s\n", atS, o.Rule, what, o.Message)
		}
	}
	arrives := func(atS, sentS float64, seq int64, m lab.Message) {
		m.Unit, m.Boot, m.Seq, m.Arrival = lab.UnitID{Lab: "tern-street", Unit: "plover"}, "b1", seq, int64(len(all)+1)
		m.At, m.Received = nine.Add(lab.Seconds(sentS)), nine.Add(lab.Seconds(atS))
		all = append(all, m)
		changes, err := engine.Feed(context.Background(), []lab.Arrival{{Message: &m}}, all)
		tell(atS, changes, err)
	}
	phase := func(p lab.Phase) lab.Message {
		return lab.Message{Step: &lab.Step{Phase: p, Run: "1204", Process: "c41", Step: "developer", N: 1, SetS: new(195.0)}}
	}
	reading := func(c float64) lab.Message { return lab.Message{Temp: &lab.Temp{BathC: &c}} }

	arrives(0, 0, 1, lab.Message{Step: &lab.Step{Phase: lab.PhaseIdle}})
	arrives(90, 90, 2, phase(lab.PhaseFilling))
	arrives(100, 100, 3, phase(lab.PhaseInBath))
	seq := int64(3)
	for s := 102.0; s < 200; s += 2 {
		seq++
		arrives(s, s, seq, reading(37.8))
	}
	arrives(200, 200, seq+1, reading(38.1))
	arrives(202, 202, seq+2, reading(38.1))
	late := seq + 3 // of 203 s
	arrives(204, 204, seq+4, reading(38.1))
	seq += 4
	for s := 206.0; s < 260; s += 2 {
		seq++
		arrives(s, s, seq, reading(37.8))
	}
	arrives(262, 203, late, reading(37.8)) // it may be the first of a backlog: it is judged when nothing more comes
	changes, err := engine.Tick(context.Background(), nine.Add(270*time.Second), all)
	tell(270, changes, err)
	// Output:
	// at 210 s: bath-temperature raised: Developer 38.1 °C (aim 37.8 °C), ends under 1/6 stop
	// at 226 s: bath-temperature cleared: Developer 38.1 °C (aim 37.8 °C), ends under 1/6 stop
	// at 270 s: bath-temperature withdrawn: Developer 38.1 °C (aim 37.8 °C), ends under 1/6 stop
}
