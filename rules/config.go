package rules

import (
	"time"

	"wetside/internal/process"
)

// Config is what units are judged by. All of it is data.
type Config struct {
	Book *process.Book // the process sheets
	Data *Data         // holds, limits, waits, texts
	// BookAt, where set, gives the sheets that were in force at a moment, in
	// place of Book: a run is judged by those of its beginning, whenever that
	// is done.
	BookAt func(time.Time) *process.Book
	// Library is what Book was taken from, for who adds the lab's changes to it.
	Library *process.Library
	// Zone is where the lab is: times of day in texts are of its clock.
	// Defaults to UTC; texts then say so.
	Zone *time.Location

	with map[judgedWith]*process.Step // steps with a developer that the lab chose
	at   map[judgedAt]*process.Step   // steps at another temperature than the sheet's
}

type judgedWith struct {
	step *process.Step
	by   *process.Developer
}

type judgedAt struct {
	step *process.Step
	aimC float64
}

// atKept is the cap of steps at other temperatures that are kept.
const atKept = 512

// stepAt is a step at another temperature, for sheets that leave the temperature
// to the unit or have a time for it.
func (c *Config) stepAt(sp *process.Step, aimC float64) *process.Step {
	if aimC <= 0 || aimC == sp.AimC || c.at == nil {
		return sp
	}
	key := judgedAt{sp, aimC}
	if out := c.at[key]; out != nil {
		return out
	}
	if len(c.at) >= atKept {
		clear(c.at)
	}
	out := sp.At(aimC)
	c.at[key] = out
	return out
}

// WithDefaults fills what is not set with the built-in sheets and rules.
func (c Config) WithDefaults() Config {
	if c.Book == nil {
		c.Book = process.Builtin()
	}
	if c.Data == nil {
		c.Data = Builtin()
	}
	c.with, c.at = map[judgedWith]*process.Step{}, map[judgedAt]*process.Step{}
	return c
}

// SheetsAt gives the sheets in force at a moment.
func (c *Config) SheetsAt(t time.Time) *process.Book {
	if c.BookAt != nil {
		return c.BookAt(t)
	}
	return c.Book
}

// stepWith is a step with a developer of the book; an id that the book does not
// have changes nothing.
func (c *Config) stepWith(book *process.Book, sp *process.Step, id string) *process.Step {
	d, ok := book.Developer(id)
	if !ok {
		return sp
	}
	key := judgedWith{sp, d}
	if c.with[key] == nil {
		c.with[key] = sp.With(d)
	}
	return c.with[key]
}

// JudgementVersion is raised when the same messages may be judged differently than
// before. It tells, of a sealed record that the program judges differently now,
// that the program has changed and not the record. 1: before readings were believed or not. 2: with
// belief, dead bands and bounds of probes that were never checked. 3: film over
// several runs, names of steps, steps inside holes, the time in a step as the
// unit counts it. 4: the run of a control strip has a verdict. 5: bounds by the
// probe's class, and by drift alone against a house aim; the spread of three-bath
// E-6's push times; where each figure of a report is from. 6: a developer that
// was mostly unread is judged by what is so whatever its bath did. 7: the words
// of reasons; a fault seen without a word of which rolls is taken for none of all
// or some of them. 8: a level that a person measured counts beside a sensor.
const JudgementVersion = 8
