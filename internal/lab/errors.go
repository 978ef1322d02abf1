package lab

import (
	"errors"
	"fmt"
)

// Kind says what an error means to the person or program that asked.
type Kind int

// The kinds. The zero value is an internal failure.
const (
	KindInternal    Kind = iota
	KindInvalid          // what was asked for is not well formed
	KindNotFound         // there is no such thing
	KindConflict         // it is not in a state that allows it
	KindForbidden        // this person may not
	KindUnavailable      // not now: try again
)

// ErrUnstorable says that the database cannot hold what it was given: the same
// again would fail again.
var ErrUnstorable = errors.New("the database cannot hold this")

// Error is an error with a kind and a text that may be shown to the person
// who asked; the cause behind it is for the log.
type Error struct {
	Kind  Kind
	Text  string
	Cause error
}

// Errorf makes an *Error. A %w verb gives its cause.
func Errorf(kind Kind, format string, args ...any) *Error {
	err := fmt.Errorf(format, args...)
	return &Error{Kind: kind, Text: err.Error(), Cause: errors.Unwrap(err)}
}

// Error implements error.
func (e *Error) Error() string { return e.Text }

// Unwrap gives the cause.
func (e *Error) Unwrap() error { return e.Cause }

// KindOf finds the kind of err, KindInternal when it has none.
func KindOf(err error) Kind {
	var e *Error
	if errors.As(err, &e) {
		return e.Kind
	}
	return KindInternal
}
