package lab

import "time"

// DutyNow is the duty as people see it.
type DutyNow struct {
	Plan       DutyPlan     `json:"plan"`
	Set        bool         `json:"set"` // false: the built-in plan, which names nobody
	Version    int          `json:"version"`
	ChangedAt  *Time        `json:"changed_at"`
	ChangedBy  string       `json:"changed_by"`
	On         []string     `json:"on"`
	Dark       []DutyDark   `json:"dark"`
	Swaps      []DutySwap   `json:"swaps"`
	Gaps       []DutyGap    `json:"gaps"`
	QuietUntil *Time        `json:"quiet_until"`
	People     []DutyPerson `json:"people"`
	Warnings   []string     `json:"warnings"`
}

// DutyGap is a stretch in which nobody is on duty.
type DutyGap struct {
	From Time `json:"from"`
	To   Time `json:"to"`
}

// DutyPerson is somebody who can be called, or should be.
type DutyPerson struct {
	Name      string   `json:"name"`
	Role      string   `json:"role"`
	Ways      []string `json:"ways"` // that can be tried now, in order
	Reachable bool     `json:"reachable"`
	Why       string   `json:"why"` // why no page reaches them
	On        int      `json:"on"`  // the place among those on duty, from 1; 0: not on
}

// OnCall is somebody who is on call now or goes on call soon, and whether a
// page would reach them.
type OnCall struct {
	Name      string   `json:"name"`
	Place     int      `json:"place"`     // from 1: who is called first
	From      *Time    `json:"from"`      // when they go on call; null: they are on call now
	Ways      []string `json:"ways"`      // contact methods that can be tried, in order
	Reachable bool     `json:"reachable"` // at least one of them works, as far as is known
	Why       string   `json:"why"`       // what keeps pages from them
}

// What the board shows as a fault of paging, or of the monitor itself.
const (
	FaultNobodyOnDuty      = "nobody-on-duty"
	FaultNobodyReachable   = "nobody-reachable"
	FaultOnCallUnreachable = "on-call-unreachable"
	FaultSoonUnreachable   = "soon-on-call-unreachable" // somebody goes on call in the next hours
	FaultNoPlan            = "no-plan"
	FaultPagesWaiting      = "pages-not-going-out"
	FaultWayFailing        = "way-failing"
	FaultAllDark           = "all-dark"
	FaultNoAddress         = "no-address"
	FaultHeartbeat         = "heartbeat-failing"
	FaultNotSealed         = "records-not-sealed"
	FaultUnitNotJudged     = "unit-not-judged"
	FaultRulesStill        = "rules-stand-still"
	FaultBroker            = "broker-away"
	FaultDatabase          = "database-away"
	FaultDisk              = "disk-space-low"
)

// DutyFault is something wrong with paging itself, or with the monitor.
type DutyFault struct {
	Code  string `json:"code"`
	Text  string `json:"text"`
	Since *Time  `json:"since"`
	// What the alert says that the fault becomes when it lasts as long as
	// PageAfter; 0: the board alone shows it. Only faults of lab.PagedFaults.
	PageAfter   time.Duration `json:"-"`
	Subject     string        `json:"-"` // tells faults of one code apart
	Consequence string        `json:"-"`
	Response    string        `json:"-"`
	Priority    Priority      `json:"-"` // Defaults to high
}

// PagedFaults are the faults of other parts of the monitor that page when they
// last.
var PagedFaults = []string{FaultNotSealed, FaultUnitNotJudged, FaultRulesStill, FaultBroker, FaultDisk}

// WayFault is a way to a person that keeps failing.
type WayFault struct {
	Person   string `json:"person"`
	Way      string `json:"way"`
	Since    Time   `json:"since"`
	Failures int    `json:"failures"`
	Detail   string `json:"detail"`
}

// Available says whether something is there, and why not.
type Available struct {
	Available bool   `json:"available"`
	Why       string `json:"why"`
}

// HeartbeatNow is how the heartbeat goes.
type HeartbeatNow struct {
	On     bool   `json:"on"`
	LastAt *Time  `json:"last_at"` // when the other end last took one
	Detail string `json:"detail"`
}

// DutyStatus is whether an alert would reach a person now.
type DutyStatus struct {
	Faults         []DutyFault  `json:"faults"`
	On             []string     `json:"on"`
	OnCall         []OnCall     `json:"on_call"`
	Dark           []DutyDark   `json:"dark"`
	Waiting        int          `json:"waiting"`
	OldestWaitingS *float64     `json:"oldest_waiting_s"`
	Failing        []WayFault   `json:"failing"`
	Push           Available    `json:"push"`
	Mail           Available    `json:"mail"`
	Heartbeat      HeartbeatNow `json:"heartbeat"`
}

// ContactsView is how a person is reached, as it may be shown.
type ContactsView struct {
	Contacts
	Signed bool   `json:"webhook_signed"`
	Secret string `json:"webhook_secret"` // only in the answer that made it
}

// ContactsRequest changes how a person is reached.
type ContactsRequest struct {
	Ways    []string `json:"ways"`
	Mail    string   `json:"mail"`
	Webhook string   `json:"webhook"`
	Secret  string   `json:"webhook_secret,omitempty"`
}

// Try is one try of a message by one way.
type Try struct {
	At      Time    `json:"at"`
	Way     string  `json:"way"`
	Outcome string  `json:"outcome"`
	Detail  string  `json:"detail"`
	TookMS  float64 `json:"took_ms"`
}

// Where a page stands.
const (
	PageHeld    = "held" // the person works in the dark
	PageWaiting = "waiting"
	PageSent    = "sent"
	PageDropped = "dropped" // nobody needed it any more
)

// PageView is one page to one person, and what became of it.
type PageView struct {
	ID        int64    `json:"id"`
	Step      int      `json:"step"`
	Person    string   `json:"person"`
	Priority  Priority `json:"priority"`
	MadeAt    Time     `json:"made_at"`
	State     string   `json:"state"`
	Why       string   `json:"why"`
	HeldUntil *Time    `json:"held_until"`
	MessageID string   `json:"message_id"`
	SentAt    *Time    `json:"sent_at"`
	SentBy    string   `json:"sent_by"`
	OpenedAt  *Time    `json:"opened_at"`
	Tries     []Try    `json:"tries"`
}

// NextPage is when the escalation goes on.
type NextPage struct {
	At     Time     `json:"at"`
	Step   int      `json:"step"`
	People []string `json:"people"` // empty: nobody can be paged then, as things stand
}

// AlertPages are all pages about one alert.
type AlertPages struct {
	Pages      []PageView `json:"pages"`
	Next       *NextPage  `json:"next"` // null: nobody else is called
	AnsweredBy string     `json:"answered_by"`
	AnsweredAt *Time      `json:"answered_at"`
}

// PageTest is one test of one way to one person.
type PageTest struct {
	ID    string `json:"id"`
	Way   string `json:"way"`
	At    Time   `json:"at"`
	State string `json:"state"`
	Tries []Try  `json:"tries"`
}

// LinkView is what the link of a page shows.
type LinkView struct {
	Person  string
	Title   string
	Made    Time
	Expires Time
	Test    bool
	Seen    bool // a test that was answered
	Items   []LinkItem
	More    int
	Open    bool     // something can still be done about one of the items
	Next    []string // who is paged next, where somebody asks for it
	NoNext  string   // why nobody is; empty where somebody is
	May     bool     // the person may acknowledge and shelve
	Zone    string
}

// LinkItem is one alert behind a link.
type LinkItem struct {
	Alert      Alert
	Occurrence int    // that the link is about
	Open       bool   // something can still be done by way of this link
	Note       string // where it stands, in words
}

// The buttons of a page's link.
const (
	LinkAcknowledge = "acknowledge"
	LinkShelve      = "shelve"
	LinkCallNext    = "call-next"
)

// LinkRequest is a button that was pressed.
type LinkRequest struct {
	What    string
	AlertID string // one of the link's alerts; empty: all of them
	Minutes int    // for how long to shelve
	Reason  string // why it may wait
}
