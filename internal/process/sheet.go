package process

import (
	"maps"
	"math"
	"slices"
)

// Kinds of step.
const (
	Dev   = "dev"   // time and temperature both change the picture
	Exact = "exact" // both ways count
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
	// RangeC: what is published is the range of its limits; the aim is only
	// what a unit is usually set to.
	RangeC bool `json:",omitempty"`
	// Note says when a figure holds, for whoever sets it.
	Note string `json:",omitempty"`
	// AtC are times for other temperatures than AimC, as the sheet gives them.
	AtC []TimeAt
	// Slower is how a bath that runs to completion slows down when cold, where
	// that is published; nil: nothing is known below its limits.
	Slower  *Slower
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

// Source says where a figure comes from: From in words, Mark how it was read
// (Standing says it to people). Memory marks what was written down
// from memory: the lab's choice until it is confirmed from its own manual.
type Source struct {
	Figure string `yaml:"figure"`
	From   string `yaml:"from"`
	Mark   string `yaml:"mark"`
	Memory bool   `yaml:"memory"`
}

// Book is a set of sheets by process id and of developers. Read only once
// loaded.
type Book struct {
	sheets     map[string]*Sheet
	developers map[string]*Developer
}

// Sheet finds a sheet.
func (b *Book) Sheet(id string) (*Sheet, bool) {
	if b == nil {
		return nil, false
	}
	s, ok := b.sheets[id]
	return s, ok
}

// IDs lists the process ids, sorted.
func (b *Book) IDs() []string { return slices.Sorted(maps.Keys(b.sheets)) }

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

// TimeFor is the step's time in seconds for a push. setS is the unit's own
// set time, used only where the sheet takes its time from the unit. False
// where the time cannot be known.
func (s *Step) TimeFor(push, setS float64) (float64, bool) {
	if s.FromUnit {
		return setS, setS > 0 && (s.Push == nil || s.PushKnown(push))
	}
	if s.Push == nil {
		return s.AimS, s.AimS > 0
	}
	if !s.PushKnown(push) {
		return 0, false
	}
	v := lines(s.Push.Stops, s.Push.Values, push)
	if s.Push.Factors {
		v *= s.AimS
	}
	return v, v > 0
}

// Tolerance is how far, in seconds, the step may fall short of or exceed the
// given sheet time. For a least-time step Short is below LeastS and Over is
// above AimS.
func (s *Step) Tolerance(sheetS float64) (short, over float64) {
	switch s.Kind {
	case Dev:
		t := math.Max(3, 0.02*sheetS)
		short, over = t, t
	case Exact:
		t := math.Max(10, 0.10*sheetS)
		short, over = t, t
	default:
		short, over = math.Max(3, 0.02*s.LeastS), math.Max(60, 0.25*s.AimS)
	}
	if s.UnderS > 0 {
		short = s.UnderS
	}
	if s.OverS > 0 {
		over = s.OverS
	}
	return short, over
}

// ShortestS is the time below which the step was too short, seconds: the
// sheet's time, or the least time, less its tolerance.
func (s *Step) ShortestS(sheetS float64) float64 {
	short, _ := s.Tolerance(sheetS)
	if s.Kind == Min {
		return s.LeastS - short
	}
	return sheetS - short
}

// LongestS is the time beyond which the step was too long, seconds.
func (s *Step) LongestS(sheetS float64) float64 {
	_, over := s.Tolerance(sheetS)
	return sheetS + over
}

// lines reads y at x off straight lines through the points, the outer two
// carried on.
func lines(xs, ys []float64, x float64) float64 {
	if len(xs) == 1 {
		return ys[0]
	}
	i := 1
	for i < len(xs)-1 && x > xs[i] {
		i++
	}
	return ys[i-1] + (ys[i]-ys[i-1])*(x-xs[i-1])/(xs[i]-xs[i-1])
}
