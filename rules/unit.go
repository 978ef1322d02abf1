package rules

import (
	"encoding/json"
	"iter"
	"maps"
	"slices"
	"strings"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// Unit is one unit as the film rules know it: what it said, in the order of
// its timeline, and what follows from that. Who puts its messages in order
// (rules/timeline) tells it of each in turn, and takes what it finds.
//
// Its JSON is the state that is stored. What people entered is not in it: that
// is a set, told by Enter, of which the state knows what it has counted in.
type Unit struct {
	cfg   Config
	id    lab.UnitID
	s     *state
	found Findings

	entries Entries
}

// Findings takes what a unit finds. The same may come again, as it stands
// then; putting it twice changes nothing.
type Findings interface {
	PutOccurrence(lab.Occurrence)
	PutRun(lab.Run)
}

// NewUnit is a unit of which nothing was received yet.
func NewUnit(cfg Config, id lab.UnitID, out Findings) *Unit {
	return &Unit{cfg: cfg, id: id, s: newState(), found: out}
}

// Take folds the next message of the timeline. missing are the holes right
// before it; refused tells whether a message was refused there that may have
// said a phase.
func (u *Unit) Take(m *lab.Message, missing []lab.Gap, refused bool) {
	for _, g := range missing {
		u.noteGap(g)
	}
	if refused {
		u.noteRefusedPhase()
	}
	u.fold(m)
}

// Declare takes what a retained status says of a unit that has said nothing
// else yet. It is old: once the unit speaks it says so itself.
func (u *Unit) Declare(st *lab.Status) {
	if u.s.Declared == nil && !u.s.Heard {
		u.takeStatus(st)
	}
}

// Enter tells what people entered, all of it, by time.
func (u *Unit) Enter(list Entries) { u.entries = list }

// Pending tells whether something was entered that is not counted in yet.
func (u *Unit) Pending() bool {
	for _, k := range u.entries {
		if u.s.pending(k) {
			return true
		}
	}
	return false
}

// CountAhead counts in what people entered of a time that the timeline has not
// reached: a unit that is switched off says nothing for a night. Whoever calls
// it keeps the state from before: with the next message the timeline goes on
// from there.
func (u *Unit) CountAhead() {
	for _, k := range u.entries {
		if u.s.pending(k) {
			before := u.s.Clock.T
			u.s.Clock.T = lab.Later(before, k.T.Add(-u.s.Clock.Shift))
			u.apply(k, before)
		}
	}
}

// GiveUpRun ends the run at hand as lost, at the last that was received of it.
func (u *Unit) GiveUpRun() { u.endRun(lab.OutcomeLost, u.s.Run.LastT) }

// SwitchedOff says that the unit, idle, went offline at a moment of its clock:
// of its mains power there is nothing left to tell.
func (u *Unit) SwitchedOff(at time.Time) {
	key := u.keyOf(alertKey{rule: RulePowerLost})
	o := u.s.Open[key]
	if o == nil {
		return
	}
	o.ClearedAt = lab.At(lab.Later(at, o.RaisedAt)).Time
	delete(u.s.Open, key)
	u.found.PutOccurrence(*o)
}

// Now is what a unit does, by the last message of its timeline.
type Now struct {
	At         time.Time // by the unit's clock
	Run, RunID string    // the run that it is in, or was in last
	Running    bool      // that has not ended
	Phase      lab.Phase
	Step       string // "" outside a run
	N          int
	OnBattery  bool
}

// InRun tells whether silence of the unit matters: drying counts as idle.
func (n *Now) InRun() bool { return n.Running && n.Phase != lab.PhaseDrying }

// Now tells what the unit does.
func (u *Unit) Now() Now {
	s := u.s
	n := Now{At: s.now(), Running: s.running(), Phase: s.Phase, OnBattery: s.Power.Source == lab.SourceBattery}
	if s.Run != nil {
		n.Run, n.RunID = s.Run.Name, s.Run.ID
	}
	if c := s.currentStep(); c != nil {
		n.Step, n.N = c.ID, c.N
	}
	return n
}

// SilencePriority is how much it matters that nothing is received of the unit
// now.
func (u *Unit) SilencePriority() lab.Priority {
	c := u.s.currentStep()
	sp := u.spec(c)
	inDev := sp != nil && sp.Kind == process.Dev && u.s.Run.film() && !c.BathT.IsZero() && c.EndT.IsZero()
	if inDev || u.s.Power.Source == lab.SourceBattery {
		return lab.Urgent
	}
	return lab.High
}

// Alert is an alert of the unit that only its arrivals tell: what its rule's
// card says with it, and the run and step at hand. Whoever asks for it follows
// it.
func (u *Unit) Alert(rule, subject string, at time.Time, p lab.Priority, message string, facts map[string]any) *lab.Occurrence {
	key := strings.Join([]string{u.id.String(), rule, "", "", subject}, "|")
	at = lab.At(at).Time
	card := u.card(rule)
	o := &lab.Occurrence{Key: key, ID: occurrenceID(key, at), Rule: rule, Unit: u.id, Subject: subject, Priority: card.priority(p),
		RaisedAt: at, Message: message, Consequence: card.Consequence, Response: card.Response,
		Facts: card.withRespond(facts, card.priority(p), p)}
	if u.s.running() {
		o.RunID = u.s.Run.ID
		if c := u.s.currentStep(); c != nil {
			o.Step, o.N = c.ID, c.N
		}
	}
	return o
}

// Open gives the alerts of the unit that last, by key.
func (u *Unit) Open() iter.Seq[lab.Occurrence] {
	return func(yield func(lab.Occurrence) bool) {
		for _, key := range slices.Sorted(maps.Keys(u.s.Open)) {
			if !yield(*u.s.Open[key]) {
				return
			}
		}
	}
}

// IsOpen tells whether the alert of a key lasts.
func (u *Unit) IsOpen(key string) bool { return u.s.Open[key] != nil }

// MarshalJSON writes the state.
func (u *Unit) MarshalJSON() ([]byte, error) { return json.Marshal(u.s) }

// UnmarshalJSON takes a state in place of the one at hand.
func (u *Unit) UnmarshalJSON(b []byte) error {
	s := newState()
	if err := json.Unmarshal(b, s); err != nil {
		return err
	}
	u.s = s
	return nil
}
