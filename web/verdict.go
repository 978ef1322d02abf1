package web

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"wetside/internal/lab"
	"wetside/internal/process"
	"wetside/internal/strips"
)

// Verdicts on a load.
const (
	loadGo   = "go"
	loadStop = "stop"
)

// LoadReason is one thing to know before start is pressed.
type LoadReason struct {
	Code  string `json:"code" doc:"Stop: process-unknown, roll-process, roll-push, waste-room-short, float-closed, wash-water-short, chemistry-short, unit-offline, unit-silent, out-of-service, retired, urgent-alert, strip-gate. Tell: no-rolls, no-sheet, level-unknown, heater, unit-running, unit-new, roll-elsewhere, roll-processed, strip-gate."`
	Text  string `json:"text"`
	Roll  string `json:"roll,omitempty" doc:"The twin check of the roll it is about."`
	Stops bool   `json:"stops" doc:"It makes the verdict stop."`
	// A question about a roll: it stops until it is answered, in answers of the
	// load, with this of.
	Of  string       `json:"of,omitempty"`
	Ask []RollChoice `json:"ask,omitempty"`
}

// LoadPlan is what the run will need beside what is there.
type LoadPlan struct {
	Process      string          `json:"process"`
	ProcessName  string          `json:"process_name" doc:"What people call the process."`
	ProcessKnown bool            `json:"process_known" doc:"The unit said that it has this process."`
	Containers   []ContainerNeed `json:"containers" doc:"What the run needs of each container."`
	Heater       HeaterPlan      `json:"heater"`
	Running      bool            `json:"running" doc:"The unit is busy: the load is for its next run."`
}

// ContainerNeed is what the run will draw from a container or drain into it.
type ContainerNeed struct {
	Name     string   `json:"name" doc:"The container."`
	Role     lab.Role `json:"role" enum:"waste,wash,recovery,bottle" doc:"What it is for."`
	NeedsL   *float64 `json:"needs_l" doc:"What a run like the unit's last draws from it or drains into it, liters; null where that is not known."`
	HasL     *float64 `json:"has_l" doc:"What is in it, or the room left in waste and recovery, after the run going on now, liters; null where no level was received."`
	Standing string   `json:"standing" enum:"enough,short,unknown" doc:"Whether it will do."`
}

// HeaterPlan is how far the first bath is from its temperature.
type HeaterPlan struct {
	Standing string   `json:"standing" enum:"ready,heating,unknown" doc:"Whether the first bath is at its temperature."`
	C        *float64 `json:"c" doc:"The first bath in its bottle, degrees Celsius; null where it was not measured of late."`
	AimC     *float64 `json:"aim_c" doc:"What the sheet says, degrees Celsius; null where there is no sheet."`
}

// Standings of what a run needs.
const (
	needEnough  = "enough"
	needShort   = "short"
	needUnknown = "unknown"

	heaterReady   = "ready"
	heaterHeating = "heating"
	heaterUnknown = "unknown"
)

// loadCheck is all that a load is judged by.
type loadCheck struct {
	unit      lab.Unit // as it is shown, with name and standing
	open      []lab.Alert
	book      *process.Book  // names of other processes; nil: their ids
	sheet     *process.Sheet // nil: none
	load      lab.Load
	preheatC  *float64 // the first bath, nil where it was not measured
	rollFacts rollFacts
	gate      strips.Gate // of the control strips; zero: none
}

// judgement gathers what a loadCheck finds.
type judgement struct {
	loadCheck
	reasons []LoadReason
	plan    LoadPlan
}

// judgeLoad says whether start may be pressed, and what the run will need.
// What is not known is said and does not stop. It has no side effects.
func judgeLoad(c loadCheck) (verdict string, reasons []LoadReason, plan LoadPlan) {
	j := judgement{loadCheck: c, reasons: []LoadReason{}}
	j.plan = LoadPlan{Process: c.load.Process, ProcessName: c.load.Process, Containers: []ContainerNeed{},
		Heater: HeaterPlan{Standing: heaterUnknown, C: c.preheatC}, Running: c.unit.Activity != lab.ActivityIdle}
	j.process()
	j.rolls()
	j.state()
	j.strips()
	j.containers()
	j.heater()
	slices.SortStableFunc(j.reasons, func(a, b LoadReason) int { return cmp.Compare(rank(a), rank(b)) })
	verdict = loadGo
	if slices.ContainsFunc(j.reasons, func(r LoadReason) bool { return r.Stops }) {
		verdict = loadStop
	}
	return verdict, j.reasons, j.plan
}

func rank(r LoadReason) int {
	if r.Stops {
		return 0
	}
	return 1
}

func (j *judgement) stop(code, roll, format string, args ...any) {
	j.reasons = append(j.reasons, LoadReason{Code: code, Roll: roll, Stops: true, Text: fmt.Sprintf(format, args...)})
}

func (j *judgement) tell(code, roll, format string, args ...any) {
	j.reasons = append(j.reasons, LoadReason{Code: code, Roll: roll, Text: fmt.Sprintf(format, args...)})
}

// does tells whether a unit that runs one process does what is wanted: e6 is
// done by e6-7.
func does(runs, wanted string) bool { return runs == wanted || strings.HasPrefix(runs, wanted+"-") }

func (j *judgement) process() {
	u, want := j.unit, j.load.Process
	j.plan.ProcessKnown = slices.ContainsFunc(u.Processes, func(p string) bool { return does(p, want) })
	if j.sheet != nil {
		j.plan.ProcessName = j.sheet.Name
	}
	switch {
	case len(u.Processes) > 0 && !j.plan.ProcessKnown:
		j.stop("process-unknown", "", "%s has no process %s. It has %s.", u.Name, want, strings.Join(u.Processes, ", "))
	case j.sheet == nil:
		j.tell("no-sheet", "", "There is no process sheet for %s: the run will be shown and saved, but not judged.", want)
	}
}

// rolls finds those that want something else than is loaded.
func (j *judgement) rolls() {
	l := j.load
	if len(l.Rolls) == 0 {
		j.tell("no-rolls", "", "No roll is scanned: the run will not be found by its rolls.")
	}
	for _, r := range l.Rolls {
		switch {
		case r.Process != "" && !does(l.Process, r.Process) && !does(r.Process, l.Process):
			j.stop("roll-process", r.TwinCheck, "Roll %s is for %s. This load is %s. Take it out.", r.TwinCheck, j.named(r.Process, r.Push), j.named(l.Process, l.Push))
		case (r.Process != "" || r.Push != 0) && math.Abs(r.Push-l.Push) > lab.SamePush:
			j.stop("roll-push", r.TwinCheck, "Roll %s is for %s. This load is %s. Take it out.", r.TwinCheck, process.PushWords(r.Push), process.PushWords(l.Push))
		}
		j.rollQuestions(r)
	}
}

// named is a process with its push as its sheet names it.
func (j *judgement) named(id string, push float64) string {
	if j.book == nil {
		return process.Named(id, push)
	}
	if sh, ok := j.book.Sheet(id); ok {
		return process.Named(sh.Name, push)
	}
	name := id
	for _, other := range j.book.IDs() { // e6 is what e6-7 and e6-3 do: the shorter name fits both
		if sh, _ := j.book.Sheet(other); does(other, id) && (name == id || len(sh.Name) < len(name)) {
			name = sh.Name
		}
	}
	return process.Named(name, push)
}

// state is what is wrong with the unit as such.
func (j *judgement) state() {
	u := j.unit
	switch u.Standing {
	case lab.UnitOutOfService:
		j.stop("out-of-service", "", "%s is out of service.", u.Name)
	case lab.UnitRetired:
		j.stop("retired", "", "%s is retired.", u.Name)
	case lab.UnitNew:
		j.tell("unit-new", "", "%s is new: nobody has accepted it yet.", u.Name)
	}
	switch u.Link {
	case lab.LinkOffline:
		j.stop("unit-offline", "", "%s is offline: nothing would be watched. Look at its power and network.", u.Name)
	case lab.LinkSilent:
		j.stop("unit-silent", "", "%s has gone silent: nothing would be watched. Go and look.", u.Name)
	}
	for _, a := range j.open {
		if a.Priority == lab.Urgent && (a.State == lab.Unacknowledged || a.State == lab.Acknowledged) {
			j.stop("urgent-alert", "", "%s is in trouble: %s", u.Name, a.Message)
		}
	}
	for _, film := range u.Film {
		j.stop("film-left", "", "Film of run %s is still in %s, last in %s: see to it, and say on the unit's page what was done.", film.Run, u.Name, film.Step)
	}
	if j.plan.Running {
		j.tell("unit-running", "", "%s is busy now: this load is for its next run.", u.Name)
	}
}

// strips is what the control strips of this process say.
func (j *judgement) strips() {
	for _, reason := range j.gate.Reasons {
		if j.gate.Gate == strips.GateStop {
			j.stop("strip-gate", "", "%s", reason)
		} else {
			j.tell("strip-gate", "", "%s", reason)
		}
	}
}

// fullAt is how full a waste container may be where it is not known what the
// run will drain into it: as waste-nearly-full.
const fullAt = 0.85

// volumes is what a run of the process that is loaded moves on the unit, nil
// where no such run was received whole, there or on another of its model.
func (j *judgement) volumes() *lab.RunVolumes {
	for i, v := range j.unit.RunVolumes {
		if does(v.Process, j.load.Process) {
			return &j.unit.RunVolumes[i]
		}
	}
	return nil
}

// containers compares what a run of this process draws and drains with what is
// there after the run that goes on now. Where that is not known it says so.
func (j *judgement) containers() {
	v := j.volumes()
	if v == nil && len(j.unit.Containers) > 0 && (j.plan.ProcessKnown || len(j.unit.Processes) == 0) {
		j.tell("volumes-unknown", "", "How much a run of %s draws and drains on %s is not known yet. Look into waste, water and bottles before you start.",
			j.plan.ProcessName, j.unit.Name)
	}
	for _, x := range j.unit.Containers {
		j.container(x, v)
	}
}

func (j *judgement) container(x lab.Container, v *lab.RunVolumes) {
	into := x.Role == lab.RoleWaste || x.Role == lab.RoleRecovery
	if of, _, ok := strings.Cut(x.Name, "/"); ok && x.Role == lab.RoleBottle && !does(of, j.load.Process) {
		return // a bottle of another process
	}
	need := ContainerNeed{Name: x.Name, Role: x.Role, Standing: needUnknown}
	if v != nil {
		l := v.DrawsL[x.Name]
		if into {
			l = v.DrainsL[x.Name]
		}
		need.NeedsL = &l
	}
	if x.Litres != nil {
		left := *x.Litres
		if into {
			left = x.CapacityL - left
		}
		if x.OwedL != nil {
			left -= *x.OwedL
		}
		left = max(0, math.Round(left*100)/100)
		need.HasL = &left
	}
	switch {
	case into && x.FloatShut:
		need.Standing = needShort
		j.stop("float-closed", "", "%s is full (float switch). Empty it first.", title(lab.ContainerWords(x.Name, x.Role)))
	case need.NeedsL != nil && *need.NeedsL == 0:
		need.Standing = needEnough // such a run does not touch it
	case need.HasL == nil:
		j.tell("level-unknown", "", "How much is in %s is not known: no level was received. Look before you start.", lab.ContainerWords(x.Name, x.Role))
	case need.NeedsL == nil && into && x.Fraction != nil && *x.Fraction >= fullAt:
		need.Standing = needShort
		j.stop("waste-room-short", "", "%s is %.0f %% full. Empty it first.", title(lab.ContainerWords(x.Name, x.Role)), *x.Fraction*100)
	case need.NeedsL == nil:
	case *need.NeedsL > *need.HasL+1e-9:
		need.Standing = needShort
		j.short(x, need)
	default:
		need.Standing = needEnough
	}
	j.plan.Containers = append(j.plan.Containers, need)
}

// short says what a container lacks.
func (j *judgement) short(x lab.Container, need ContainerNeed) {
	needs, has := *need.NeedsL, *need.HasL
	switch x.Role {
	case lab.RoleWaste, lab.RoleRecovery:
		j.stop("waste-room-short", "", "%s has room for %.1f L. A run of %s drains %.1f L into it. Empty it first.", title(lab.ContainerWords(x.Name, x.Role)), has, j.plan.ProcessName, needs)
	case lab.RoleWash:
		j.stop("wash-water-short", "", "%s holds %.1f L. A run of %s draws %.1f L. Top it up first.", title(lab.ContainerWords(x.Name, x.Role)), has, j.plan.ProcessName, needs)
	default:
		j.stop("chemistry-short", "", "%s holds %.2f L. A run of %s draws %.2f L. Fill or swap it first.", title(lab.ContainerWords(x.Name, x.Role)), has, j.plan.ProcessName, needs)
	}
}

func title(name string) string {
	if name == "" {
		return name
	}
	return strings.ToUpper(name[:1]) + name[1:]
}

// heater is information: the unit waits for its bath by itself. While a run
// goes on the reading is of that run's next bath.
func (j *judgement) heater() {
	if j.sheet == nil || len(j.sheet.Steps) == 0 {
		return
	}
	first, h := j.sheet.Steps[0], &j.plan.Heater
	h.AimC = &first.AimC
	if h.C == nil || j.plan.Running {
		h.C = nil
		return
	}
	if h.Standing = heaterReady; *h.C < first.LowC || *h.C > first.HighC {
		h.Standing = heaterHeating
		j.tell("heater", "", "%s %.1f °C (aim %.1f °C). The unit will wait for it.", title(first.Label), *h.C, first.AimC)
	}
}
