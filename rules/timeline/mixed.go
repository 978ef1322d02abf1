package timeline

import (
	"fmt"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/rules"
)

// bootHeard is one start of a controller that sends under the unit's name.
type bootHeard struct {
	ID    string    `json:"id"`
	From  time.Time `json:"from"`            // the time of its first message
	Since time.Time `json:"since"`           // when that arrived
	T     time.Time `json:"t"`               // when the last arrived
	Top   int64     `json:"top"`             // the highest seq
	LagS  float64   `json:"lag_s"`           // how late its promptest message came
	Of    string    `json:"of,omitempty"`    // the other unit under whose name it began
	N     int       `json:"n,omitempty"`     // its messages here since then
	Alien bool      `json:"alien,omitempty"` // of another controller: stored, not folded
}

// Figures of unit-mixed-up. A boot that goes on under another name within
// goesOnWithin seqs, for goesOnN messages, was renamed. Two controllers that take
// turns turnsMost times within turnsWithinS seconds share a name; the alert is
// cleared when that has not shown for as long. turnsWithinS is the contract's,
// the others are common practice, no source.
const (
	bootsHeardKept = 6
	goesOnWithin   = 200
	goesOnN        = 3
	turnsMost      = 2
	turnsWithinS   = 120
	lateTurnS      = 2 // a message so many seconds later than others of its boot came late, and is no turn
)

func (a *arrivals) boot(id string) *bootHeard {
	i := slices.IndexFunc(a.Boots, func(b *bootHeard) bool { return b.ID == id })
	if i < 0 {
		return nil
	}
	return a.Boots[i]
}

// ofAnotherController tells whether a message comes from another controller than
// the unit's own, and raises unit-mixed-up where that shows.
func (e *Engine) ofAnotherController(u *unit, m *lab.Message, now time.Time) bool {
	a := &u.Arrivals
	b := a.boot(m.Boot)
	if b == nil {
		b = &bootHeard{ID: m.Boot, From: m.At, Since: now, Of: e.beganUnder(u, m, now)}
		b.Alien = b.Of != "" && a.ownLive(now)
		a.Boots = lab.LastOf(append(a.Boots, b), bootsHeardKept)
	}
	fresh := m.Seq > b.Top
	if fresh {
		a.noteTurn(u, b, m, now)
	}
	b.T, b.Top = now, max(b.Top, m.Seq)
	if b.Of != "" {
		e.followRenamed(u, b, now)
	}
	if b.Alien && b.Of == "" && !a.ownLive(now) {
		b.Alien = false // the unit's own controller is gone: this one took its place
	}
	if b.Alien {
		a.MixedT = now
	}
	return b.Alien
}

// beganUnder is the unit of the same lab under whose name the boot of a message
// began, if the message goes on in its seqs; "" for none.
func (e *Engine) beganUnder(u *unit, m *lab.Message, now time.Time) string {
	if m.Seq <= 1 {
		return ""
	}
	for _, id := range e.byName {
		x := e.units[id]
		if x == u || id.Lab != u.ID.Lab {
			continue
		}
		b := x.Arrivals.boot(m.Boot)
		if b != nil && !b.Alien && m.Seq > b.Top && m.Seq-b.Top <= goesOnWithin && now.Sub(b.T) < lab.Seconds(turnsWithinS) {
			return id.Unit
		}
	}
	return ""
}

// followRenamed follows a boot that began under another unit's name. Where that
// unit goes on with it too, two boots only happen to have the same id.
func (e *Engine) followRenamed(u *unit, b *bootHeard, now time.Time) {
	first := e.units[lab.UnitID{Lab: u.ID.Lab, Unit: b.Of}]
	if first == nil {
		return
	}
	if fb := first.Arrivals.boot(b.ID); fb == nil || fb.T.After(b.Since) {
		b.Of, b.Alien = "", false
		return
	}
	if b.N++; b.N != goesOnN {
		return
	}
	u.Arrivals.raiseMixedUp(u, now, fmt.Sprintf("The controller that was %s now calls itself %s", b.Of, u.ID.Unit), b.Of)
}

// ownLive tells whether the unit's own controller has sent anything lately.
func (a *arrivals) ownLive(now time.Time) bool {
	return slices.ContainsFunc(a.Boots, func(b *bootHeard) bool { return !b.Alien && now.Sub(b.T) < lab.Seconds(turnsWithinS) })
}

// noteTurn notes that a boot sends again after another one did. A controller that
// starts again never goes back to its old boot: there are two. A message that
// comes late, or was sent before the other boot began, does not count.
func (a *arrivals) noteTurn(u *unit, b *bootHeard, m *lab.Message, now time.Time) {
	was := a.boot(a.CurBoot)
	lag := m.Received.Sub(m.At).Seconds()
	if b.Top == 0 {
		b.LagS = lag
	}
	b.LagS = min(b.LagS, lag)
	if m.AtReplaced || lag-b.LagS > lateTurnS || was != nil && was != b && !m.At.After(was.From) {
		return
	}
	a.CurBoot = b.ID
	if was == nil || was == b || b.Top == 0 {
		return
	}
	a.Turns = append(a.Turns, now)
	a.Turns = slices.DeleteFunc(a.Turns, func(t time.Time) bool { return now.Sub(t) > lab.Seconds(turnsWithinS) })
	a.Turns = lab.LastOf(a.Turns, turnsMost)
	if len(a.Turns) < turnsMost {
		return
	}
	later := b
	if was.Since.After(b.Since) {
		later = was
	}
	if !later.Alien {
		later.Alien = true
		u.dropBoot(later.ID)
	}
	a.raiseMixedUp(u, now, fmt.Sprintf("Two controllers call themselves %s", u.ID.Unit), "")
}

// raiseMixedUp raises unit-mixed-up.
func (a *arrivals) raiseMixedUp(u *unit, now time.Time, msg, other string) {
	a.MixedT = now
	facts := map[string]any{}
	if other != "" {
		facts["was"] = other
	}
	a.raise(u, &a.MixedOn, rules.RuleUnitMixedUp, "", a.onUnitClock(now), lab.High, msg, facts)
}

// clearMixedUp ends unit-mixed-up once it has not shown for two minutes.
func (a *arrivals) clearMixedUp(u *unit, now time.Time) {
	if a.MixedOn == "" || now.Sub(a.MixedT) < lab.Seconds(turnsWithinS) {
		return
	}
	a.Turns = nil
	a.clear(u, &a.MixedOn, a.onUnitClock(a.MixedT.Add(lab.Seconds(turnsWithinS))))
}

// takeUnfolded takes a message of another controller: it counts as received of the
// unit, and is not given to the rules.
func (u *unit) takeUnfolded(m *lab.Message, now time.Time) {
	u.touched = true
	u.Arrival = max(u.Arrival, m.Arrival)
	u.Arrivals.Last = lab.Later(u.Arrivals.Last, now)
	u.Arrivals.Will = time.Time{}
	u.release(now)
}

// dropBoot takes a boot of another controller out of the unit's timeline, and has
// the unit folded again without it.
func (u *unit) dropBoot(id string) {
	o := &u.Order
	_, i := o.boot(id)
	if i < 1 || i != len(o.Boots)-1 {
		return // only the last boot can be taken out: otherwise what was folded stands
	}
	at := o.place(i, 0)
	folded := o.At >= i
	o.Boots = o.Boots[:i]
	if !folded {
		return
	}
	o.At = i - 1
	u.refoldFrom(at)
}
