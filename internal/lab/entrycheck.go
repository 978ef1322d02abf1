package lab

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"
)

// MaxEntryBody is the largest body of an entry, in bytes.
const MaxEntryBody = 64 << 10

// What a person may decide about a run.
var Decisions = []string{"release", "hold", Reprocess, "correct", "lost"}

// Reprocess is the decision to process film again.
const Reprocess = "reprocess"

// RunKinds are the kinds of run.
var RunKinds = []string{KindOfRunFilm, KindOfRunStrip, KindOfRunFlush, KindOfRunWater, KindOfRunPrime}

// ProbeClasses are the tolerance classes of probes that are known; "" is none.
var ProbeClasses = []string{"", "A", "B"}

// ContainerDoings are what people do to containers.
var ContainerDoings = []string{Emptied, ToppedUp, Swapped, SetLevel}

// TwinCheck gives a twin check as it is kept: without spaces around it, in
// capitals.
func TwinCheck(s string) (string, error) {
	v := strings.ToUpper(strings.TrimSpace(s))
	ok := v != "" && len(v) <= 32 && v[0] != '-' && v[len(v)-1] != '-'
	for i := 0; ok && i < len(v); i++ {
		c := v[i]
		ok = c >= '0' && c <= '9' || c >= 'A' && c <= 'Z' || c == '-'
	}
	if !ok {
		return "", Errorf(KindInvalid, "twin check %q must be 1 to 32 digits and letters, such as 48213", s)
	}
	return v, nil
}

// entryKind says what an entry of one kind must look like.
type entryKind struct {
	body  func() any // nil: no body
	ofRun bool       // wants a run
	check func(body any) error
}

var entryKinds = map[string]entryKind{
	EntryLoad:      {body: func() any { return &Load{} }, check: func(b any) error { return b.(*Load).check() }},
	EntryUnload:    {},
	EntryContainer: {body: func() any { return &ContainerEvent{} }, check: func(b any) error { return b.(*ContainerEvent).check() }},
	EntryCapacity:  {body: func() any { return &ContainerCapacity{} }, check: func(b any) error { return b.(*ContainerCapacity).check() }},
	EntryTurned:    {body: func() any { return &Turned{} }, ofRun: true, check: func(b any) error { return b.(*Turned).check() }},
	EntryDrained:   {ofRun: true},
	EntryMeasured: {body: func() any { return &Measured{} }, ofRun: true, check: func(b any) error {
		return BoundMeasured.Check("measured: c", b.(*Measured).C)
	}},
	EntryFilm:      {body: func() any { return &FilmDoing{} }, check: func(b any) error { return b.(*FilmDoing).check() }},
	EntryContinues: {body: func() any { return &Continues{} }, ofRun: true},
	EntryRolls: {body: func() any { return &RollsChange{} }, ofRun: true, check: func(b any) error {
		return b.(*RollsChange).check()
	}},
	EntryKind: {body: func() any { return &KindChange{} }, ofRun: true, check: func(b any) error {
		return oneOfThese("kind", b.(*KindChange).Kind, RunKinds)
	}},
	EntryDecision: {body: func() any { return &Decision{} }, ofRun: true, check: func(b any) error {
		return b.(*Decision).check()
	}},
	EntryOwner: {body: func() any { return &FilmOwner{} }, ofRun: true, check: func(b any) error {
		return present("owner", b.(*FilmOwner).Owner)
	}},
	EntrySymptom: {body: func() any { return &Symptom{} }, ofRun: true, check: func(b any) error {
		return present("seen", b.(*Symptom).Seen)
	}},
	EntryNote:      {body: func() any { return &Note{} }, check: func(b any) error { return present("text", b.(*Note).Text) }},
	EntryProbe:     {body: func() any { return &ProbeCheck{} }, check: func(b any) error { return b.(*ProbeCheck).check() }},
	EntryHouseAim:  {body: func() any { return &HouseAim{} }, check: func(b any) error { return b.(*HouseAim).check() }},
	EntryDeveloper: {body: func() any { return &DeveloperChoice{} }, check: func(b any) error { return present("step", b.(*DeveloperChoice).Step) }},
	EntryStepName:  {body: func() any { return &StepName{} }, check: func(b any) error { return b.(*StepName).check() }},
	EntryProbeKind: {body: func() any { return &ProbeKind{} }, check: func(b any) error {
		return oneOfThese("class", b.(*ProbeKind).Class, ProbeClasses)
	}},
	EntryStepTime:  {body: func() any { return &StepTime{} }},
	EntryCheck:     {body: func() any { return &CheckDone{} }, check: func(b any) error { return b.(*CheckDone).check() }},
	EntryStrip:     {body: func() any { return &Strip{} }, check: func(b any) error { return b.(*Strip).check() }},
	EntryGate:      {body: func() any { return &GateOpening{} }, check: func(b any) error { return b.(*GateOpening).check() }},
	EntryTakesBack: {body: func() any { return &TakesBack{} }, check: func(b any) error { return present("id", b.(*TakesBack).ID) }},
}

// Check tells what is wrong with an entry as such: its kind, its unit, its
// body. Whether it fits the unit and the run is for who takes it in.
func (e Entry) Check() error {
	kind, ok := entryKinds[e.What]
	switch {
	case !ok:
		return Errorf(KindInvalid, "what %q is no kind of entry", e.What)
	case !e.Unit.Valid():
		return Errorf(KindInvalid, "unit of an entry must be lab/unit; got %q", e.Unit)
	case strings.TrimSpace(e.By) == "":
		return Errorf(KindInvalid, "an entry must have the name of who made it")
	case kind.ofRun && e.RunID == "":
		return Errorf(KindInvalid, "a %s must have the id of its run", e.What)
	case len(e.Body) > MaxEntryBody:
		return Errorf(KindInvalid, "the %[1]s must be at most %[3]d bytes long; got %[2]d", e.What, len(e.Body), MaxEntryBody)
	}
	for _, s := range []string{e.ID, e.RunID, e.By, string(e.Body)} {
		if !utf8.ValidString(s) || strings.Contains(s, "\x00") {
			return Errorf(KindInvalid, "the %s holds a NUL or is not UTF-8", e.What)
		}
	}
	return kind.checkBody(e)
}

func (k entryKind) checkBody(e Entry) error {
	if k.body == nil {
		if len(e.Body) > 0 && !bytes.Equal(bytes.TrimSpace(e.Body), []byte("{}")) { // white space alone is no JSON
			return Errorf(KindInvalid, "%s: it takes no body", e.What)
		}
		return nil
	}
	b := k.body()
	if err := json.Unmarshal(e.Body, b); err != nil {
		return Errorf(KindInvalid, "%s: its body does not read: %w", e.What, err)
	}
	if k.check == nil {
		return nil
	}
	if err := k.check(b); err != nil {
		return Errorf(KindInvalid, "%s: %w", e.What, err)
	}
	return nil
}

func checkRolls(rolls []Roll) error {
	if len(rolls) > MaxRolls {
		return fmt.Errorf("there are %d rolls; at most %d are taken", len(rolls), MaxRolls)
	}
	seen := map[string]bool{}
	for i, r := range rolls {
		check, err := TwinCheck(r.TwinCheck)
		if err != nil {
			return fmt.Errorf("roll %d: %w", i+1, err)
		}
		if seen[check] {
			return fmt.Errorf("roll %s is named twice", check)
		}
		if err := BoundPush.Check("push of roll "+check, r.Push); err != nil {
			return err
		}
		seen[check] = true
	}
	return nil
}

func (e ContainerEvent) check() error {
	switch {
	case e.Container == "":
		return fmt.Errorf("container is missing")
	case e.What == SetLevel && e.Litres == nil:
		return fmt.Errorf("litres is missing; set needs what the container holds now")
	case e.Litres != nil && !BoundLitres.Holds(*e.Litres):
		return BoundLitres.Check("litres", *e.Litres)
	}
	return oneOfThese("what", e.What, ContainerDoings)
}

func (c ContainerCapacity) check() error {
	if c.Container == "" {
		return fmt.Errorf("container is missing")
	}
	return BoundLitres.Check("capacity_l", c.CapacityL)
}

func (l Load) check() error {
	if err := BoundPush.Check("push", l.Push); err != nil {
		return err
	}
	if most := 4 * MaxRolls; len(l.Answers) > most {
		return fmt.Errorf("there are %d answers; at most %d are taken", len(l.Answers), most)
	}
	return checkRolls(l.Rolls)
}

func (c RollsChange) check() error {
	if len(c.Remove) > MaxRolls {
		return fmt.Errorf("%d rolls are taken out; at most %d are at once", len(c.Remove), MaxRolls)
	}
	return checkRolls(c.Add)
}

func (p ProbeCheck) check() error {
	if err := BoundProbe.Check("offset_c", p.OffsetC); err != nil {
		return err
	}
	return BoundSpread.CheckPtr("uncertainty_c", p.UncertaintyC)
}

func (a HouseAim) check() error {
	if err := present("step", a.Step); err != nil {
		return err
	}
	if err := BoundPush.Check("push", a.Push); err != nil {
		return err
	}
	return BoundEquivalent.Check("equivalent_s", a.EquivalentS)
}

func (n StepName) check() error {
	for field, v := range map[string]string{"process": n.Process, "name": n.Name} {
		if err := present(field, v); err != nil {
			return err
		}
	}
	for _, v := range []string{n.Process, n.Name, n.Step} {
		if c := utf8.RuneCountInString(v); c > MaxName {
			return fmt.Errorf("a name has %d characters; at most %d are taken", c, MaxName)
		}
	}
	return nil
}

func (c CheckDone) check() error {
	if err := present("check", c.Check); err != nil {
		return err
	}
	return BoundValue.CheckPtr("value", c.Value)
}

func (d Decision) check() error {
	if len(d.Rolls) > MaxRolls {
		return fmt.Errorf("the decision names %d rolls; at most %d are taken", len(d.Rolls), MaxRolls)
	}
	return oneOfThese("decision", d.Decision, Decisions)
}

func (t Turned) check() error {
	if t.To != nil && !t.From.Before(t.To.Time) {
		return fmt.Errorf("from (%s) is not before to (%s)", t.From, t.To)
	}
	return nil
}

func oneOfThese(field, v string, these []string) error {
	if !slices.Contains(these, v) {
		return fmt.Errorf("%s", MustBeOneOf(field, v, these))
	}
	return nil
}

func present(field, v string) error {
	if strings.TrimSpace(v) == "" {
		return fmt.Errorf("%s is missing", field)
	}
	return nil
}

// entryTopicEnd stands where a channel stands in telemetry's topics. No unit
// may publish there: it is known in captures only.
const entryTopicEnd = "/entry"

// EntryTopic is the topic under which a capture carries a unit's entries.
func EntryTopic(u UnitID) string { return TopicPrefix + u.String() + entryTopicEnd }

// IsEntryTopic tells whether a line of a capture carries an entry.
func IsEntryTopic(topic string) bool {
	unit, ok := strings.CutSuffix(topic, entryTopicEnd)
	if !ok {
		return false
	}
	u, err := ParseUnitID(strings.TrimPrefix(unit, TopicPrefix))
	return err == nil && EntryTopic(u) == topic
}

// Raw gives an entry as a capture carries it.
func (e Entry) Raw() (Raw, error) {
	b, err := json.Marshal(e)
	return Raw{Topic: EntryTopic(e.Unit), Payload: b, Received: e.Entered}, err
}

// EntryOf reads a line of a capture that carries an entry.
func EntryOf(raw Raw) (Entry, error) {
	var e Entry
	if err := json.Unmarshal(raw.Payload, &e); err != nil {
		return e, Errorf(KindInvalid, "topic %q: not an entry: %w", raw.Topic, err)
	}
	switch {
	case EntryTopic(e.Unit) != raw.Topic:
		return e, Errorf(KindInvalid, "topic %q carries an entry of unit %s", raw.Topic, e.Unit)
	case e.ID == "" || e.Entered.IsZero():
		return e, Errorf(KindInvalid, "topic %q: an entry must have id and entered", raw.Topic)
	}
	if e.At.IsZero() {
		e.At = e.Entered
	}
	return e, e.Check()
}
