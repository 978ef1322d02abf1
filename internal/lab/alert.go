package lab

import (
	"errors"
	"time"
)

// Priority of an alert.
type Priority string

// Urgent: film or floor is at risk within minutes; high: within the hour.
// Urgent and high page, low shows on the board.
const (
	Urgent Priority = "urgent"
	High   Priority = "high"
	Low    Priority = "low"
)

// Rank orders priorities, urgent highest.
func (p Priority) Rank() int {
	switch p {
	case Urgent:
		return 3
	case High:
		return 2
	case Low:
		return 1
	}
	return 0
}

// AlertState is where an alert stands in its life. Open means not closed.
type AlertState string

// The states of the contract.
const (
	Unacknowledged        AlertState = "unacknowledged"
	Acknowledged          AlertState = "acknowledged"
	ClearedUnacknowledged AlertState = "cleared-unacknowledged"
	Closed                AlertState = "closed"
)

// Why pages of an alert are held back, besides shelving. The alert itself goes
// on and is shown.
const (
	HeldOutOfService = "out-of-service" // a person said that the unit is being repaired
	HeldLabClosed    = "lab-closed"     // nobody is there, and no run is concerned
	HeldChattering   = "chattering"     // it comes and goes several times a minute
	HeldNewRule      = "new-rule"       // the lab has had the rule for less than its trial
)

// Alert is one alert as the contract shows it.
type Alert struct {
	ID              string         `json:"id"`
	Rule            string         `json:"rule" doc:"The rule that raised it."`
	Unit            string         `json:"unit"`
	Run             string         `json:"run,omitempty"` // the id of the Run, "" outside a run
	Step            string         `json:"step,omitempty"`
	Subject         string         `json:"subject,omitempty" doc:"What it is about, such as a container."`
	Priority        Priority       `json:"priority" enum:"urgent,high,low" doc:"urgent: within minutes. high: within the hour. low: on the board only."`
	State           AlertState     `json:"state" enum:"unacknowledged,acknowledged,cleared-unacknowledged,closed" doc:"Where it stands. Open means not closed."`
	Occurrence      int            `json:"occurrence" doc:"How often the condition has come, from 1."`
	RaisedAt        Time           `json:"raised_at" doc:"When the condition held, by the unit's clock."`
	NoticedAt       Time           `json:"noticed_at" doc:"When wetside noticed it, by our clock."`
	FoundAfterwards bool           `json:"found_afterwards" doc:"It had ended when it was noticed: shown, not paged."`
	ClearedAt       *Time          `json:"cleared_at" doc:"When it returned to normal; null while it lasts."`
	AcknowledgedAt  *Time          `json:"acknowledged_at" doc:"When somebody acknowledged it."`
	AcknowledgedBy  string         `json:"acknowledged_by,omitempty"`
	ShelvedUntil    *Time          `json:"shelved_until" doc:"Until when it is shelved."`
	ShelvedBy       string         `json:"shelved_by,omitempty"`
	ShelvedReason   string         `json:"shelved_reason,omitempty"`
	Held            string         `json:"held,omitempty"` // why its pages are held back, shelving apart
	Withdrawn       bool           `json:"withdrawn,omitempty" doc:"Withdrawn: later data shows that it did not happen."`
	Message         string         `json:"message" doc:"What is wrong."`
	Consequence     string         `json:"consequence" doc:"What follows from it."`
	Response        string         `json:"response" doc:"What to do."`
	Facts           map[string]any `json:"facts" doc:"The figures behind it."`
}

// Occurrence is one episode of one condition as the rules found it: the
// rules' output, before any person had a say. Key names the condition (unit,
// run, rule, step, subject): episodes with one key follow each other.
type Occurrence struct {
	Key         string         `json:"key"`
	ID          string         `json:"id"` // derived from Key and RaisedAt
	Rule        string         `json:"rule"`
	Unit        UnitID         `json:"unit"`
	RunID       string         `json:"run,omitempty"`
	Step        string         `json:"step,omitempty"`
	N           int            `json:"n,omitempty"`
	Subject     string         `json:"subject,omitempty"`
	Priority    Priority       `json:"priority"`
	RaisedAt    time.Time      `json:"raised_at"`
	ClearedAt   time.Time      `json:"cleared_at,omitzero"` // zero while it lasts
	Latched     bool           `json:"latched,omitempty"`   // stays until acknowledged; never clears by itself
	Message     string         `json:"message"`
	Consequence string         `json:"consequence"`
	Response    string         `json:"response"`
	Facts       map[string]any `json:"facts,omitempty"`
	Quiet       bool           `json:"quiet,omitempty"` // followed for a verdict; no alert
}

// AlertEvent is one entry of an alert's append-only history.
type AlertEvent struct {
	AlertID    string    `json:"alert_id"`
	Occurrence int       `json:"occurrence"`
	At         time.Time `json:"at"`   // when wetside recorded it
	What       string    `json:"what"` // one of the Event constants
	By         string    `json:"by,omitempty"`
	Note       string    `json:"note,omitempty"`
}

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
