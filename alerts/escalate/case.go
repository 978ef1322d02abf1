package escalate

import (
	"time"

	"wetside/internal/lab"
)

// Group names what alerts have in common that are one call: facts.group where
// the rules gave one (a shared cause), else the unit and its run. The
// monitor's own alerts go by rule and subject.
func Group(a lab.Alert) string {
	if g, ok := a.Facts["group"].(string); ok && g != "" {
		return "cause|" + g
	}
	if Own(a) {
		return "monitor|" + a.Rule + "|" + a.Subject
	}
	return "unit|" + a.Unit + "|" + a.Run
}

// shared tells whether the rules say that the cause is not the unit's own.
func shared(a lab.Alert) bool {
	g, ok := a.Facts["group"].(string)
	return ok && g != ""
}

// Own tells whether an alert is about the monitor itself.
func Own(a lab.Alert) bool { return a.Unit == "" }

// MemberState says whether a member of a case still needs somebody.
type MemberState int

// The states of a member.
const (
	Active MemberState = iota // somebody must be found
	Paused                    // not now: shelved, held or cleared by itself
	Over                      // nobody needs to be called any more
)

// StateOf gives the state of a member, and why it is not active.
func StateOf(m lab.PageMember) (MemberState, string) {
	a := m.Alert
	acknowledged := a.AcknowledgedAt != nil && !a.AcknowledgedAt.Before(m.Since.Truncate(time.Millisecond))
	switch {
	case !m.Answered.IsZero():
		return Over, "acknowledged by " + m.AnsweredBy
	case a.Withdrawn:
		return Over, "withdrawn: later data shows that it did not happen"
	case acknowledged:
		return Over, "acknowledged by " + a.AcknowledgedBy
	case a.State == lab.Closed:
		return Over, "the alert is closed"
	case a.Occurrence > m.Occurrence:
		return Over, "it came again: that is another page"
	case a.ShelvedUntil != nil:
		return Paused, "shelved"
	case a.Held != "":
		return Paused, "held: " + a.Held
	case a.State == lab.ClearedUnacknowledged:
		return Paused, "it has cleared"
	}
	return Active, ""
}

// summary is how a case stands as a whole.
type summary struct {
	active   []lab.PageMember
	paused   bool
	why      string // of the last that is over
	priority lab.Priority
	own      bool          // the monitor's own failure is among them
	respond  time.Duration // the least time to respond
	spent    bool          // the moment for all that was to be done has passed
}

// presence is how things stand for an alert's unit.
type presence func(unit string) lab.Present

// present is how things stand at now.
func (d Duty) present(now time.Time) presence {
	if d.Film == nil {
		return unknown(now)
	}
	return func(unit string) lab.Present { return lab.Present{At: now, Film: d.Film(unit)} }
}

// unknown is a moment at which nobody knows where film is, or nobody asks.
func unknown(now time.Time) presence {
	return func(string) lab.Present { return lab.Present{At: now} }
}

func summarise(c lab.PageCase, present presence) summary {
	now := present("").At
	s := summary{why: "nothing is left to do", spent: true}
	for _, m := range c.Members {
		state, why := StateOf(m)
		if state == Paused && untold(c, m, now) {
			state = Active
		}
		switch state {
		case Over:
			s.why = why
		case Paused:
			s.paused = true
		case Active:
			p := current(m)
			if len(s.active) == 0 || p.Rank() > s.priority.Rank() {
				s.priority = p
			}
			if r := Respond(m); len(s.active) == 0 || r < s.respond {
				s.respond = r
			}
			s.own = s.own || Own(m.Alert)
			s.spent = s.spent && m.Alert.Spent(present(m.Alert.Unit))
			s.active = append(s.active, m)
		}
	}
	return s
}

// freshFor is how long something that came and went at once is still news.
const freshFor = time.Minute

// untold tells whether nobody has been told yet of something that has just
// come and gone: one page goes out about it, no more.
func untold(c lab.PageCase, m lab.PageMember, now time.Time) bool {
	a := m.Alert
	return c.Step == c.Base && a.State == lab.ClearedUnacknowledged && a.ShelvedUntil == nil && a.Held == "" &&
		now.Sub(m.Since) < freshFor
}

// current is the priority that counts: as the alert stands now, but never one
// that does not page, since this one did.
func current(m lab.PageMember) lab.Priority {
	if m.Alert.Priority.Rank() >= lab.High.Rank() {
		return m.Alert.Priority
	}
	return lab.High
}

// Times to respond where the alert gives none: urgent is "within minutes",
// high "within the hour".
const (
	respondUrgent = 4 * time.Minute
	respondHigh   = time.Hour
)

// Respond is how long a person has to respond, counted from when the page was
// made: facts.respond_s, or up to facts.act_at, or what the priority says. A
// moment to act by that has passed says nothing about how to go on.
func Respond(m lab.PageMember) time.Duration {
	usual := respondHigh
	if current(m) == lab.Urgent {
		usual = respondUrgent
	}
	if s, ok := number(m.Alert.Facts["respond_s"]); ok && s > 0 {
		return time.Duration(s * float64(time.Second))
	}
	if text, ok := m.Alert.Facts["act_at"].(string); ok {
		if at, err := lab.ParseTime(text); err == nil {
			if left := at.Sub(m.Since); left > 0 {
				return min(left, usual)
			}
		}
	}
	return usual
}

func number(v any) (float64, bool) {
	switch n := v.(type) {
	case float64:
		return n, true
	case int:
		return float64(n), true
	}
	return 0, false
}
