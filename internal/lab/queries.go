package lab

import "time"

// AlertFilter selects alerts; zero fields select all.
type AlertFilter struct {
	Open  *bool
	Unit  string
	Rule  string
	Since time.Time
	Limit int
}

// RunFilter selects runs; zero fields select all.
type RunFilter struct {
	Roll, Unit, Process, Verdict string
	Order                        string // the order of one of its rolls
	Query                        string // a roll, an order, or the beginning of the run's own name
	Decision                     string // one of Decisions, or Undecided
	From, To                     time.Time
	Limit                        int
	OldestFirst                  bool
}

// Undecided is what RunFilter.Decision says for runs that nobody decided on.
const Undecided = "none"

// ExportFilter selects stored telemetry; zero fields select all.
type ExportFilter struct {
	Unit     string
	From, To time.Time
	Entries  bool // also what people entered
}

// TracePoint is one set of readings.
type TracePoint struct {
	At       Time     `json:"at" doc:"When, by the unit's clock."`
	BathC    *float64 `json:"bath_c,omitempty" doc:"The liquid on the film, degrees Celsius."`
	PreheatC *float64 `json:"preheat_c,omitempty" doc:"The next bath in its bottle, degrees Celsius."`
	WashC    *float64 `json:"wash_c,omitempty" doc:"The water in the wash tank, degrees Celsius."`
	DryerC   *float64 `json:"dryer_c,omitempty" doc:"The dryer, degrees Celsius."`
	RoomC    *float64 `json:"room_c,omitempty" doc:"The room, degrees Celsius."`
}

// LevelPoint is the levels of a unit's containers at one moment, liters.
type LevelPoint struct {
	At      Time               `json:"at"`
	LevelsL map[string]float64 `json:"levels_l" doc:"What each container held, liters."`
}
