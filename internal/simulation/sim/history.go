package sim

import (
	"io"
	"slices"
	"time"

	"wetside/internal/lab"
)

// historyPlan is what the demo's lab did from one day to another: working
// days (no Sundays) of a few runs a unit, with a fault now and then; a day
// alone begins with a control strip on units that do C-41. The last
// day ends half an hour before to. Hours are those of from's time zone.
func historyPlan(seed uint64, from, to time.Time) Schedule {
	r := planRand(seed, "past")
	s := Schedule{Units: unitPlans(len(names))}
	last := to.Add(-30 * time.Minute)
	for day := from; day.Before(last); day = day.AddDate(0, 0, 1) {
		y, m, d := day.Date()
		on := time.Date(y, m, d, 8, 30, 0, 0, from.Location())
		off := on.Add(9 * time.Hour)
		if off.After(last) {
			off = last
		}
		if day.Weekday() == time.Sunday || on.Before(from) || off.Sub(on) < 2*time.Hour {
			continue
		}
		for i := range s.Units {
			late := time.Duration(r.IntN(1500)) * time.Second
			s.Units[i].Shifts = append(s.Units[i].Shifts, Shift{on.Add(late), off})
		}
	}
	for i := range s.Units {
		s.Units[i].Endless = &Endless{PauseMin: 5 * time.Minute, PauseMax: 35 * time.Minute, FaultOdds: 0.12}
		s.Units[i].Runs = morningStrip(s.Units[i])
		if len(s.Units[i].Shifts) == 0 { // nothing to do: never switched on
			s.Units[i].Shifts = []Shift{{to.AddDate(100, 0, 0), to.AddDate(100, 0, 1)}}
		}
	}
	return s
}

// morningStrip is the control strip with which a day of a unit begins that
// does C-41; a plan of more days than one has none.
func morningStrip(u UnitPlan) []RunPlan {
	if len(u.Shifts) != 1 || !slices.Contains(u.Processes, "c41") {
		return nil
	}
	return []RunPlan{{Process: "c41", Kind: lab.KindOfRunStrip}}
}

// History is the demo's lab with its past, ready for WriteCapture or Advance
// from one moment to the other. Its units publish as seldom as the contract
// allows. Faults come on top of those that chance brings.
func History(seed uint64, from, to time.Time, faults ...Fault) (*Lab, error) {
	s := historyPlan(seed, from, to)
	s.Faults = append(s.Faults, faults...)
	return New(Config{Lab: DemoLab, Seed: seed, Start: from, Cadence: Sparse, Schedule: s})
}

// WriteCapture writes what reached the broker from one moment to another as a
// capture. Virtual time before from passes without being written.
func WriteCapture(w io.Writer, l *Lab, from, to time.Time) error {
	cw := lab.NewCaptureWriter(w)
	for at := l.Start(); at.Before(to); {
		at = at.Add(time.Minute)
		if at.After(to) {
			at = to
		}
		for _, raw := range l.Advance(at) {
			if raw.Received.Before(from) {
				continue
			}
			if err := cw.Write(raw); err != nil {
				return err
			}
		}
	}
	return nil
}
