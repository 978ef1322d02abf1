package lab

import (
	"errors"
	"time"
)

// What an entry of an alert's history says.
const (
	EventRaised       = "raised"       // its first occurrence
	EventReturned     = "returned"     // a further occurrence, or a clearing taken back
	EventCleared      = "cleared"      // back to normal
	EventAcknowledged = "acknowledged" // by a person
	EventClosed       = "closed"       // nothing left to do
	EventShelved      = "shelved"      // by a person, for a time
	EventUnshelved    = "unshelved"    // by a person, or its time was up
	EventWithdrawn    = "withdrawn"    // later evidence took an occurrence back
	EventPriority     = "priority"     // it became more or less pressing
	EventHeld         = "held"         // its pages are held back; the note says why
	EventReleased     = "released"     // they are no more
	EventMoved        = "moved"        // later evidence moved an occurrence's beginning
)

// ErrStaleTerm is what a writing commit fails with when another wetside holds
// the lab meanwhile: nothing was written and nothing will be.
var ErrStaleTerm = errors.New("another wetside holds this lab: the term has ended")

// Episode is one occurrence of a stored alert, with what was made of it.
// An alert's episodes let late evidence move one or take it back. The store
// keeps them as they are, as JSON.
type Episode struct {
	Occurrence
	Number          int       `json:"number"` // its `occurrence` in the alert, given once
	Noticed         time.Time `json:"noticed"`
	FoundAfterwards bool      `json:"found_afterwards,omitempty"`
	Withdrawn       bool      `json:"withdrawn,omitempty"`
	Elsewhere       bool      `json:"elsewhere,omitempty"` // its id already names another alert, which was withdrawn
	Was             []string  `json:"was,omitempty"`       // ids it had before it was moved
	Pages           int       `json:"pages,omitempty"`     // pages made of it so far
	Told            Priority  `json:"told,omitempty"`      // the highest priority that people were paged for or acknowledged
}
