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

// Check tells what is wrong with an entry as such: its kind, its unit, its
// body. Whether it fits the unit and the run is for who takes it in.
func (e Entry) Check() error {
	kind, ok := KindOfEntry(e.What)
	switch {
	case !ok:
		return Errorf(KindInvalid, "what %q is no kind of entry", e.What)
	case !e.Unit.Valid():
		return Errorf(KindInvalid, "unit of an entry must be lab/unit; got %q", e.Unit)
	case strings.TrimSpace(e.By) == "":
		return Errorf(KindInvalid, "an entry must have the name of who made it")
	case kind.NeedsRun && e.RunID == "":
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

func (k *EntryKind) checkBody(e Entry) error {
	if k.body == nil {
		if len(e.Body) > 0 && !bytes.Equal(bytes.Trim(e.Body, " \t\r\n"), []byte("{}")) { // of white space as JSON has it; alone it is no JSON
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

func checkOf[T interface{ check() error }](body any) error { return (*body.(*T)).check() }

func (m Measured) check() error        { return BoundMeasured.Check("measured: c", m.C) }
func (k KindChange) check() error      { return oneOfThese("kind", k.Kind, RunKinds) }
func (o FilmOwner) check() error       { return present("owner", o.Owner) }
func (s Symptom) check() error         { return present("seen", s.Seen) }
func (n Note) check() error            { return present("text", n.Text) }
func (d DeveloperChoice) check() error { return present("step", d.Step) }
func (k ProbeKind) check() error       { return oneOfThese("class", k.Class, ProbeClasses) }
func (t TakesBack) check() error       { return present("id", t.ID) }

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
