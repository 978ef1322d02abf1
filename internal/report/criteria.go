package report

import (
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
	"wetside/rules"
)

// Criteria is what a run is judged by, as plain data that a record can keep:
// the sheet of its process, the lab's developers, and the figures and texts
// of the rules. The zero value is the built-in sheets and rules.
type Criteria struct {
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
// with, where it began at that time.
func Freeze(cfg rules.Config, processID string, began time.Time) Criteria {
	cfg = withBuiltin(cfg)
	j := Criteria{Rules: cfg.Data}
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

func withBuiltin(cfg rules.Config) rules.Config {
	if cfg.Book == nil {
		cfg.Book = process.Builtin()
	}
	if cfg.Data == nil {
		cfg.Data = rules.Builtin()
	}
	return cfg
}

// config is the configuration for replaying the run through the rules.
func (j Criteria) config() rules.Config {
	cfg := withBuiltin(rules.Config{Data: j.Rules})
	if j.Zone != nil {
		cfg.Zone = time.FixedZone(j.Zone.Name, j.Zone.EastS)
	}
	if j.Sheet != nil {
		cfg.Book = cfg.Book.With(j.Sheet, j.Developers...)
	}
	return cfg
}

// sheetSteps are the sheet's steps as this run was judged by: with the developer
// that the lab said is in the bottle.
type sheetSteps struct {
	sheet *process.Sheet
	steps map[string]*process.Step
}

func stepsJudgedBy(cfg rules.Config, processID string, devs []lab.DeveloperChoice) sheetSteps {
	sp := sheetSteps{steps: map[string]*process.Step{}}
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
func (s sheetSteps) of(step string) *process.Step { return s.steps[step] }
