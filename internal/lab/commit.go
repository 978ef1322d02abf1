package lab

import "time"

// Arrival is one thing that arrived: a good message, a refused one, or what a
// person entered.
type Arrival struct {
	Message *Message
	Refused *Quarantined
	Entry   *Entry
}

// Number is its arrival number.
func (a Arrival) Number() int64 {
	switch {
	case a.Message != nil:
		return a.Message.Arrival
	case a.Entry != nil:
		return a.Entry.Arrival
	}
	return a.Refused.Arrival
}

// Of is the unit that it speaks of; zero where it names none.
func (a Arrival) Of() UnitID {
	switch {
	case a.Message != nil:
		return a.Message.Unit
	case a.Entry != nil:
		return a.Entry.Unit
	}
	return a.Refused.Unit
}

// ReceivedAt is when it arrived.
func (a Arrival) ReceivedAt() time.Time {
	switch {
	case a.Message != nil:
		return a.Message.Received
	case a.Entry != nil:
		return a.Entry.Entered
	}
	return a.Refused.Received
}

// AppendResult says what became of a batch.
type AppendResult struct {
	New, Copies, Quarantined int
	LastArrival              int64
}

// UnitState is the stored fold state of one unit.
type UnitState struct {
	Unit    UnitID
	Arrival int64 // the last arrival number folded in
	Version int
	Blob    []byte
	Aside   *AsideMark // nil: the unit is judged
}

// AsideMark says since when a unit is not judged, why, and which program could
// not.
type AsideMark struct {
	At      time.Time
	Why     string
	Program string
}

// SetAside marks the stored state of a unit. Where none is stored yet it begins
// after the arrival number From.
type SetAside struct {
	Unit UnitID
	From int64
	AsideMark
}

// StoredAlert is an alert with what the API does not show.
//
// When late evidence moves the first occurrence, ID and FirstID change and the
// old id goes to FormerIDs: what Commit.Apply gives back with a FormerIDs entry
// that is the ID of a current alert is that same alert under a new id, and its
// history and pages stay with it.
type StoredAlert struct {
	Alert
	Key        string
	Latched    bool
	FirstID    string    // the id of its first occurrence: Alert.ID
	LastOccID  string    // the id of the occurrence it stands at
	FormerIDs  []string  // every other id that it or an occurrence of it ever had
	Episodes   []Episode // its occurrences, oldest first
	UpdatedSeq int64
}

// Page is one page to one duty target, waiting in the outbox.
type Page struct {
	AlertID    string
	Occurrence int
	Step       int // of the escalation
	Priority   Priority
	CreatedAt  time.Time
}

// Commit is what a worker writes in one transaction. Apply is called inside
// it with the alerts named by AlertKeys (the latest of each key) and AlertIDs
// as they stand, locked; it gives them as they shall stand, with the history
// entries and pages that go with it.
type Commit struct {
	AlertKeys []string
	AlertIDs  []string // occurrence ids, current or former
	Apply     func(current []StoredAlert, now time.Time) ([]StoredAlert, []AlertEvent, []Page)
	Runs      []Run
	States    []UnitState
	Aside     []SetAside // after States; a state that is written ends it
}
