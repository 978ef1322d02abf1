package lab

import (
	"encoding/json"
	"fmt"
	"strings"
)

// EntryKind is everything that the program has to know of one kind of entry.
// A new kind is one row of entryKinds: the fold, the store, the records and
// the reports ask the row and hold no list of their own.
type EntryKind struct {
	What     string
	NeedsRun bool // it is of a run and must name it

	// Folded: it changes what the fold finds. What is not is kept with the run
	// by others.
	Folded bool
	// OfWholeRun says which entries bear on their run as a whole, whenever they
	// were made: the run is folded again from its beginning.
	OfWholeRun WholeRun
	// Figure: it sets a figure for the runs that begin after it, until another
	// of the same Sets takes its place.
	Figure bool
	// Rejudges: a sealed run is judged and sealed anew with it.
	Rejudges bool
	// LaidOver: it is added to a sealed report and changes nothing that was
	// judged.
	LaidOver bool
	// AtUnit: without a run it belongs to the records of the unit's runs that it
	// falls into.
	AtUnit bool

	body  func() any           // nil: it has no body
	check func(body any) error // nil: every body that reads is right
	sets  func(Entry) string   // nil: one figure of its kind
	words func(Entry, EntryWords) string
}

// WholeRun says when an entry bears on its run as a whole.
type WholeRun int

// An entry bears on a moment, on its run where it names one, or on its run in
// any case.
const (
	NotWholeRun WholeRun = iota
	WhereRunNamed
	AlwaysWholeRun
)

// entryKinds is the table of kinds.
var entryKinds = []EntryKind{
	{What: EntryLoad, Folded: true, OfWholeRun: WhereRunNamed, Rejudges: true, AtUnit: true,
		body: func() any { return &Load{} }, check: checkOf[Load], words: loadWords},
	{What: EntryUnload, Folded: true, OfWholeRun: WhereRunNamed, Rejudges: true, AtUnit: true},
	{What: EntryContainer, Folded: true, Rejudges: true, AtUnit: true,
		body: func() any { return &ContainerEvent{} }, check: checkOf[ContainerEvent], words: containerEventWords},
	{What: EntryCapacity, Folded: true,
		body: func() any { return &ContainerCapacity{} }, check: checkOf[ContainerCapacity]},
	{What: EntryTurned, NeedsRun: true, Folded: true, Rejudges: true,
		body: func() any { return &Turned{} }, check: checkOf[Turned], words: turnedWords},
	{What: EntryDrained, NeedsRun: true, Folded: true, Rejudges: true, words: drainedWords},
	{What: EntryMeasured, NeedsRun: true, Folded: true, Rejudges: true,
		body: func() any { return &Measured{} }, check: checkOf[Measured], words: measuredWords},
	{What: EntryFilm, Folded: true, Rejudges: true, AtUnit: true,
		body: func() any { return &FilmDoing{} }, check: checkOf[FilmDoing], words: filmDoingWords},
	{What: EntryContinues, NeedsRun: true, Folded: true, OfWholeRun: AlwaysWholeRun, Rejudges: true,
		body: func() any { return &Continues{} }, words: continuesWords},
	{What: EntryRolls, NeedsRun: true, Folded: true, OfWholeRun: AlwaysWholeRun, LaidOver: true,
		body: func() any { return &RollsChange{} }, check: checkOf[RollsChange], words: rollsChangeWords},
	{What: EntryKindOfRun, NeedsRun: true, Folded: true, OfWholeRun: AlwaysWholeRun, Rejudges: true,
		body: func() any { return &KindChange{} }, check: checkOf[KindChange], words: kindWords},
	{What: EntryDecision, NeedsRun: true, Folded: true, LaidOver: true, // it stands at the top of a report: no words of its own
		body: func() any { return &Decision{} }, check: checkOf[Decision]},
	{What: EntryOwner, NeedsRun: true, LaidOver: true,
		body: func() any { return &FilmOwner{} }, check: checkOf[FilmOwner], words: ownerWords},
	{What: EntrySymptom, NeedsRun: true, LaidOver: true,
		body: func() any { return &Symptom{} }, check: checkOf[Symptom], words: symptomWords},
	{What: EntryNote, LaidOver: true, AtUnit: true,
		body: func() any { return &Note{} }, check: checkOf[Note], words: noteWords},
	{What: EntryProbe, Folded: true, Figure: true, Rejudges: true,
		body: func() any { return &ProbeCheck{} }, check: checkOf[ProbeCheck], words: probeWords},
	{What: EntryHouseAim, Folded: true, Figure: true, Rejudges: true, sets: houseAimSets,
		body: func() any { return &HouseAim{} }, check: checkOf[HouseAim], words: houseAimWords},
	{What: EntryDeveloper, Folded: true, Figure: true, Rejudges: true, sets: developerSets,
		body: func() any { return &DeveloperChoice{} }, check: checkOf[DeveloperChoice], words: developerWords},
	{What: EntryStepName, Folded: true, Figure: true, OfWholeRun: WhereRunNamed, Rejudges: true, sets: stepNameSets,
		body: func() any { return &StepName{} }, check: checkOf[StepName]},
	{What: EntryStepTime, Folded: true, Figure: true, Rejudges: true,
		body: func() any { return &StepTime{} }},
	{What: EntryProbeKind, Folded: true, Figure: true, Rejudges: true,
		body: func() any { return &ProbeKind{} }, check: checkOf[ProbeKind], words: probeKindWords},
	{What: EntryCheck,
		body: func() any { return &CheckDone{} }, check: checkOf[CheckDone]},
	{What: EntryStrip, Folded: true,
		body: func() any { return &Strip{} }, check: checkOf[Strip], words: stripWords},
	{What: EntryGate,
		body: func() any { return &GateOpening{} }, check: checkOf[GateOpening]},
	{What: EntryBottle, Folded: true, Figure: true, Rejudges: true, sets: bottleSets,
		body: func() any { return &Bottle{} }, check: checkOf[Bottle], words: bottleWords},
	{What: EntryTakesBack, Rejudges: true,
		body: func() any { return &TakesBack{} }, check: checkOf[TakesBack]},
}

// FigureEntries are the kinds that set figures; UnitEntries those that without
// a run belong to the records of the runs they fall into.
var (
	FigureEntries = kindsThat(func(k EntryKind) bool { return k.Figure })
	UnitEntries   = kindsThat(func(k EntryKind) bool { return k.AtUnit })
)

// kindByName finds the rows, which are looked up with every message.
var kindByName = func() map[string]*EntryKind {
	m := map[string]*EntryKind{}
	for i := range entryKinds {
		m[entryKinds[i].What] = &entryKinds[i]
	}
	return m
}()

// KindOfEntry gives the row of a kind, false for a name that is none.
func KindOfEntry(what string) (*EntryKind, bool) {
	k, ok := kindByName[what]
	if !ok {
		return &EntryKind{What: what}, false
	}
	return k, true
}

// Kind gives the row of the entry's kind; of one that is not known the empty
// row, which changes nothing.
func (e Entry) Kind() *EntryKind {
	k, _ := KindOfEntry(e.What)
	return k
}

// OfWholeRun tells whether the entry bears on its run as a whole, whenever it
// was made.
func (e Entry) OfWholeRun() bool {
	switch e.Kind().OfWholeRun {
	case AlwaysWholeRun:
		return true
	case WhereRunNamed:
		return e.RunID != ""
	}
	return false
}

// Sets names the figure that the entry sets: a later entry with the same
// stands in its place. "" for an entry that sets none.
func (e Entry) Sets() string {
	k := e.Kind()
	switch {
	case !k.Figure:
		return ""
	case k.sets == nil:
		return e.What
	}
	return e.What + "|" + k.sets(e)
}

// MeantFor tells whether a figure is one for runs of this process and push.
func (e Entry) MeantFor(r Run) bool {
	switch e.What {
	case EntryHouseAim:
		a := BodyOf[HouseAim](e)
		return a.Process == r.Process && a.Push == r.Push
	case EntryStepName:
		return BodyOf[StepName](e).Process == r.Process
	case EntryBottle:
		process, _, _ := strings.Cut(BodyOf[Bottle](e).Position, "/")
		return process == r.Process
	case EntryDeveloper:
		return BodyOf[DeveloperChoice](e).Process == r.Process
	}
	return true
}

// BodyOf reads the body of an entry; what does not read says nothing.
func BodyOf[T any](e Entry) (v T) {
	_ = json.Unmarshal(e.Body, &v)
	return v
}

func houseAimSets(e Entry) string {
	b := BodyOf[HouseAim](e)
	return fmt.Sprintf("%s|%s|%g", b.Process, b.Step, b.Push)
}

func developerSets(e Entry) string {
	b := BodyOf[DeveloperChoice](e)
	return b.Process + "|" + b.Step
}

func stepNameSets(e Entry) string {
	b := BodyOf[StepName](e)
	return b.Process + "|" + b.Name
}

func kindsThat(fits func(EntryKind) bool) (names []string) {
	for _, k := range entryKinds {
		if fits(k) {
			names = append(names, k.What)
		}
	}
	return names
}
