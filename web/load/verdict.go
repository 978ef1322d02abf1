package load

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
	Go   = "go"
	Stop = "stop"
)

// Reason is one thing to know before start is pressed.
type Reason struct {
	Code  string `json:"code" doc:"Stop: process-unknown, roll-process, roll-push, waste-room-short, float-closed, wash-water-short, chemistry-short, unit-offline, unit-silent, out-of-service, retired, urgent-alert, strip-gate, chemistry. Tell: no-rolls, no-sheet, level-unknown, heater, unit-running, unit-new, roll-elsewhere, roll-processed, strip-gate, chemistry."`
	Text  string `json:"text"`
	Roll  string `json:"roll,omitempty" doc:"The twin check of the roll it is about."`
	Stops bool   `json:"stops" doc:"It makes the verdict stop."`
	// A question about a roll: it stops until it is answered, in answers of the
	// load, with this of.
	Of  string       `json:"of,omitempty"`
	Ask []RollChoice `json:"ask,omitempty"`
}

// Check is all that a load is judged by.
type Check struct {
	Unit     lab.Unit // as it is shown, with name and standing
	Open     []lab.Alert
	Book     *process.Book  // names of other processes; nil: their ids
	Sheet    *process.Sheet // nil: none
	Load     lab.Load
	PreheatC *float64    // the first bath, nil where it was not measured
	Rolls                // what is known of its rolls
	Gate     strips.Gate // of the control strips; zero: none
	Chemistry
}

// judgement gathers what a Check finds.
type judgement struct {
	Check
	reasons []Reason
	plan    Plan
}

// Judge says whether start may be pressed, and what the run will need.
// What is not known is said and does not stop. It has no side effects.
func Judge(c Check) (verdict string, reasons []Reason, plan Plan) {
	j := judgement{Check: c, reasons: []Reason{}}
	j.plan = Plan{Process: c.Load.Process, ProcessName: c.Load.Process, Containers: []ContainerNeed{},
		Heater: HeaterPlan{Standing: heaterUnknown, C: c.PreheatC}, Running: c.Unit.Activity != lab.ActivityIdle}
	j.process()
	j.rolls()
	j.state()
	j.strips()
	j.containers()
	j.chemistry()
	j.heater()
	slices.SortStableFunc(j.reasons, func(a, b Reason) int { return cmp.Compare(rank(a), rank(b)) })
	verdict = Go
	if slices.ContainsFunc(j.reasons, func(r Reason) bool { return r.Stops }) {
		verdict = Stop
	}
	return verdict, j.reasons, j.plan
}

func rank(r Reason) int {
	if r.Stops {
		return 0
	}
	return 1
}

func (j *judgement) stop(code, roll, format string, args ...any) {
	j.reasons = append(j.reasons, Reason{Code: code, Roll: roll, Stops: true, Text: fmt.Sprintf(format, args...)})
}

func (j *judgement) tell(code, roll, format string, args ...any) {
	j.reasons = append(j.reasons, Reason{Code: code, Roll: roll, Text: fmt.Sprintf(format, args...)})
}

// does tells whether a unit that runs one process does what is wanted: e6 is
// done by e6-7.
func does(runs, wanted string) bool { return runs == wanted || strings.HasPrefix(runs, wanted+"-") }

func (j *judgement) process() {
	u, want := j.Unit, j.Load.Process
	j.plan.ProcessKnown = slices.ContainsFunc(u.Processes, func(p string) bool { return does(p, want) })
	if j.Sheet != nil {
		j.plan.ProcessName = j.Sheet.Name
	}
	switch {
	case len(u.Processes) > 0 && !j.plan.ProcessKnown:
		j.stop("process-unknown", "", "%s has no process %s. It has %s.", u.Name, want, strings.Join(u.Processes, ", "))
	case j.Sheet == nil:
		j.tell("no-sheet", "", "There is no process sheet for %s: the run will be shown and saved, but not judged.", want)
	}
}

// rolls finds those that want something else than is loaded.
func (j *judgement) rolls() {
	l := j.Load
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
	if j.Book == nil {
		return process.Named(id, push)
	}
	if sh, ok := j.Book.Sheet(id); ok {
		return process.Named(sh.Name, push)
	}
	name := id
	for _, other := range j.Book.IDs() { // e6 is what e6-7 and e6-3 do: the shorter name fits both
		if sh, _ := j.Book.Sheet(other); does(other, id) && (name == id || len(sh.Name) < len(name)) {
			name = sh.Name
		}
	}
	return process.Named(name, push)
}

// state is what is wrong with the unit as such.
func (j *judgement) state() {
	u := j.Unit
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
	for _, a := range j.Open {
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
	for _, reason := range j.Gate.Reasons {
		if j.Gate.Gate == strips.GateStop {
			j.stop("strip-gate", "", "%s", reason)
		} else {
			j.tell("strip-gate", "", "%s", reason)
		}
	}
}
