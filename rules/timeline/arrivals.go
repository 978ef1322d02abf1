package timeline

import (
	"fmt"
	"math"
	"strings"
	"time"

	"wetside/internal/lab"
	"wetside/rules"
)

// arrivals is what only the arrival of messages tells of a unit: the offset of its
// clock, refused telemetry, two controllers under its name and, with the engine,
// silence. Times are of the monitor's clock unless it says otherwise.
type arrivals struct {
	Last    time.Time `json:"last,omitzero"`    // the last good message
	From    time.Time `json:"from,omitzero"`    // silence counts from here, if that is later
	Will    time.Time `json:"will,omitzero"`    // its last will, if nothing came since
	Silent  string    `json:"silent,omitempty"` // key of the open unit-silent
	With    []string  `json:"with,omitempty"`   // units that fell silent with it
	Offline time.Time `json:"offline,omitzero"`
	OffAt   time.Time `json:"off_at,omitzero"` // on the unit's clock

	Lags    []lag     `json:"lags,omitempty"` // how late messages came, within the window: each the least from its time on
	Base    float64   `json:"base"`           // the last offset known
	BaseSet bool      `json:"base_set,omitempty"`
	LiveS   float64   `json:"live_s"` // how late the last live message came
	LiveSet bool      `json:"live_set,omitempty"`
	Backlog time.Time `json:"backlog,omitzero"` // set while a backlog comes in: its last arrival
	BackT   time.Time `json:"back_t,omitzero"`  // since when messages have been late by BackS, BackN of them
	BackS   float64   `json:"back_s,omitempty"`
	BackN   int       `json:"back_n,omitempty"`
	BadAt   bool      `json:"bad_at,omitempty"` // the unit has lost its clock: its last time was replaced by the arrival
	ClockOn string    `json:"clock_on,omitempty"`

	Boots   []*bootHeard `json:"boots,omitempty"`    // the last that were heard under this name
	CurBoot string       `json:"cur_boot,omitempty"` // that of the last message
	Turns   []time.Time  `json:"turns,omitempty"`    // when a boot spoke again after another
	MixedOn string       `json:"mixed_on,omitempty"`
	MixedT  time.Time    `json:"mixed_t,omitzero"` // when it showed last

	Refused   []time.Time                `json:"refused,omitempty"`
	RefusedOn string                     `json:"refused_on,omitempty"`
	Open      map[string]*lab.Occurrence `json:"open,omitempty"`
}

// lag is by how many seconds a message that arrived at T was late by the unit's
// clock: the clock's offset and the time on the way.
type lag struct {
	T time.Time `json:"t"`
	S float64   `json:"s"`
}

// lagApartS keeps the list short: of two lags that rise within this, seconds, only
// the first is kept.
const lagApartS = 1

// noteArrival notes an arrival. since is when the monitor last began to listen.
func (a *arrivals) noteArrival(u *unit, m *lab.Message, now, since time.Time) {
	switch {
	case m.Will && m.Retained && a.Last.After(since):
		return // the broker kept this will from before: the unit has sent since
	case m.Will:
		if a.Will.IsZero() {
			a.Will = now
		}
		return
	case m.Retained:
		return // the broker kept it from before: it tells nothing of now
	}
	if a.Last.IsZero() || now.Sub(a.Last) > 15*time.Second {
		u.Order.PauseEnd = now
	}
	a.Last = now
	a.Will = time.Time{}
	a.Offline, a.OffAt = time.Time{}, time.Time{}
	a.judgeClock(u, m, now)
}

// judgeClock follows the offset of the unit's clock.
func (a *arrivals) judgeClock(u *unit, m *lab.Message, now time.Time) {
	fig := &u.cfg.Data.Figures
	a.BadAt = m.AtReplaced
	if !m.AtReplaced {
		s := m.Received.Sub(m.At).Seconds()
		if a.backlogged(s, now, fig.BacklogS) {
			return
		}
		a.LiveS, a.LiveSet = s, true
		a.addLag(now, s, fig.ClockWindowS)
	}
	off := a.offset()
	if a.BadAt || !math.IsInf(off, 0) && math.Abs(off) > fig.ClockOffS {
		msg := fmt.Sprintf("The unit's clock is off by %s", lab.SpanText(off))
		facts := map[string]any{}
		if a.BadAt {
			msg = "The unit lost its clock: it sends " + m.SentAt.UTC().Format(time.RFC3339) + "; arrival times are used"
		} else {
			facts["offset_s"] = lab.Round(off, 1)
		}
		a.raise(u, &a.ClockOn, rules.RuleClockOff, "", now, lab.Low, msg, facts)
		return
	}
	a.clear(u, &a.ClockOn, now)
}

// Messages in a backlog come less and less late. Where steadyLagN in a row, over
// steadyLagS seconds, are late by the same, the unit's clock is off.
const (
	steadyLagN = 3
	steadyLagS = 2.0
	steadyLag  = 0.5 // seconds by which the lateness may differ

	backlogOverS = 1.0 // a message that is no later than this ends a backlog, seconds
)

// backlogged tells whether a message that is late by s came in a backlog: a
// burst whose lateness falls steadily.
func (a *arrivals) backlogged(s float64, now time.Time, backlogS float64) bool {
	late := s
	if a.LiveSet {
		late = min(s, s-a.LiveS)
	}
	if !a.Backlog.IsZero() {
		backlogS = min(backlogS, backlogOverS) // the last messages of a backlog are only a little late
	}
	if late <= backlogS {
		a.Backlog, a.BackT = time.Time{}, time.Time{}
		return false
	}
	if a.BackT.IsZero() || math.Abs(s-a.BackS) > steadyLag {
		a.BackT, a.BackS, a.BackN = now, s, 0
	}
	a.BackN++
	if a.BackN >= steadyLagN && now.Sub(a.BackT) >= lab.Seconds(steadyLagS) {
		a.Backlog = time.Time{}
		return false
	}
	a.Backlog = now
	return true
}

func (a *arrivals) addLag(now time.Time, s, windowS float64) {
	for len(a.Lags) > 0 && a.Lags[len(a.Lags)-1].S >= s {
		a.Lags = a.Lags[:len(a.Lags)-1] // it will never be the smallest again
	}
	if n := len(a.Lags); n == 0 || now.Sub(a.Lags[n-1].T) >= lab.Seconds(lagApartS) {
		a.Lags = append(a.Lags, lag{now, s})
	}
	for len(a.Lags) > 1 && now.Sub(a.Lags[0].T) > lab.Seconds(windowS) {
		a.Lags = a.Lags[1:]
	}
	a.Base, a.BaseSet = a.offset(), true
}

// offset is the offset of the unit's clock, seconds: how late the promptest message
// of the window was. +Inf while it is not known.
func (a *arrivals) offset() float64 {
	if len(a.Lags) == 0 {
		return math.Inf(1)
	}
	return a.Lags[0].S
}

// inBacklog tells whether a backlog is still coming in. It is judged when it is
// whole: what had begun and ended meanwhile must page nobody.
func (a *arrivals) inBacklog(u *unit, now time.Time) bool {
	if a.Backlog.IsZero() {
		return false
	}
	if now.Sub(a.Backlog) >= lab.Seconds(u.cfg.Data.Figures.BacklogQuietS) {
		a.Backlog = time.Time{}
		return false
	}
	return true
}

// noteRefused notes a message of the unit that was quarantined.
func (a *arrivals) noteRefused(u *unit, q *lab.Quarantined, now time.Time) {
	u.touched = true
	u.Arrival = max(u.Arrival, q.Arrival)
	u.takeRefused(q)
	u.release(now)
	fig := &u.cfg.Data.Figures
	a.Refused = append(a.Refused, now)
	if more := len(a.Refused) - fig.RefusedCount; more > 0 {
		a.Refused = a.Refused[more:] // no more are needed to tell
	}
	a.refusedSince(now, fig.RefusedWindowS)
	if len(a.Refused) < fig.RefusedCount {
		return
	}
	code, _, _ := strings.Cut(q.Reason, ":")
	a.raise(u, &a.RefusedOn, rules.RuleTelemetryRefused, "", a.onUnitClock(now), lab.High,
		fmt.Sprintf("%d messages of this unit were refused within a minute, the last for: %s", len(a.Refused), q.Reason),
		map[string]any{"code": code, "topic": q.Topic})
}

func (a *arrivals) refusedSince(now time.Time, windowS float64) {
	for len(a.Refused) > 0 && now.Sub(a.Refused[0]) >= lab.Seconds(windowS) {
		a.Refused = a.Refused[1:]
	}
}

// tick lets arrival time pass.
func (a *arrivals) tick(u *unit, now time.Time) {
	a.clearMixedUp(u, now)
	if a.RefusedOn == "" {
		return
	}
	last := a.Refused
	a.refusedSince(now, u.cfg.Data.Figures.RefusedWindowS)
	if len(a.Refused) == 0 && len(last) > 0 {
		a.clear(u, &a.RefusedOn, a.onUnitClock(last[len(last)-1].Add(lab.Seconds(u.cfg.Data.Figures.RefusedWindowS))))
	}
}

// onUnitClock gives an arrival time as the unit's clock showed it.
func (a *arrivals) onUnitClock(t time.Time) time.Time {
	if !a.BaseSet {
		return t
	}
	return t.Add(-lab.Seconds(a.Base))
}

func (a *arrivals) raise(u *unit, on *string, rule, subject string, at time.Time, p lab.Priority, msg string, facts map[string]any) {
	if *on != "" {
		return
	}
	o := u.State.Alert(rule, subject, at, p, msg, facts)
	if a.Open == nil {
		a.Open = map[string]*lab.Occurrence{}
	}
	a.Open[o.Key] = o
	*on = o.Key
	u.putArrival(*o)
}

func (a *arrivals) clear(u *unit, on *string, at time.Time) {
	o := a.Open[*on]
	if *on == "" || o == nil {
		*on = ""
		return
	}
	o.ClearedAt = lab.At(at).Time
	if o.ClearedAt.Before(o.RaisedAt) {
		o.ClearedAt = o.RaisedAt
	}
	delete(a.Open, *on)
	*on = ""
	u.putArrival(*o)
}

func (u *unit) putArrival(o lab.Occurrence) {
	u.placing = u.Order.frontier()
	u.PutOccurrence(o)
	u.Found[o.ID].OnArrival = true
	u.touched = true
}
