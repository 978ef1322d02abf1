package main

import (
	"fmt"
	"sync"
	"time"

	"wetside/internal/lab"
)

// How long a part may be away before the board says so, and before people are
// paged: what starts again by itself is no news.
const (
	awayShown = 20 * time.Second
	awayPaged = time.Minute
	atOnce    = time.Second // what is paged as soon as it is noticed
	// rulesStill is how long the rules may stand still. They go round four
	// times a second.
	rulesStill = 30 * time.Second
)

// away follows since when something is not there. Safe for concurrent use.
type away struct {
	mu    sync.Mutex
	since time.Time
}

// note takes in how it stands, and gives since when it is away; zero where it
// is there.
func (a *away) note(there bool, now time.Time) time.Time {
	a.mu.Lock()
	defer a.mu.Unlock()
	switch {
	case there:
		a.since = time.Time{}
	case a.since.IsZero():
		a.since = now
	}
	return a.since
}

// ownFaults are the faults of the monitor itself, for the board and for those
// who are called.
func (t *term) ownFaults(now time.Time) []lab.DutyFault {
	out := t.sealingFaults(now)
	out = append(out, t.unitFaults()...)
	out = append(out, t.rulesFault(now)...)
	out = append(out, t.brokerFault(now)...)
	return append(out, t.p.disks.faults(now, t.clockWords)...)
}

// unitFaults are units that are not judged. The others are: nobody may take
// the quiet of this one for a good sign.
func (t *term) unitFaults() (out []lab.DutyFault) {
	for _, u := range t.worker.Faults() {
		f := lab.DutyFault{Code: lab.FaultUnitNotJudged, Subject: u.ID, Since: &u.Fault.Since, PageAfter: atOnce,
			Text:        fmt.Sprintf("%s is not judged since %s: a fault of wetside's own", u.Name, t.clockWords(u.Fault.Since.Time)),
			Consequence: "Whatever happens to the film in it raises no alert. Its telemetry is stored; the other units are watched as always.",
			Response:    "Watch that unit by eye and time its baths by hand. Report the fault; an updated wetside judges the unit from where it stopped.",
		}
		if u.Fault.Judged {
			f.Text = fmt.Sprintf("%s is shown as it was at %s: a fault of wetside's own", u.Name, t.clockWords(u.Fault.Since.Time))
			f.Consequence = "The board shows old figures of it. It is judged, and its alerts come as always."
			f.Response = "Look at the unit itself. Report the fault."
		}
		out = append(out, f)
	}
	return out
}

// clockWords gives a time of day by the clock on the lab's wall.
func (t *term) clockWords(at time.Time) string {
	zone := t.rules.Zone
	if zone == nil {
		zone = time.UTC
	}
	return at.In(zone).Format("15:04")
}

// rulesFault tells that nothing is judged: the worker does not go round.
func (t *term) rulesFault(now time.Time) []lab.DutyFault {
	since, why := t.worker.Still(now)
	if since.IsZero() || now.Sub(since) < rulesStill {
		return nil
	}
	return []lab.DutyFault{{Code: lab.FaultRulesStill, Since: lab.AtPtr(since), PageAfter: atOnce, Priority: lab.Urgent,
		Text:        fmt.Sprintf("The rules stand still since %s%s", t.clockWords(since), because(why)),
		Consequence: "No unit is judged and no alert is raised until they go on. Telemetry is stored.",
		Response:    "Watch the units by eye. Look at wetside's log and at the database.",
	}}
}

func because(why string) string {
	if why == "" {
		return ""
	}
	return ": " + why
}

// brokerFault tells that nothing comes in from any unit.
func (t *term) brokerFault(now time.Time) []lab.DutyFault {
	since := t.notReceiving()
	if since.IsZero() || now.Sub(since) < awayShown {
		return nil
	}
	return []lab.DutyFault{{Code: lab.FaultBroker, Since: lab.AtPtr(since), PageAfter: awayPaged, Priority: lab.Urgent,
		Text:        fmt.Sprintf("No data received from any unit since %s: the broker is away", t.clockWords(since)),
		Consequence: "The board shows old figures and no alert is raised. Units keep what they send and send it when the broker is back.",
		Response:    "Watch the units by eye. Look at the broker and the network between.",
	}}
}
