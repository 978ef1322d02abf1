package lab

import (
	"encoding/json"
	"time"
)

// Entry is what a person stated, did or set that the judgement counts in. It
// has an arrival number of the same sequence as telemetry, so that live
// watching and a second pass take it in at the same place. Entries are never
// changed: one is taken back by a later entry.
type Entry struct {
	ID      string          `json:"id"`
	Arrival int64           `json:"-"`
	Unit    UnitID          `json:"unit"`
	RunID   string          `json:"run,omitempty" doc:"The id of the run it is of; absent where it is of the unit."`
	What    string          `json:"what" doc:"load, unload, container, turned-by-hand, drained, measured, film, continues, rolls, run-kind, decision, symptom, note, probe, probe-kind, house-aim, developer, strip, strip-gate or bottle."`
	At      time.Time       `json:"at" doc:"When it was so."`
	Entered time.Time       `json:"entered"` // when it was entered
	By      string          `json:"by"`
	Body    json.RawMessage `json:"body,omitempty"` // by What, below
	// Imported: it came with history that was read in from a capture.
	Imported bool `json:"-"`
}

// PressedTwice is the time within which the same entry by the same person is
// taken for a button that was pressed twice.
const PressedTwice = 2 * time.Second

// Repeats tells whether e only says again what an entry before it says. stated:
// the person said when it was so; else At is when it was entered. Entries with
// an id are the same request whenever they come.
func (e Entry) Repeats(before Entry, stated bool) bool {
	same := e.Unit == before.Unit && e.RunID == before.RunID && e.What == before.What && e.By == before.By &&
		(len(e.Body) == 0 && len(before.Body) == 0 || SamePayload(e.Body, before.Body))
	return same && (before.At.Equal(e.At) || !stated && (e.ID != "" || before.At.Equal(before.Entered)))
}

// What an entry is about, and its body.
const (
	EntryLoad      = "load"           // Load: what the unit's next run (or, with RunID, that run) carries
	EntryUnload    = "unload"         // the load is taken back
	EntryContainer = "container"      // ContainerEvent
	EntryCapacity  = "capacity"       // ContainerCapacity, of a unit
	EntryTurned    = "turned-by-hand" // Turned
	EntryDrained   = "drained"        // at At, by hand; no body
	EntryMeasured  = "measured"       // Measured, at At: a thermometer in the bath
	EntryFilm      = "film"           // FilmDoing, at At: what was done with film that no run goes on with
	EntryContinues = "continues"      // Continues, of a run
	EntryRolls     = "rolls"          // RollsChange, of a run
	EntryKindOfRun = "run-kind"       // KindChange, of a run
	EntryDecision  = "decision"       // Decision, of a run
	EntryOwner     = "film-owner"     // FilmOwner, of a run: who sees to its film until that is decided
	EntrySymptom   = "symptom"        // Symptom, of a run: the fault seen on the film
	EntryNote      = "note"           // Note, of a run or a unit
	EntryProbe     = "probe"          // ProbeCheck, of a unit
	EntryHouseAim  = "house-aim"      // HouseAim, of a unit
	EntryDeveloper = "developer"      // DeveloperChoice, of a unit
	EntryStepName  = "step-name"      // StepName, of a unit; with RunID that run is judged by it too
	EntryStepTime  = "step-time"      // StepTime, of a unit
	EntryProbeKind = "probe-kind"     // ProbeKind, of a unit
	EntryCheck     = "check"          // CheckDone, of a unit: something was looked after
	EntryStrip     = "strip"          // Strip, of a unit, or of the run that it went through
	EntryGate      = "strip-gate"     // GateOpening, of a unit
	EntryBottle    = "bottle"         // Bottle, of a unit: which mix stands at a position from At on
	EntryTakesBack = "takes-back"     // TakesBack: another entry holds no more
)

// Load is what the next run of a unit will carry.
type Load struct {
	Process string  `json:"process"`
	Push    float64 `json:"push"`
	Rolls   []Roll  `json:"rolls"`
	// Answers are what the person said where a roll raised a question.
	Answers []RollAnswer `json:"answers,omitempty"`
}

// RollAnswer is a person's answer to a question about a roll: Of is the unit or
// the run that it was about.
type RollAnswer struct {
	Roll   string `json:"roll"`
	Code   string `json:"code"`
	Of     string `json:"of,omitempty"`
	Answer string `json:"answer"`
}

// ContainerEvent is what a person did to a container.
type ContainerEvent struct {
	Container string   `json:"container"`
	What      string   `json:"what"` // emptied, topped-up, swapped or set
	Litres    *float64 `json:"litres,omitempty"`
	Note      string   `json:"note,omitempty"`
}

// What people do to containers.
const (
	Emptied  = "emptied"
	ToppedUp = "topped-up"
	Swapped  = "swapped"
	SetLevel = "set"
)

// ContainerCapacity says how much a container really holds; CapacityL 0: what
// the unit itself says.
type ContainerCapacity struct {
	Container string  `json:"container"`
	CapacityL float64 `json:"capacity_l"`
}

// Turned says that the tank was turned by hand.
type Turned struct {
	From Time  `json:"from"`
	To   *Time `json:"to"` // null: to the end of the outage
}

// Measured is what a person's thermometer showed in the bath.
type Measured struct {
	C float64 `json:"c"`
}

// RollsChange adds rolls to a run or takes them out, by twin check.
type RollsChange struct {
	Add    []Roll   `json:"add,omitempty"`
	Remove []string `json:"remove,omitempty"`
}

// KindChange corrects the kind of a run.
type KindChange struct {
	Kind string `json:"kind"`
}

// FilmOwner names who sees to film until it is decided about.
type FilmOwner struct {
	Owner string `json:"owner"`
}

// Symptom is a fault seen on the film; Seen is one of the codes of the
// symptom table.
type Symptom struct {
	Seen  string   `json:"seen"`
	Rolls []string `json:"rolls,omitempty"` // twin checks of those that show it
	All   bool     `json:"all,omitempty"`   // all rolls show it
	Note  string   `json:"note,omitempty"`
}

// RollsSaid tells whether it was said which rolls show the fault. Where it was
// not, nothing is assumed: neither all, nor some.
func (s Symptom) RollsSaid() bool { return s.All || len(s.Rolls) > 0 }

// Note is plain text.
type Note struct {
	Text string `json:"text"`
}

// ProbeCheck is a check of the bath's probe against a reference thermometer:
// OffsetC is added to what the probe says. UncertaintyC defaults to 0.05.
type ProbeCheck struct {
	OffsetC      float64  `json:"offset_c" doc:"What is added to the probe's reading, degrees Celsius."`
	UncertaintyC *float64 `json:"uncertainty_c,omitempty" doc:"How far the probe can be off, degrees Celsius; absent: 0.05."`
	Reference    string   `json:"reference,omitempty" doc:"The thermometer it was held against."`
}

// ProbeKind is what kind of probe measures a unit's bath: the tolerance class
// of a platinum probe by IEC 60751, A or B; "" where it is not known.
type ProbeKind struct {
	Class string `json:"class"`
}

// HouseAim is the equivalent time that the lab's good runs on a unit get, in
// seconds, for one step and push.
type HouseAim struct {
	Process     string  `json:"process"`
	Step        string  `json:"step"`
	Push        float64 `json:"push"`
	EquivalentS float64 `json:"equivalent_s" doc:"Equivalent time at the sheet's temperature, seconds."`
}

// DeveloperChoice says which developer the unit's bottle of a step holds:
// the id of one of the tables of internal/process; "" is the sheet's own.
type DeveloperChoice struct {
	Process   string `json:"process"`
	Step      string `json:"step"`
	Developer string `json:"developer"`
}

// StepName says what a name that the unit gives a step of a process means.
type StepName struct {
	Process string `json:"process" doc:"The process in whose runs the name means this."`
	Name    string `json:"name" doc:"The step as the unit names it."`
	Step    string `json:"step,omitempty" doc:"The step of the sheet; absent: an extra step that the sheet does not have."`
}

// StepTime says from where to where a unit counts the time in a step.
type StepTime struct {
	WithFill  bool `json:"with_fill" doc:"From the beginning of the first fill, not from its end."`
	WithDrain bool `json:"with_drain" doc:"To the end of the last draining, not to its beginning."`
}

// CheckDone says that one of the checks of internal/process was done.
type CheckDone struct {
	Check string   `json:"check"` // its id
	OK    bool     `json:"ok"`    // false: a fault was found
	Value *float64 `json:"value,omitempty"`
	Note  string   `json:"note,omitempty"`
}

// TakesBack names the entry that holds no more.
type TakesBack struct {
	ID string `json:"id"`
}

// EntryFilter selects entries; zero fields select all. With What come also
// the entries that take such ones back (see InForce). Of more than Limit the
// newest are given; the order is always that of arrival.
type EntryFilter struct {
	Unit  string
	RunID string
	What  []string
	Since time.Time
	Limit int
}
