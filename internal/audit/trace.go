package audit

import "wetside/internal/lab"

// Row is one line of the trace: one set of readings with the place in the run
// where it was taken.
type Row struct {
	At    lab.Time
	Step  string
	N     int
	Phase lab.Phase
	// Readings, °C; nil where not measured.
	BathC, PreheatC, RoomC *float64
	// RPM is the last rotation heard; nil where none was.
	RPM *float64
	// Limits of the step's bath, °C; nil where there is no sheet.
	LowC, HighC *float64
	// EquivalentS is the equivalent time of the step so far, in a developer.
	EquivalentS *float64
}
