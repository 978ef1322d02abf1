package lab

import (
	"encoding/json"
	"strings"
	"unicode/utf8"
)

// BookLine is one line of a book that the lab writes by hand: a mix that was
// made, a container that was emptied. A line is corrected by a later version of
// it, with the reason; every version stays.
type BookLine struct {
	Book    string          `json:"-"`
	ID      string          `json:"id"`
	Version int             `json:"version" doc:"1 as it was first written; each correction counts one on."`
	At      Time            `json:"at" doc:"When it was so."`
	Entered Time            `json:"entered" doc:"When this version was written."`
	By      string          `json:"by" doc:"Who wrote this version."`
	Why     string          `json:"why,omitempty" doc:"Why it was corrected; absent in the first version."`
	Body    json.RawMessage `json:"-"`
}

// The books.
const (
	BookMixes = "mixes" // Mix
	BookWaste = "waste" // WasteLine
)

// MaxBookID is how long the id of a line may be.
const MaxBookID = 64

// Check says what is wrong with the line as such.
func (l BookLine) Check() error {
	switch {
	case l.Book != BookMixes && l.Book != BookWaste:
		return Errorf(KindInvalid, "book must be %s or %s; got %q", BookMixes, BookWaste, l.Book)
	case l.ID == "" || len(l.ID) > MaxBookID:
		return Errorf(KindInvalid, "the id of a line must be 1 to %d characters", MaxBookID)
	case l.Version < 1:
		return Errorf(KindInvalid, "version must be 1 or more; got %d", l.Version)
	case strings.TrimSpace(l.By) == "":
		return Errorf(KindInvalid, "a line must have the name of who wrote it")
	case l.Version > 1 && strings.TrimSpace(l.Why) == "":
		return Errorf(KindInvalid, "why is missing: a correction says why")
	case len(l.Body) > MaxEntryBody:
		return Errorf(KindInvalid, "a line must be at most %d bytes long; got %d", MaxEntryBody, len(l.Body))
	case !utf8.ValidString(l.Why) || !utf8.Valid(l.Body) || strings.Contains(l.Why, "\x00"):
		return Errorf(KindInvalid, "the line holds a NUL or is not UTF-8")
	}
	return nil
}

// LineBody reads the body of a line; what does not read says nothing.
func LineBody[T any](l BookLine) (v T) {
	_ = json.Unmarshal(l.Body, &v)
	return v
}
