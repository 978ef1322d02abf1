package audit

import (
	"wetside/internal/process"
	"wetside/rules"
)

// Judging is what a run is judged by, as plain data that a record can keep:
// the sheet of its process and the figures and texts of the rules. The zero
// value is the built-in sheets and rules.
type Judging struct {
	Sheet *process.Sheet `json:"sheet,omitempty"` // nil: the built-in one, or none
	Rules *rules.Data    `json:"rules,omitempty"`
}

// Freeze takes from a configuration what a run of one process is judged by.
func Freeze(cfg rules.Config, processID string) Judging {
	j := Judging{Rules: cfg.Data}
	if j.Rules == nil {
		j.Rules = rules.Builtin()
	}
	book := cfg.Book
	if book == nil {
		book = process.Builtin()
	}
	if s, ok := book.Sheet(processID); ok {
		j.Sheet = s
	}
	return j
}

// config is the configuration to fold by.
func (j Judging) config() rules.Config {
	cfg := rules.Config{Book: process.Builtin(), Data: j.Rules}
	if j.Sheet != nil {
		cfg.Book = cfg.Book.With(j.Sheet)
	}
	return cfg
}
