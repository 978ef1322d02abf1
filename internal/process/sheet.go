package process

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
	Steps []Step
	// DryMaxC is the hottest the dryer may be, °C.
	DryMaxC float64
}

// Step is one step of a sheet.
type Step struct {
	ID       string // such as "developer"
	Label    string // for people, such as "developer"
	Short    string // for narrow places, such as "dev"
	Kind     string
	Wash     bool    // a wash: draws from the wash tank, no chemistry
	Optional bool    // may be left out
	AimS     float64 // 0 where FromUnit
	LeastS   float64 // 0 where there is none
	AimC     float64
	LowC     float64
	HighC    float64
	FromUnit bool // the time is the unit's set_s
}

// Book is a set of sheets by process id. Read only once loaded.
type Book struct{ sheets map[string]*Sheet }

// Sheet finds a sheet.
func (b *Book) Sheet(id string) (*Sheet, bool) {
	s, ok := b.sheets[id]
	return s, ok
}
