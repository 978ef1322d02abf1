package report

import (
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
	"wetside/rules"
)

// Judging is what a run is judged by, as plain data that a record can keep:
// the sheet of its process, the lab's developers, and the figures and texts
// of the rules. The zero value is the built-in sheets and rules.
type Judging struct {
	Sheet      *process.Sheet       `json:"sheet,omitempty"` // nil: the built-in one, or none
	Developers []*process.Developer `json:"developers,omitempty"`
	Rules      *rules.Data          `json:"rules,omitempty"`
	Zone       *Zone                `json:"zone,omitempty"` // of the times of day in texts; nil: UTC
}

// Zone is the lab's time of day when a run began.
type Zone struct {
	Name  string `json:"name"`
	EastS int    `json:"east_s"` // seconds east of UTC
}

// Freeze takes from a configuration what a run of one process is judged by
// that began at a moment.
func Freeze(cfg rules.Config, processID string, began time.Time) Judging {
	cfg = filled(cfg)
	j := Judging{Rules: cfg.Data}
	if cfg.Zone != nil {
		name, east := began.In(cfg.Zone).Zone()
		j.Zone = &Zone{name, east}
	}
	book := cfg.SheetsAt(began)
	if s, ok := book.Sheet(processID); ok {
		j.Sheet, j.Developers = s, book.Developers()
	}
	return j
}

func filled(cfg rules.Config) rules.Config {
	if cfg.Book == nil {
		cfg.Book = process.Builtin()
	}
	if cfg.Data == nil {
		cfg.Data = rules.Builtin()
	}
	return cfg
}

// config is the configuration to fold by.
func (j Judging) config() rules.Config {
	cfg := filled(rules.Config{Data: j.Rules})
	if j.Zone != nil {
		cfg.Zone = time.FixedZone(j.Zone.Name, j.Zone.EastS)
	}
	if j.Sheet != nil {
		cfg.Book = cfg.Book.With(j.Sheet, j.Developers...)
	}
	return cfg
}

// specs are the sheet's steps as this run was judged by: with the developer
// that the lab said is in the bottle.
type specs struct {
	sheet *process.Sheet
	steps map[string]*process.Step
}

func newSpecs(cfg rules.Config, processID string, devs []lab.DeveloperChoice) specs {
	sp := specs{steps: map[string]*process.Step{}}
	s, ok := cfg.Book.Sheet(processID)
	if !ok {
		return sp
	}
	sp.sheet = s
	for i := range s.Steps {
		st := &s.Steps[i]
		for _, c := range devs {
			if d, ok := cfg.Book.Developer(c.Developer); ok && c.Step == st.ID {
				st = st.With(d)
			}
		}
		sp.steps[st.ID] = st
	}
	return sp
}

// of is the sheet's step, nil where there is none.
func (s specs) of(step string) *process.Step { return s.steps[step] }
