package propose

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"wetside/internal/lab"
	"wetside/internal/nextloads"
	"wetside/internal/process"
)

// Facts are all that a proposal is made of.
type Facts struct {
	Now   time.Time
	Rolls []lab.KnownRoll // that wait and are loaded nowhere
	Units []lab.Unit      // as they are shown, with name and standing
	// Stops says, by unit and process, why no run of it may be loaded now.
	Stops    map[string]map[string][]string
	Runs     []lab.Run // of the last 60 days, the newest first
	Jobs     []lab.Job
	Book     *process.Book
	Settings lab.LabSettings // what reels and the common dryer hold
}

// How far the plan looks, and how far apart hands must be wanted. Both are ours:
// two minutes are to see to one unit and walk to the next.
const (
	mostRolls = 60
	apartMin  = 2
	turnMin   = 2
)

// kind is rolls that may run together.
type kind struct {
	process string
	push    *float64
	film    string // where the process takes its time from it
	name    string
}

// making is a proposal in the making.
type making struct {
	Facts
	out    Proposal
	now    time.Time // the minute that it holds for
	habits map[string]*habits
	kinds  []kind
	rolls  []lab.KnownRoll // as nextloads has them
	units  []ready
	plan   nextloads.Lab
}

// ready is a unit that is ready, or will be, as nextloads has it.
type ready struct {
	lab.Unit
	does    map[int]string // the process that it is set to, by kind
	timeBy  map[int]string
	holdsBy string
}

// Propose says what to load next.
func Propose(f Facts) Proposal {
	m := &making{Facts: f, now: f.Now.Truncate(time.Minute), habits: learn(f.Runs)}
	m.out = Proposal{At: lab.At(m.now), Waiting: len(f.Rolls), Runs: []ProposedRun{}, Left: []LeftRolls{}, Units: []UnitLeft{}, Rests: []ProposalRest{}}
	if m.gatherRolls(); len(f.Rolls) == 0 {
		return m.out
	}
	m.plan.ApartMin, m.plan.TurnMin = apartMin, turnMin
	m.plan.DryerRoom = int(f.Settings.DryerHolds * quartersOfRoll)
	m.gatherUnits()
	m.gatherHands()
	m.leaveOut()
	plan, err := m.plan.Plan()
	if err != nil { // the facts contradict each other: nothing is proposed
		m.out.Rests = append(m.out.Rests, ProposalRest{Text: "No proposal: " + err.Error()})
		return m.out
	}
	m.tell(plan)
	return m.out
}

// gatherRolls sorts the rolls into kinds, and leaves out those that cannot be
// planned.
func (m *making) gatherRolls() {
	var stopped, unknown, over []string
	for _, r := range m.Rolls {
		switch {
		case r.Stop != "":
			stopped = append(stopped, r.TwinCheck)
		case r.Process == "":
			unknown = append(unknown, r.TwinCheck)
		case len(m.rolls) == mostRolls:
			over = append(over, r.TwinCheck)
		default:
			m.rolls = append(m.rolls, r)
		}
	}
	slices.SortStableFunc(m.rolls, func(a, b lab.KnownRoll) int {
		return cmp.Or(a.EnteredAt.Compare(b.EnteredAt.Time), cmp.Compare(a.TwinCheck, b.TwinCheck))
	})
	for _, r := range m.rolls {
		size, _ := quarters(r.Format)
		due := nextloads.NoDue
		if r.DueAt != nil {
			due = int(r.DueAt.Sub(m.now).Minutes())
		}
		m.plan.Rolls = append(m.plan.Rolls, nextloads.Roll{Kind: m.kindOf(r), Size: size, Due: due})
	}
	m.left("stopped", "Marked STOP: they must not be run.", stopped)
	m.left("process-not-known", "Nobody said which process they are for. Enter it on the page Rolls.", unknown)
	m.left("too-many", fmt.Sprintf("More than %d rolls wait: those promised first are planned.", mostRolls), over)
}

func (m *making) left(why, text string, rolls []string) {
	if len(rolls) > 0 {
		m.out.Left = append(m.out.Left, LeftRolls{Why: why, Text: text, Rolls: rolls})
	}
}

// kindOf is the kind of a roll, a new one where none fits.
func (m *making) kindOf(r lab.KnownRoll) int {
	k := kind{process: r.Process, push: r.Push, name: m.processName(r.Process)}
	if sheet, ok := m.Book.Sheet(r.Process); ok && slices.ContainsFunc(sheet.Steps, func(s process.Step) bool { return s.FromUnit && s.Kind == process.Dev }) {
		k.film = r.Film
	}
	i := slices.IndexFunc(m.kinds, func(o kind) bool { return o.process == k.process && o.film == k.film && samePush(o.push, k.push) })
	if i < 0 {
		i = len(m.kinds)
		m.kinds = append(m.kinds, k)
		m.plan.Process = append(m.plan.Process, slices.IndexFunc(m.kinds, func(o kind) bool { return o.process == k.process }))
	}
	return i
}

func samePush(a, b *float64) bool {
	if a == nil || b == nil {
		return a == b
	}
	return *a-*b < lab.SamePush && *b-*a < lab.SamePush
}

func (k kind) stops() float64 {
	if k.push == nil {
		return 0
	}
	return *k.push
}

// words are what people call the kind.
func (k kind) words() string {
	s := k.name + ", push not said"
	if k.push != nil {
		s = process.Named(k.name, *k.push)
	}
	if k.film != "" {
		s += ", " + k.film
	}
	return s
}

// processName is what people call a process: e6 is what e6-7 and e6-3 do, and the
// shorter name fits both.
func (m *making) processName(id string) string {
	if sheet, ok := m.Book.Sheet(id); ok {
		return sheet.Name
	}
	name := ""
	for _, other := range m.Book.IDs() {
		if sheet, _ := m.Book.Sheet(other); lab.DoesProcess(other, id) && (name == "" || len(sheet.Name) < len(name)) {
			name = sheet.Name
		}
	}
	return cmp.Or(name, id)
}

// leaveOut takes the rolls out of the plan that no unit can run.
func (m *making) leaveOut() {
	var rolls []lab.KnownRoll
	var plan []nextloads.Roll
	none := map[int][]string{}
	for i, r := range m.plan.Rolls {
		fits := slices.ContainsFunc(m.plan.Units, func(u nextloads.Unit) bool {
			_, does := u.Does[r.Kind]
			return does && r.Size <= u.Holds
		})
		if !fits {
			none[r.Kind] = append(none[r.Kind], m.rolls[i].TwinCheck)
			continue
		}
		rolls, plan = append(rolls, m.rolls[i]), append(plan, r)
	}
	for k := range m.kinds {
		m.left("no-unit", "No unit that is ready can run them: "+m.kinds[k].words()+".", none[k])
	}
	m.rolls, m.plan.Rolls = rolls, plan
}

// tell writes the plan as people read it.
func (m *making) tell(p nextloads.Plan) {
	for _, r := range p.Runs {
		m.out.Runs = append(m.out.Runs, m.run(r))
	}
	var rest []string
	for _, i := range p.Left {
		rest = append(rest, m.rolls[i].TwinCheck)
	}
	m.left("nothing-left", "Water, chemistry or room in the waste is used up by then: see to the containers.", rest)
	m.out.Figures, m.out.First = m.figures(p.Score), m.figures(p.FirstCome)
	m.out.Better = better(p.Score, p.FirstCome)
	m.out.Proven = p.Proven
	m.restsOn(p)
}

// better leaves aside how early film is ready: that is shown by no figure.
func better(a, b nextloads.Score) bool {
	a.ReadySum, b.ReadySum = 0, 0
	return a.Compare(b) < 0
}

func (m *making) run(r nextloads.Run) ProposedRun {
	u, k := m.units[r.Unit], m.kinds[r.Kind]
	out := ProposedRun{Unit: u.ID, Name: u.Name, Process: u.does[r.Kind], ProcessName: m.processName(u.does[r.Kind]), Push: k.push, Film: k.film,
		Rolls: []PlannedRoll{}, Holds: float64(m.plan.Units[r.Unit].Holds) / quartersOfRoll, HoldsBy: u.holdsBy,
		StartAt: m.at(r.Start), ToDryerAt: m.at(r.BathEnd), ReadyAt: m.at(r.Ready), FlushFirst: r.Flush, TimeBy: u.timeBy[r.Kind]}
	for _, i := range r.Rolls {
		k := m.rolls[i]
		size, _ := quarters(k.Format)
		out.Size += float64(size) / quartersOfRoll
		out.Rolls = append(out.Rolls, PlannedRoll{TwinCheck: k.TwinCheck, Order: k.Order, DueAt: k.DueAt, LateMin: max(0, r.Ready-m.plan.Rolls[i].Due)})
	}
	return out
}

func (m *making) at(minute int) lab.Time {
	return lab.At(m.now.Add(time.Duration(minute) * time.Minute))
}

func (m *making) figures(s nextloads.Score) PlanFigures {
	f := PlanFigures{Left: s.Left, Late: s.Late, LateMin: s.LateMin, Collisions: s.Collisions}
	if s.End > 0 {
		at := m.at(s.End)
		f.EndsAt = &at
	}
	return f
}

// restsOn says what is assumed of what the plan uses.
func (m *making) restsOn(p nextloads.Plan) {
	said := map[string]bool{}
	say := func(unit, format string, args ...any) {
		if r := (ProposalRest{Unit: unit, Text: fmt.Sprintf(format, args...)}); !said[unit+r.Text] {
			said[unit+r.Text] = true
			m.out.Rests = append(m.out.Rests, r)
		}
	}
	var odd []string
	for _, r := range p.Runs {
		u, k := m.units[r.Unit], m.kinds[r.Kind]
		if u.timeBy[r.Kind] == bySheet {
			say(u.ID, "%s has run no %s of late: its time is from the sheet, without heating.", u.Name, k.name)
		}
		if m.plan.Units[r.Unit].Does[r.Kind].DryMin == 0 {
			say(u.ID, "How long film dries after %s is not known or not part of its run: it counts as ready when it leaves the baths.", u.Name)
		}
		for _, i := range r.Rolls {
			if f := m.rolls[i].Format; f != "" {
				if _, known := quarters(f); !known && !slices.Contains(odd, f) {
					odd = append(odd, f)
				}
			}
		}
	}
	if len(odd) > 0 {
		say("", "A roll of %s counts as one roll of 135.", strings.Join(odd, ", "))
	}
}
