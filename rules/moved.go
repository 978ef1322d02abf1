package rules

import (
	"fmt"
	"time"

	"wetside/internal/lab"
)

// moved is what people did to a container, as its probe showed it: a level that
// changed faster than any leak while no pump ran.
type moved struct {
	FromL  float64   `json:"from_l"`
	ToL    float64   `json:"to_l"`
	FromT  time.Time `json:"from_t"`           // the last reading before
	T      time.Time `json:"t"`                // the last that belongs to it
	AskedT time.Time `json:"asked_t,omitzero"` // since when it is asked what it was
	Said   bool      `json:"said,omitempty"`
}

// Figures of what people do. A fall by thirdOf of what was in it within thirdS is
// asked about, for askS; one that leaves at most emptyShare of the capacity behind
// looks like an emptying. Readings that go on in the same direction within goesOnS
// are the same doing. What nobody answers within answerS may be told: people pour
// at paceLS or faster. Common practice, no source.
const (
	thirdOf    = 1. / 3
	thirdS     = 180
	askS       = 3600
	emptyShare = 0.05
	goesOnS    = 120
	answerS    = 180
	paceLS     = 4. / 60
)

// noteMoved notes that people filled or emptied the container. It is called with
// the estimate still as it was before.
func (t *tank) noteMoved(l float64, now time.Time) {
	m := &moved{FromL: t.best(), FromT: t.EstT}
	if was := t.Moved; was != nil && now.Sub(was.T).Seconds() <= goesOnS && (was.ToL-was.FromL)*(l-was.ToL) > 0 {
		again := *was
		m = &again
	}
	m.ToL, m.T = max(0, l), now
	if m.AskedT.IsZero() && m.fell() >= thirdOf*m.FromL*max(1, m.tookS()/thirdS) {
		m.AskedT = now
	}
	t.Moved = m
}

func (m *moved) fell() float64 { return m.FromL - m.ToL }

func (m *moved) tookS() float64 { return m.T.Sub(m.FromT).Seconds() }

// judgeUnanswered raises level-disagrees for water that went and nobody said why:
// in a run, or more slowly than people pour. What people do with waste and bottles
// is asked and never told: they are emptied and swapped every day, and what the
// next run moves shows whether they hold.
func (u *Unit) judgeUnanswered(name string, t *tank) {
	m, spec := t.Moved, u.containerSpecs()[name]
	if m == nil || m.Said || m.AskedT.IsZero() || spec.Role != lab.RoleWash {
		return
	}
	due := m.AskedT.Add(lab.Seconds(answerS))
	slow := m.fell() < paceLS*m.tookS()
	a := alertKey{rule: RuleLevelDisagrees, subject: name}
	if u.s.Clock.T.Before(due) || !slow && !u.s.running() || u.open(a) != nil || t.best() > m.ToL+balanceSlackL {
		return
	}
	m.Said = true // it is told now, and asked no more
	u.raiseLevel(name, t, faultLeak, due, fmt.Sprintf("%s fell from %.1f to %.1f L within %s, with no pump running, and nobody said why",
		capital(u.containerName(name)), m.FromL, m.ToL, lab.SpanText(m.tookS())), map[string]any{"level_l": lab.Round(m.ToL, 2), "from_l": lab.Round(m.FromL, 2)})
}

// answerMoved notes that a person said what was done.
func (t *tank) answerMoved() {
	if m := t.Moved; m != nil && !m.Said {
		said := *m
		said.Said = true
		t.Moved = &said
	}
}

// changedView is what people did to a container, as it is shown.
func (u *Unit) changedView(t *tank, capacity float64, now time.Time) *lab.LevelChange {
	m := t.Moved
	if m == nil {
		return nil
	}
	v := &lab.LevelChange{FromL: lab.Round(m.FromL, 2), ToL: lab.Round(m.ToL, 2), At: lab.At(u.s.Clock.report(m.T)),
		Within: lab.Round(m.T.Sub(m.FromT).Seconds(), 0), What: lab.LooksToppedUp}
	if m.fell() > 0 {
		v.What, v.Ask = lab.LooksLowered, !m.Said && !m.AskedT.IsZero() && now.Sub(v.At.Time) < lab.Seconds(askS)
		if m.ToL <= max(emptyShare*capacity, emptyL) {
			v.What = lab.LooksEmptied
		}
	}
	return v
}
