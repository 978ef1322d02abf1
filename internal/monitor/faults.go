package monitor

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

// outage follows since when something is not there. Safe for concurrent use.
type outage struct {
	mu    sync.Mutex
	since time.Time
}

// note takes in how it stands, and gives since when it is away; zero where it
// is there.
func (o *outage) note(there bool, now time.Time) time.Time {
	o.mu.Lock()
	defer o.mu.Unlock()
	switch {
	case there:
		o.since = time.Time{}
	case o.since.IsZero():
		o.since = now
	}
	return o.since
}

// ownFaults are the faults of the monitor itself, for the board and for those
// who are called.
func (l *leader) ownFaults(now time.Time) []lab.DutyFault {
	out := l.sealingFaults(now)
	out = append(out, l.unitFaults()...)
	out = append(out, l.rulesFault(now)...)
	out = append(out, l.brokerFault(now)...)
	out = append(out, l.takenOver(now)...)
	return append(out, l.p.disks.Faults(now, l.clockWords)...)
}

// unitFaults are units that are not judged. The others are: nobody may take
// the quiet of this one for a good sign.
func (l *leader) unitFaults() (out []lab.DutyFault) {
	for _, u := range l.worker.Faults() {
		f := lab.DutyFault{Code: lab.FaultUnitNotJudged, Subject: u.ID, Since: &u.Fault.Since, PageAfter: atOnce,
			Text:        fmt.Sprintf("%s is not judged since %s: a fault of wetside's own", u.Name, l.clockWords(u.Fault.Since.Time)),
			Consequence: "Whatever happens to the film in it raises no alert. Its telemetry is stored; the other units are watched as always.",
			Response:    "Watch that unit by eye and time its baths by hand. Report the fault; an updated wetside judges the unit from where it stopped.",
		}
		if u.Fault.Judged {
			f.Text = fmt.Sprintf("%s is shown as it was at %s: a fault of wetside's own", u.Name, l.clockWords(u.Fault.Since.Time))
			f.Consequence = "The board shows old figures of it. It is judged, and its alerts come as always."
			f.Response = "Look at the unit itself. Report the fault."
		}
		out = append(out, f)
	}
	return out
}

// clockWords gives a time of day by the clock on the lab's wall.
func (l *leader) clockWords(at time.Time) string {
	zone := l.rules.Zone
	if zone == nil {
		zone = time.UTC
	}
	return at.In(zone).Format("15:04")
}

// rulesFault tells that nothing is judged: the worker does not go round.
func (l *leader) rulesFault(now time.Time) []lab.DutyFault {
	since, why := l.worker.Still(now)
	if since.IsZero() || now.Sub(since) < rulesStill {
		return nil
	}
	return []lab.DutyFault{{Code: lab.FaultRulesStill, Since: lab.AtPtr(since), PageAfter: atOnce, Priority: lab.Urgent,
		Text:        fmt.Sprintf("The rules stand still since %s%s", l.clockWords(since), because(why)),
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
func (l *leader) brokerFault(now time.Time) []lab.DutyFault {
	since := l.notReceiving()
	if since.IsZero() || now.Sub(since) < awayShown {
		return nil
	}
	return []lab.DutyFault{{Code: lab.FaultBroker, Since: lab.AtPtr(since), PageAfter: awayPaged, Priority: lab.Urgent,
		Text:        fmt.Sprintf("No data received from any unit since %s: the broker is away", l.clockWords(since)),
		Consequence: "The board shows old figures and no alert is raised. Units keep what they send and send it when the broker is back.",
		Response:    "Watch the units by eye. Look at the broker and the network between.",
	}}
}
