package lab

import "time"

// Who a step of an escalation goes to.
const (
	WhoFirst     = "first"     // the first who is on duty
	WhoSecond    = "second"    // the second who is on duty
	WhoEverybody = "everybody" // all who can be reached
	WhoNamed     = "named"     // one person
)

// The contact methods a page goes out.
const (
	MethodPush    = "push"    // to a phone's browser
	MethodMail    = "mail"    // SMTP
	MethodWebhook = "webhook" // a signed POST; an SMS or voice service is one
)

// Methods lists them, the quickest first.
var Methods = []string{MethodPush, MethodWebhook, MethodMail}

// DutyPlan is who is called when, and how hard. It is data of the lab; each
// version is kept.
type DutyPlan struct {
	TimeZone      string       `json:"time_zone" doc:"IANA name of the lab's time zone."`
	Hours         []DutyHours  `json:"hours"`
	Urgent        []DutyStep   `json:"urgent" doc:"Steps for what is urgent; the last repeats."`
	High          []DutyStep   `json:"high" doc:"Steps for what is high; the last repeats."`
	RepeatUrgentS int          `json:"repeat_urgent_s" doc:"After how long the last step repeats, seconds."`
	RepeatHighS   int          `json:"repeat_high_s" doc:"After how long the last step repeats, seconds."`
	Quiet         []QuietHours `json:"quiet"`
	Flood         DutyFlood    `json:"flood"`
	RetriesS      []int        `json:"retries_s" doc:"Waits before each try of a message, seconds; the last repeats."`
	LinkHours     int          `json:"link_hours" doc:"How long the link in a page works, hours."`
	WeeklyTest    *WeeklyTest  `json:"weekly_test,omitempty"`
	Address       string       `json:"address" doc:"Where a phone reaches the board, such as https://board.example."`
}

// DutyHours are who is on duty when; who comes first is called first. To at
// or before From means the next day; days are those on which it begins.
type DutyHours struct {
	Days   []string `json:"days" doc:"Days on which the hours begin: mon to sun."`
	From   string   `json:"from" doc:"Wall clock of the lab, such as 08:00."`
	To     string   `json:"to" doc:"Wall clock of the lab, such as 08:00. At or before from: the next day."`
	People []string `json:"people" doc:"Who is on call, who is called first in front."`
}

// QuietHours hold back what is not urgent.
type QuietHours struct {
	Days []string `json:"days" doc:"Days on which the hours begin: mon to sun."`
	From string   `json:"from" doc:"Wall clock of the lab, such as 08:00."`
	To   string   `json:"to" doc:"Wall clock of the lab, such as 08:00. At or before from: the next day."`
}

// DutyStep is one step of an escalation.
type DutyStep struct {
	Who    string `json:"who" enum:"first,second,everybody,named" doc:"Whom it calls."`
	Person string `json:"person,omitempty" doc:"Whom, where named."`
	AfterS int    `json:"after_s" doc:"After the step before without an acknowledgement, seconds. The second step comes at a quarter of the time to respond at the latest."`
}

// DutyFlood bounds how often one phone rings. Pages beyond it wait and go out
// as one.
type DutyFlood struct {
	Pages   int `json:"pages" doc:"At most so many messages in in_s; 0: no bound."`
	InS     int `json:"in_s" doc:"In so long, seconds."`
	GatherS int `json:"gather_s" doc:"How long the second message waits for others to join it, seconds."`
}

// WeeklyTest is when every contact method of every person is tried.
type WeeklyTest struct {
	Day string `json:"day"`
	At  string `json:"at"`
}

// DutySwap puts one person in place of another in the hours that begin on one
// day. On may be empty: nobody stands in.
type DutySwap struct {
	ID   int64  `json:"id"`
	Day  string `json:"day" doc:"The day on which the hours begin, by the lab's clock."`
	Off  string `json:"off"`
	On   string `json:"on" doc:"Who stands in; empty: nobody."`
	Note string `json:"note,omitempty"`
	By   string `json:"by"`
	At   Time   `json:"at"`
}

// DutyDark says that a person works in the dark: their phone must not light up.
type DutyDark struct {
	Person string `json:"person"`
	Until  Time   `json:"until"`
}

// Contacts are how one person is reached, the contact methods in the order they
// are tried.
type Contacts struct {
	Person     string             `json:"person"`
	Role       string             `json:"-"` // what they may do
	Methods    []string           `json:"ways" doc:"In the order they are tried."`
	Mail       string             `json:"mail"`
	Webhook    string             `json:"webhook"`
	Secret     string             `json:"-"` // of the webhook, whsec_...
	WebhookOff *Time              `json:"webhook_off" doc:"When its other end said that it is gone (410); null while it is used."`
	Push       []PushSubscription `json:"push"`
}

// PushSubscription is one browser that takes pages (Push API).
type PushSubscription struct {
	ID       int64  `json:"id"`
	Person   string `json:"person"`
	Device   string `json:"device"`
	Endpoint string `json:"-"`
	P256dh   string `json:"-"`
	Auth     string `json:"-"`
	At       Time   `json:"at"`
}

// Usable lists the contact methods by which a page can be tried at all, in order.
func (c Contacts) Usable() []string {
	var out []string
	for _, w := range c.Methods {
		switch {
		case w == MethodMail && c.Mail != "",
			w == MethodWebhook && c.Webhook != "" && c.WebhookOff == nil,
			w == MethodPush && len(c.Push) > 0:
			out = append(out, w)
		}
	}
	return out
}

// DutyState is everything that decides who is called, as it stands.
type DutyState struct {
	Plan       *DutyPlan // nil: never set
	Version    int
	ChangedAt  time.Time
	ChangedBy  string
	Swaps      []DutySwap // of yesterday and later
	Dark       []DutyDark // not over yet
	Contacts   []Contacts // of everybody who signs in, by name
	LastWeekly time.Time  // when the last weekly test went out
}

// DutyEntry is one line of the record of who changed what.
type DutyEntry struct {
	ID     int64          `json:"id"`
	At     Time           `json:"at"`
	By     string         `json:"by"`
	What   string         `json:"what" doc:"plan, swap, swap-ended, dark, contacts, subscribed, unsubscribed, switched-off, page-test, weekly-test, page-link, role, person-removed or links-withdrawn."`
	Person string         `json:"person,omitempty"`
	Detail map[string]any `json:"detail"`
}
