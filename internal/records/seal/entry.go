package seal

import (
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"wetside/internal/lab"
)

// SealedEntry is an entry in the log: what a person stated, with the time at which
// it was sealed.
type SealedEntry struct {
	SealedAt time.Time
	Entry    lab.Entry
}

type entryForm struct {
	Kind     string    `json:"record"`
	Version  int       `json:"version"`
	SealedAt time.Time `json:"sealed_at"`
	Entry    entryLine `json:"entry"`
}

// Encode gives the bytes of the entry's record.
func (e SealedEntry) Encode() ([]byte, error) {
	if e.Entry.ID == "" {
		return nil, errors.New("an entry without an id cannot be sealed")
	}
	var w jsonLines
	w.add(entryForm{KindEntry, formWhole, e.SealedAt.UTC(), entryLineOf(e.Entry)})
	return w.buf.Bytes(), w.err
}

// entryLine is an entry with what lab.Entry's own JSON leaves out. The body is a
// JSON string, so that not even its white space changes.
type entryLine struct {
	Arrival  int64 `json:"arrival"`
	Imported bool  `json:"imported,omitempty"`
	lab.Entry
	Body string `json:"body"`
}

func entryLineOf(e lab.Entry) entryLine {
	e.At, e.Entered = e.At.UTC(), e.Entered.UTC()
	return entryLine{e.Arrival, e.Imported, e, string(e.Body)}
}

func (l entryLine) entry() lab.Entry {
	e := l.Entry
	e.Arrival, e.Imported, e.Body = l.Arrival, l.Imported, nil
	if l.Body != "" {
		e.Body = json.RawMessage(l.Body)
	}
	return e
}

// ParseEntry reads the record of an entry.
func ParseEntry(b []byte) (e SealedEntry, err error) {
	var rec entryForm
	rest, err := nextLine(b, &rec)
	switch {
	case err != nil:
		return e, fmt.Errorf("record of an entry: %w", err)
	case len(rest) > 0 || rec.Kind != KindEntry || rec.Version != formWhole:
		return e, fmt.Errorf("it is a record %q of version %d; this wetside reads %q of version %d, one line", rec.Kind, rec.Version, KindEntry, formWhole)
	}
	return SealedEntry{rec.SealedAt, rec.Entry.entry()}, nil
}
