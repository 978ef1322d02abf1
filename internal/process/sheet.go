package process

import (
	"slices"
)

// Kinds of step.
const (
	Dev   = "dev"   // time and temperature both change the picture
	Exact = "exact" // too short and too long both do harm
	Min   = "min"   // a least time; longer does no harm
)

// Sheet is what one process should be. Read only once loaded.
type Sheet struct {
	ID    string
	Name  string // for people, such as "C-41"
	What  string // for people, such as "color negative"
	Steps []Step
	// DryMaxC is the hottest the dryer may be, °C; 0 where there is no limit.
	DryMaxC float64
	// Light says when the tank may be opened.
	Light LightSafe
	// Sources say where the figures of the sheet as a whole come from.
	Sources []Source
}

// LightSafe says from when on light does no harm: InS seconds into Step, or
// after its end where AtEnd is set.
type LightSafe struct {
	Step  string
	InS   float64
	AtEnd bool
}

// Step is one step of a sheet.
type Step struct {
	ID       string // such as "developer"
	Label    string // for people, such as "developer"
	Short    string // for narrow places, such as "dev"
	Kind     string
	Wash     bool    // a wash: draws from the wash tank, no chemistry
	Fills    int     // how often it usually fills and drains, until a unit shows it
	Fixes    bool    // film that has had it for its least time is fixed
	Optional bool    // may be left out
	AimS     float64 // seconds; 0 where FromUnit
	LeastS   float64 // seconds; 0 where there is none
	UnderS   float64 // tolerance below, seconds; 0: by kind
	OverS    float64 // tolerance above, seconds; 0: by kind
	AimC     float64 // °C
	LowC     float64 // °C
	HighC    float64 // °C
	FromUnit bool    // the time is the unit's set_s
	Push     *Push   // nil: the step does not push
	Factor   Factor  // how development speed goes with temperature
	RPM      float64 // the rotation it wants; 0: what the unit usually does
	// RangeC says that only the limits are published; the aim is what a unit is
	// usually set to.
	RangeC bool `json:",omitempty"`
	// Note says when a figure holds, for whoever sets it.
	Note string `json:",omitempty"`
	// AtC are times for other temperatures than AimC, as the sheet gives them.
	AtC []TimeAt
	// ColdSlowing is how a bath that runs to completion slows down when cold, where
	// that is published; nil: nothing is known below its limits.
	Slower  *ColdSlowing
	Edges   Edges
	Sources []Source
	// Developer is the one that the step is judged by; nil: the sheet's own.
	Developer *Developer
	kinetics  *curves // of a developer with a table, kept by With
}

// Push is how long a developer runs for each push. With Factors the values
// multiply the normal time, else they are seconds.
type Push struct {
	Stops   []float64 // rising
	Values  []float64 // rising with Stops
	Factors bool
	// Spread is how many stops a stop by this table is with other films; zero
	// where nothing is said.
	Spread Factor
}

// Factor is the factor on the speed of development for 10 °C, with the range
// within which it may lie.
type Factor struct{ Best, Low, High float64 }

// Edges are where a verdict changes: in stops of push error, or for a
// developer that does not push as fractions of the sheet's time.
type Edges struct {
	InspectStops, OutStops float64
	// Fractions of the sheet's time that the equivalent may fall short of
	// or exceed; used where Ratio is set.
	Ratio                     bool
	InspectUnder, InspectOver float64
	OutUnder, OutOver         float64
}

// StepIDs lists the ids of the steps, in order.
func (s *Sheet) StepIDs() []string {
	ids := make([]string, len(s.Steps))
	for i, st := range s.Steps {
		ids[i] = st.ID
	}
	return ids
}

// Index finds a step by id, -1 where the sheet has none.
func (s *Sheet) Index(step string) int {
	return slices.IndexFunc(s.Steps, func(x Step) bool { return x.ID == step })
}

// Step finds a step by id.
func (s *Sheet) Step(id string) (*Step, bool) {
	if s == nil {
		return nil, false
	}
	if i := s.Index(id); i >= 0 {
		return &s.Steps[i], true
	}
	return nil, false
}
