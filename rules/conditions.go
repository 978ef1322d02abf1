package rules

import (
	"cmp"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"wetside/internal/lab"
)

func (u *Unit) fig() *Figures { return &u.cfg.Data.Figures }

// alertKey says what an alert is about: two alerts with the same key are one.
// Fields that are not set do not count.
type alertKey struct {
	rule    string
	subject string
	step    *runStep // set for alerts of one step
	run     bool     // set for alerts of one run
	apart   bool     // about the chemistry or the unit: of no run, though one may be going on
}

func (u *Unit) keyOf(a alertKey) string {
	parts := []string{u.id.String(), a.rule, "", "", a.subject}
	if (a.run || a.step != nil) && u.s.Run != nil {
		parts[2] = u.s.Run.ID
	}
	if a.step != nil {
		parts[3] = strconv.Itoa(a.step.N) + "." + a.step.ID
	}
	return strings.Join(parts, "|")
}

// alertContent is what an alert says.
type alertContent struct {
	priority lab.Priority
	message  string
	response string // "" : the rule's own
	harm     string // the consequence; "" : the rule's own
	facts    map[string]any
	latched  bool
}

// open is the alert of a key while it lasts, nil otherwise.
func (u *Unit) open(a alertKey) *lab.Occurrence { return u.s.Open[u.keyOf(a)] }

// raise begins an alert at timeline time t; while it lasts, nothing happens.
func (u *Unit) raise(a alertKey, t time.Time, w alertContent) *lab.Occurrence {
	key := u.keyOf(a)
	if o := u.s.Open[key]; o != nil {
		return o
	}
	if !u.roomForOne() {
		return nil
	}
	at := lab.At(u.s.Clock.report(t)).Time
	o := &lab.Occurrence{
		Key: key, ID: occurrenceID(key, at), Rule: a.rule, Unit: u.id, Subject: a.subject,
		Priority: u.card(a.rule).priority(w.priority), RaisedAt: at, Latched: w.latched,
	}
	u.setContent(o, w)
	if a.step != nil {
		o.Step, o.N = a.step.ID, a.step.N
	} else if c := u.s.currentStep(); c != nil && !a.apart && (u.s.running() || a.run) {
		o.Step, o.N = c.ID, c.N
	}
	if !a.apart && (u.s.running() || a.run) {
		if u.s.Run != nil {
			o.RunID = u.s.Run.ID
		}
		if u.s.Run != nil && !u.onlyForVerdict(a) {
			u.s.Run.Alerts = lab.LastOf(append(u.s.Run.Alerts, o.ID), alertsKept)
		}
	}
	o.Quiet = u.onlyForVerdict(a)
	u.s.Open[key] = o
	u.found.PutOccurrence(*o)
	return o
}

// ofFilm are the rules about what happens to the film in the tank. In the run of
// a control strip they only count for its verdict, and nobody is told.
var ofFilm = []string{RuleBathTemperature, RuleReadingMissing, RuleReadingDoubtful, RuleStepOverrun, RuleStepShort,
	RuleStepSkipped, RuleWrongTimeSet, RuleRotationStopped, RuleRotationSlow, RuleStepUnknown}

// onlyForVerdict tells whether an alert only counts for the verdict, and nobody is told.
func (u *Unit) onlyForVerdict(a alertKey) bool {
	return !a.apart && u.s.running() && !u.s.Run.film() && slices.Contains(ofFilm, a.rule)
}

// change updates what an open alert says. Its priority only rises, unless lower is
// set.
func (u *Unit) change(a alertKey, w alertContent, lower bool) {
	o := u.open(a)
	if o == nil {
		return
	}
	if p := u.card(a.rule).priority(w.priority); lower || p.Rank() > o.Priority.Rank() {
		o.Priority = p
	}
	u.setContent(o, w)
	u.found.PutOccurrence(*o)
}

// setContent writes what an alert says into its occurrence.
func (u *Unit) setContent(o *lab.Occurrence, w alertContent) {
	card := u.card(o.Rule)
	o.Message, o.Facts = w.message, card.withRespond(w.facts, o.Priority, w.priority)
	o.Response, o.Consequence = cmp.Or(w.response, card.Response), cmp.Or(w.harm, card.Consequence)
}

func (u *Unit) card(rule string) Card { return u.cfg.Data.Rules[rule] }

// clear ends an alert at timeline time t. A latched one stays.
func (u *Unit) clear(a alertKey, t time.Time) { u.clearKey(u.keyOf(a), t) }

func (u *Unit) clearKey(key string, t time.Time) {
	o := u.s.Open[key]
	if o == nil || o.Latched {
		return
	}
	o.ClearedAt = lab.At(u.s.Clock.report(t)).Time
	if o.ClearedAt.Before(o.RaisedAt) {
		o.ClearedAt = o.RaisedAt
	}
	delete(u.s.Open, key)
	u.found.PutOccurrence(*o)
}

// clearWhere clears every open alert that pick chooses.
func (u *Unit) clearWhere(t time.Time, pick func(*lab.Occurrence) bool) {
	for _, key := range slices.Sorted(maps.Keys(u.s.Open)) {
		if pick(u.s.Open[key]) {
			u.clearKey(key, t)
		}
	}
}

// hold is a condition that readings must show for some time before it counts.
type hold struct {
	From time.Time `json:"from"`
	Last time.Time `json:"last"`
	N    int       `json:"n"` // readings that showed it
	ForS float64   `json:"for_s"`
}

// held follows a condition from reading to reading. It gives the moment at which
// the condition had lasted for s seconds, and true once a reading at or after
// that moment still shows it. A single reading never proves anything.
func (u *Unit) held(name string, shows bool, t time.Time, s float64) (time.Time, bool) {
	h := u.s.Holds[name]
	if !shows {
		delete(u.s.Holds, name)
		return time.Time{}, false
	}
	if h == nil {
		h = &hold{From: t, ForS: s}
		u.s.Holds[name] = h
	}
	h.N++
	h.Last = t
	due := h.From.Add(lab.Seconds(h.ForS))
	return due, h.N >= 2 && !t.Before(due)
}

// dropHolds forgets the holds whose names begin with prefix.
func (u *Unit) dropHolds(prefix string) {
	for name := range u.s.Holds {
		if strings.HasPrefix(name, prefix) {
			delete(u.s.Holds, name)
		}
	}
}
