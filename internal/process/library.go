package process

import (
	"bytes"
	"fmt"
	"io/fs"
	"slices"
	"time"
)

// SheetChange is what a lab changed of one sheet, or a sheet that it added, in
// the form of a sheet's file. It stands in place of the change of that sheet
// before it; an empty Body takes that back.
type SheetChange struct {
	ID   string
	Body []byte
	From time.Time // runs that begin from then on are judged by it
}

func (c SheetChange) file() string { return "(the lab's change of " + c.ID + ")" }

// Library is the sheets of a lab as they were at any time: a run is judged by
// those that were in force when it began, whenever that is done. Read only
// once made.
type Library struct {
	dir     fs.FS
	base    *Book
	changes []SheetChange // by From
	books   []*Book       // after each change
}

// NewLibrary reads the built-in sheets and those of dir (nil: none), with the
// lab's changes, oldest first.
func NewLibrary(dir fs.FS, changes []SheetChange) (*Library, error) {
	base, err := Load(dir)
	if err != nil {
		return nil, err
	}
	l := &Library{dir: dir, base: base}
	for _, c := range changes {
		if l, err = l.With(c); err != nil {
			return nil, err
		}
	}
	return l, nil
}

// With gives the library with one more change, which must not be older than
// the last.
func (l *Library) With(c SheetChange) (*Library, error) {
	if n := len(l.changes); n > 0 && c.From.Before(l.changes[n-1].From) {
		return nil, fmt.Errorf("sheet %s: a change from %s is older than the last one", c.ID, c.From.UTC().Format(time.RFC3339))
	}
	out := &Library{dir: l.dir, base: l.base, changes: append(slices.Clone(l.changes), c)}
	book, err := load(l.dir, out.inForce())
	if err != nil {
		return nil, err
	}
	if _, ok := book.Sheet(c.ID); !ok && len(bytes.TrimSpace(c.Body)) > 0 {
		return nil, fmt.Errorf("sheet %s: the change is of a sheet with another id", c.ID)
	}
	out.books = append(slices.Clone(l.books), book)
	return out, nil
}

// inForce gives the last change of each sheet, without those taken back.
func (l *Library) inForce() []SheetChange {
	var out []SheetChange
	for _, c := range l.changes {
		out = slices.DeleteFunc(out, func(o SheetChange) bool { return o.ID == c.ID })
		if len(bytes.TrimSpace(c.Body)) > 0 {
			out = append(out, c)
		}
	}
	return out
}

// At gives the sheets in force at a moment.
func (l *Library) At(t time.Time) *Book {
	for i, c := range slices.Backward(l.changes) {
		if !c.From.After(t) {
			return l.books[i]
		}
	}
	return l.base
}

// Changed gives the lab's change of a sheet that is in force now, nil where
// there is none.
func (l *Library) Changed(id string) *SheetChange {
	for _, c := range l.inForce() {
		if c.ID == id {
			return &c
		}
	}
	return nil
}
