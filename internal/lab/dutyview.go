package lab

import "time"

// DutyNow is the duty as people see it.
type DutyNow struct {
	Plan       DutyPlan     `json:"plan"`
	Set        bool         `json:"set" doc:"False: this is the built-in plan, which names nobody."`
	Version    int          `json:"version" doc:"Rises with every change; give it back when changing the plan."`
	ChangedAt  *Time        `json:"changed_at"`
	ChangedBy  string       `json:"changed_by"`
	On         []string     `json:"on" doc:"Who is on call now, who is called first in front."`
	Dark       []DutyDark   `json:"dark"`
	Swaps      []DutySwap   `json:"swaps"`
	Gaps       []DutyGap    `json:"gaps" doc:"Stretches of the next 7 days in which nobody is on call."`
	QuietUntil *Time        `json:"quiet_until" doc:"Quiet hours hold until then; null outside of them."`
	People     []DutyPerson `json:"people"`
	Warnings   []string     `json:"warnings" doc:"What is wrong with the plan, in words."`
}

// DutyGap is a stretch in which nobody is on duty.
type DutyGap struct {
	From Time `json:"from"`
	To   Time `json:"to"`
}

// DutyPerson is somebody who can be called, or should be.
type DutyPerson struct {
	Name      string   `json:"name"`
	Role      string   `json:"role" enum:"viewer,operator,lead" doc:"What they may do."`
	Methods   []string `json:"ways" doc:"Ways that can be tried now, in order."`
	Reachable bool     `json:"reachable"`
	Why       string   `json:"why" doc:"Why no page reaches them; empty where one does."`
	On        int      `json:"on" doc:"The place among those on call, from 1; 0: not on call."`
}

// OnCall is somebody who is on call now or goes on call soon, and whether a
// page would reach them.
type OnCall struct {
	Name      string   `json:"name"`
	Place     int      `json:"place" doc:"The place among those on call then, from 1: who is called first."`
	From      *Time    `json:"from" doc:"When they go on call; null: they are on call now."`
	Methods   []string `json:"ways" doc:"Contact methods that can be tried, in order."`
	Reachable bool     `json:"reachable" doc:"At least one contact method works, as far as is known."`
	Why       string   `json:"why" doc:"Why no page reaches them; empty where one does."`
}

// What the board shows as a fault of paging, or of the monitor itself.
const (
	FaultNobodyOnDuty      = "nobody-on-duty"
	FaultNobodyReachable   = "nobody-reachable"
	FaultOnCallUnreachable = "on-call-unreachable"
	FaultSoonUnreachable   = "soon-on-call-unreachable" // somebody goes on call in the next hours
	FaultNoPlan            = "no-plan"
	FaultPagesWaiting      = "pages-not-going-out"
	FaultMethodFailing     = "way-failing"
	FaultAllDark           = "all-dark"
	FaultNoAddress         = "no-address"
	FaultHeartbeat         = "heartbeat-failing"
	FaultNotSealed         = "records-not-sealed"
	FaultUnitNotJudged     = "unit-not-judged"
	FaultRulesStill        = "rules-stand-still"
	FaultBroker            = "broker-away"
	FaultDatabase          = "database-away"
	FaultDisk              = "disk-space-low"
	FaultTakenOver         = "taken-over"
)

// DutyFault is something wrong with paging itself, or with the monitor.
type DutyFault struct {
	Code  string `json:"code" enum:"nobody-on-duty,nobody-reachable,on-call-unreachable,soon-on-call-unreachable,no-plan,pages-not-going-out,way-failing,all-dark,no-address,heartbeat-failing,records-not-sealed,unit-not-judged,rules-stand-still,broker-away,database-away,disk-space-low,taken-over" doc:"What it is."`
	Text  string `json:"text"`
	Since *Time  `json:"since" doc:"Since when; null where that is not known."`
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
var PagedFaults = []string{FaultNotSealed, FaultUnitNotJudged, FaultRulesStill, FaultBroker, FaultDisk, FaultTakenOver}

// MethodFault is a contact method of a person that keeps failing.
type MethodFault struct {
	Person   string `json:"person"`
	Method   string `json:"way" enum:"push,webhook,mail" doc:"By what."`
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
	LastAt *Time  `json:"last_at" doc:"When the other end last took one."`
	Detail string `json:"detail"`
}

// DutyStatus is whether an alert would reach a person now.
type DutyStatus struct {
	Faults         []DutyFault   `json:"faults"`
	On             []string      `json:"on"`
	OnCall         []OnCall      `json:"on_call" doc:"Who is on call now, who is called first in front, then who goes on call in the next 12 hours."`
	Dark           []DutyDark    `json:"dark"`
	Waiting        int           `json:"waiting" doc:"Messages that should have gone out and did not yet."`
	OldestWaitingS *float64      `json:"oldest_waiting_s" doc:"How long the oldest of them has waited, seconds; null where none does."`
	Failing        []MethodFault `json:"failing"`
	Push           Available     `json:"push"`
	Mail           Available     `json:"mail"`
	Heartbeat      HeartbeatNow  `json:"heartbeat"`
}

// ContactsView is how a person is reached, as it may be shown.
type ContactsView struct {
	Contacts
	Signed bool   `json:"webhook_signed"`
	Secret string `json:"webhook_secret" doc:"The key that signs the webhook; in the answer that made it only."`
}

// ContactsRequest changes how a person is reached.
type ContactsRequest struct {
	Methods []string `json:"ways"`
	Mail    string   `json:"mail"`
	Webhook string   `json:"webhook"`
	Secret  string   `json:"webhook_secret,omitempty"`
}

// Try is one try of a message by one contact method.
type Try struct {
	At      Time    `json:"at"`
	Method  string  `json:"way" enum:"push,webhook,mail" doc:"By what."`
	Outcome string  `json:"outcome" enum:"sent,failed,gone,unavailable" doc:"How it went."`
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
	Step      int      `json:"step" doc:"The step of the escalation, from 0, repeats included."`
	Person    string   `json:"person"`
	Priority  Priority `json:"priority" enum:"urgent,high,low" doc:"That it was paged at."`
	MadeAt    Time     `json:"made_at"`
	State     string   `json:"state" enum:"held,waiting,sent,dropped" doc:"Where it stands."`
	Why       string   `json:"why"`
	HeldUntil *Time    `json:"held_until" doc:"The person works in the dark until then."`
	MessageID string   `json:"message_id"`
	SentAt    *Time    `json:"sent_at"`
	SentBy    string   `json:"sent_by" doc:"The way by which the other end took it."`
	OpenedAt  *Time    `json:"opened_at" doc:"When its link was first opened."`
	Tries     []Try    `json:"tries"`
}

// NextPage is when the escalation goes on.
type NextPage struct {
	At     Time     `json:"at"`
	Step   int      `json:"step" doc:"The step of the escalation, from 0."`
	People []string `json:"people" doc:"Whom it pages as things stand; empty: nobody can be paged then."`
}

// AlertPages are all pages about one alert.
type AlertPages struct {
	Pages      []PageView `json:"pages"`
	Next       *NextPage  `json:"next" doc:"When the escalation goes on; null: nobody else is called."`
	AnsweredBy string     `json:"answered_by"`
	AnsweredAt *Time      `json:"answered_at"`
}

// PageTest is one test of one contact method of one person.
type PageTest struct {
	ID     string `json:"id"`
	Method string `json:"way" enum:"push,webhook,mail" doc:"By what."`
	At     Time   `json:"at"`
	State  string `json:"state" enum:"waiting,sent,dropped,held" doc:"Where it stands."`
	Tries  []Try  `json:"tries"`
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
