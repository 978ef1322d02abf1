package report

import (
	"time"

	"wetside/internal/lab"
)

// Options are how a report is shown; they change nothing of what it says.
type Options struct {
	// Zone is the zone of the times of day. Defaults to UTC.
	Zone *time.Location
	// Units are the units of measure that it is read in. Defaults to degrees
	// Celsius and liters.
	Units lab.Units
}

func (o Options) zone() *time.Location {
	if o.Zone == nil {
		return time.UTC
	}
	return o.Zone
}

// clock is a time of day; day is with its date.
func (o Options) clock(t lab.Time) string { return t.In(o.zone()).Format("15:04:05") }

func (o Options) day(t lab.Time) string { return t.In(o.zone()).Format("2 January 2006, 15:04 MST") }

// inReadersUnits is a step with its temperatures in the reader's units.
func (o Options) inReadersUnits(s lab.RunStep) lab.RunStep {
	for _, c := range []**float64{&s.LowC, &s.HighC, &s.MeanC, &s.MinC, &s.MaxC} {
		if *c != nil {
			v := o.Units.Degrees(**c)
			*c = &v
		}
	}
	return s
}
