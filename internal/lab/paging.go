package lab

import "time"

// NewPage is a page that the outbox holds, with its alert as it stands.
type NewPage struct {
	Page
	OutboxID int64
	Alert    Alert
}

// PageCase is what people are called about: the alerts of one cause that
// nobody has answered yet. Its steps are those of the escalation.
type PageCase struct {
	ID       int64
	Group    string // what the alerts have in common: see escalate.Group
	Priority Priority
	OpenedAt time.Time
	Step     int       // steps made so far
	Base     int       // the step at which the present ladder began
	DueAt    time.Time // when the next step is due
	EndedAt  time.Time // zero: open
	Why      string    // why it ended
	Members  []PageMember
	Fresh    bool // something urgent joined what was urgent already; not stored
}

// PageMember is one occurrence of an alert in a case.
type PageMember struct {
	AlertID    string
	Occurrence int
	Priority   Priority  // that it was paged at
	Since      time.Time // when the page was made
	Answered   time.Time // when a person answered it by way of a page or the board
	AnsweredBy string
	Alert      Alert // as it stands
}

// CasePage is one step's page to one person.
type CasePage struct {
	ID        int64
	CaseID    int64
	Step      int
	Person    string
	Priority  Priority
	NotBefore time.Time
	CreatedAt time.Time
	MessageID string
}

// CaseChange is a case as it shall stand. A zero ID makes a new one; Members
// are those that join; Pages those of its new steps.
type CaseChange struct {
	Case  PageCase
	Join  []PageMember
	Pages []CasePage
}

// PageItem is one alert that a message tells of.
type PageItem struct {
	AlertID     string   `json:"alert_id"`
	Occurrence  int      `json:"occurrence"`
	Rule        string   `json:"rule"`
	Unit        string   `json:"unit"`
	Priority    Priority `json:"priority"`
	RaisedAt    Time     `json:"raised_at"`
	Message     string   `json:"message"`
	Consequence string   `json:"consequence"`
	Response    string   `json:"response"`
}

// PageBody is what a message says. It is made as it is sent, and made anew
// under the same id where it is tried again: what holds then may be another
// thing. A receiver drops copies by the id; the first carries its own end.
type PageBody struct {
	Title string     `json:"title"`
	Text  string     `json:"text"`
	Link  string     `json:"link,omitempty"`
	Topic string     `json:"topic,omitempty"` // a newer message of the same topic replaces one not yet seen
	Items []PageItem `json:"items"`
	More  int        `json:"more,omitempty"` // alerts that found no room in Items
	Test  bool       `json:"test,omitempty"`
	Until Time       `json:"until,omitzero"`  // from when on the text no longer holds; zero: for as long as anybody likes
	After string     `json:"after,omitempty"` // what holds from then on
	Again bool       `json:"again,omitempty"` // they were called before
}

// PageMessage is one message to one person. Its ID never changes, however
// often it is tried: a receiver drops copies by it.
type PageMessage struct {
	ID         string
	Person     string
	Priority   Priority
	CreatedAt  time.Time
	Body       PageBody
	OnlyMethod string // a test of one contact method; "" else
	Tries      int
	NextTry    time.Time
	SentAt     time.Time // zero: not yet
	SentBy     string    // the contact method
	DroppedAt  time.Time // zero: it is still wanted
	Why        string    // why it was dropped
	PageIDs    []int64
	Cases      []int64
}

// PersonQueue is all that waits for one person.
type PersonQueue struct {
	Pages    []CasePage // in no message yet
	Messages []PageMessage
	Cases    map[int64]PageCase // of Pages and Messages
	Recent   []RecentPage       // messages that were made lately, oldest first
}

// RecentPage is when a message was made, and how pressing it was.
type RecentPage struct {
	At       time.Time
	Priority Priority
}

// QueueDecision is what to do about a queue: drop what nobody needs any more,
// then try one message, new (with its pages) or again; or nothing until Wait.
type QueueDecision struct {
	DropPages    map[int64]string  // page id: why
	DropMessages map[string]string // message id: why
	// HoldPages are pages that were made before their person went into the
	// dark: until when they wait. Where a step reaches nobody else, the next
	// comes at once.
	HoldPages map[int64]time.Time
	New       *PageMessage
	Again     string
	Body      *PageBody // what Again says now; nil: what it said
	NextTry   time.Time // when to try once more if this try tells nothing
	Wait      time.Time // zero: until something new comes
}

// Delivery is one try of one message by one contact method.
type Delivery struct {
	MessageID string
	Person    string
	Try       int
	At        time.Time
	Took      time.Duration
	Method    string
	Outcome   string
	Detail    string
}

// How a try went.
const (
	OutcomeSent        = "sent"        // the other end took it
	OutcomeFailed      = "failed"      // it did not, or gave no answer
	OutcomeGone        = "gone"        // it says that there is nobody there any more
	OutcomeUnavailable = "unavailable" // this contact method is not there now: no internet, no HTTPS, not set up
)

// MethodHealth is how one contact method of one person has gone lately.
type MethodHealth struct {
	Person       string
	Method       string
	Failures     int // since the last success
	FailingSince time.Time
	LastTry      time.Time
	LastOK       time.Time
	Detail       string
}

// PageRecord is what became of one page: for the alert's view.
type PageRecord struct {
	CasePage
	Message    *PageMessage
	Deliveries []Delivery
	OpenedAt   time.Time // when its link was first opened
}

// PageLog is one thing done by way of a page's link.
type PageLog struct {
	MessageID string
	At        time.Time
	Person    string
	What      string // opened, acknowledged, shelved, called-next, refused
	AlertID   string
	Detail    string
}
