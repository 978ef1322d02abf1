package escalate

import (
	"slices"
	"time"

	"wetside/internal/lab"
)

// ladderOf gives the steps for a priority; everybody where the plan has none.
func ladderOf(p lab.DutyPlan, priority lab.Priority) []lab.DutyStep {
	ladder := p.High
	if priority == lab.Urgent {
		ladder = p.Urgent
	}
	if len(ladder) == 0 {
		ladder = []lab.DutyStep{{Who: lab.WhoEverybody}}
	}
	return ladder
}

// reach lists whom a step reaches.
func reach(s lab.DutyStep, d Duty) []string {
	var who []string
	switch s.Who {
	case lab.WhoFirst:
		who = d.On[:min(1, len(d.On))]
	case lab.WhoSecond:
		who = d.On[min(1, len(d.On)):min(2, len(d.On))]
	case lab.WhoNamed:
		who = []string{s.Person}
	default:
		who = slices.Clone(d.On)
		for _, p := range d.Reachable {
			if !slices.Contains(who, p) {
				who = append(who, p)
			}
		}
	}
	return slices.DeleteFunc(slices.Clone(who), func(p string) bool { return !slices.Contains(d.Reachable, p) })
}

// wait is how long the next step waits for an acknowledgement of this one. The
// first escalation comes at a quarter of the time to respond at most.
func wait(ladder []lab.DutyStep, at int, last bool, p lab.DutyPlan, s summary) time.Duration {
	after := p.RepeatHighS
	if s.priority == lab.Urgent {
		after = p.RepeatUrgentS
	}
	if !last {
		after = ladder[at+1].AfterS
	}
	w := time.Duration(after) * time.Second
	if at == 0 && !last {
		w = min(w, s.respond/4)
	}
	return max(w, time.Second)
}

// FactTell is the fact of an alert that names people whom its first step calls
// besides those of the ladder: a list of names.
const FactTell = "tell"

// withTold adds to those of a first step whom its alerts name.
func withTold(who []string, s summary, d Duty) []string {
	for _, m := range s.active {
		for _, person := range toldBy(m.Alert) {
			if slices.Contains(d.Reachable, person) && !slices.Contains(who, person) {
				who = append(who, person)
			}
		}
	}
	return who
}

// toldBy reads the names, as they are made and as they come from the store.
func toldBy(a lab.Alert) []string {
	switch list := a.Facts[FactTell].(type) {
	case []string:
		return list
	case []any:
		var out []string
		for _, v := range list {
			if name, ok := v.(string); ok {
				out = append(out, name)
			}
		}
		return out
	}
	return nil
}
