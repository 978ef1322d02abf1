package alerts

import (
	"strings"
	"time"

	"wetside/internal/lab"
)

// A signal chatters when it was raised so often within so short a time
// (alarm practice: three or more a minute from one point), and does no more
// when it has been quiet for a while.
const (
	chatterCount  = 3
	chatterWithin = time.Minute
	chatterQuiet  = 5 * time.Minute
)

// Policy says which alerts page nobody for now because of the state of the
// unit or of the lab. Such an alert goes on as any other: it is shown, clears
// and returns.
type Policy struct {
	OutOfService map[string]bool // units, by "lab/unit", that a person took out of service
	LabClosed    bool            // by the button or by its hours
	// OnTrial are the rules that a lab has not had for long: they are shown
	// until they have shown themselves, and page nobody. By lab; "" for a lab
	// that is not named.
	OnTrial map[string]map[string]bool
}

// onTrial tells whether the rule of an alert is new to its lab.
func (p Policy) onTrial(a lab.Alert) bool {
	name, _, _ := strings.Cut(a.Unit, "/")
	rules, named := p.OnTrial[name]
	if !named {
		rules = p.OnTrial[""]
	}
	return rules[a.Rule]
}

// Holds gives the reason to hold back the pages of an alert; "" for none.
//
// What concerns a run is never held because the lab is closed, and what is
// urgent in a run not even where the unit is out of service: there is film in
// it.
func (p Policy) Holds(a lab.Alert) string {
	switch {
	case p.OutOfService[a.Unit] && (a.Run == "" || a.Priority != lab.Urgent):
		return lab.HeldOutOfService
	case p.onTrial(a):
		return lab.HeldNewRule
	case p.LabClosed && a.Run == "":
		return lab.HeldLabClosed
	}
	return ""
}

// Outdated tells whether a stored alert is held, or is not, otherwise than it
// should be by now: Apply must look at it.
func (p Policy) Outdated(a lab.Alert, now time.Time) bool {
	if a.State == lab.Closed {
		return false
	}
	if a.Held == lab.HeldChattering {
		return now.Sub(a.NoticedAt.Time) >= chatterQuiet
	}
	return a.Held != p.Holds(a)
}

// hold works out whether pages of an alert are held back now.
func (p *pass) hold(e *entry) {
	a := &e.a
	if !e.open() {
		a.Held = ""
		return
	}
	held := p.policy.Holds(a.Alert)
	if held == "" && chatters(a, p.now) {
		held = lab.HeldChattering
	}
	if held == a.Held {
		return
	}
	if a.Held != "" {
		p.log(e, a.Alert.Occurrence, lab.EventReleased, a.Held)
	}
	if held != "" {
		p.log(e, a.Alert.Occurrence, lab.EventHeld, held)
	}
	a.Held = held
}

// chatters tells whether the latest occurrences followed each other so fast
// that a page for each would say nothing new: somebody was told of one that was
// as pressing. It goes on until there was quiet for a while.
func chatters(a *lab.StoredAlert, now time.Time) bool {
	at := current(a.Episodes)
	if at < 0 || now.Sub(a.Episodes[at].Noticed) >= chatterQuiet {
		return false
	}
	last, n, told := a.Episodes[at], 0, false
	for _, ep := range a.Episodes {
		if !ep.Withdrawn && last.RaisedAt.Sub(ep.RaisedAt) < chatterWithin {
			n++
		}
		told = told || !ep.Withdrawn && ep.Told.Rank() >= last.Priority.Rank()
	}
	return told && (n >= chatterCount || a.Held == lab.HeldChattering)
}
