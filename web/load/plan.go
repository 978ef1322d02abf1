package load

import (
	"math"
	"strings"

	"wetside/internal/lab"
	"wetside/rules/level"
)

// Plan is what the run will need beside what is there.
type Plan struct {
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
	RunsLow  *int     `json:"runs_low,omitempty" doc:"For how many runs like this one it will do, this one counted: the fewest, two spreads of its level from the best estimate. Absent: not known, or such a run does not touch it."`
	RunsHigh *int     `json:"runs_high,omitempty" doc:"The most. The same as runs_low where it is known to the run."`
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

// fullAt is how full a waste container may be where it is not known what the
// run will drain into it: as waste-nearly-full.
const fullAt = 0.85

// volumes is what a run of the process that is loaded moves on the unit, nil
// where no such run was received whole, there or on another of its model.
func (j *judgement) volumes() *lab.RunVolumes {
	for i, v := range j.Unit.RunVolumes {
		if does(v.Process, j.Load.Process) {
			return &j.Unit.RunVolumes[i]
		}
	}
	return nil
}

// containers compares what a run of this process draws and drains with what is
// there after the run that goes on now. Where that is not known it says so.
func (j *judgement) containers() {
	v := j.volumes()
	if v == nil && len(j.Unit.Containers) > 0 && (j.plan.ProcessKnown || len(j.Unit.Processes) == 0) {
		j.tell("volumes-unknown", "", "How much a run of %s draws and drains on %s is not known yet. Look into waste, water and bottles before you start.",
			j.plan.ProcessName, j.Unit.Name)
	}
	for _, x := range j.Unit.Containers {
		j.container(x, v)
	}
}

func (j *judgement) container(x lab.Container, v *lab.RunVolumes) {
	into := x.Role == lab.RoleWaste || x.Role == lab.RoleRecovery
	if of, _, ok := strings.Cut(x.Name, "/"); ok && x.Role == lab.RoleBottle && !does(of, j.Load.Process) {
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
	need.countRuns(x.SpreadL)
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
		if need.RunsLow != nil && *need.RunsLow == 0 {
			j.tell("level-uncertain", "", "%s: what is in it is known to within %.1f L, and a run of %s may not do. Look before you start.",
				title(lab.ContainerWords(x.Name, x.Role)), 2**x.SpreadL, j.plan.ProcessName)
		}
	}
	j.plan.Containers = append(j.plan.Containers, need)
}

// countRuns says for how many runs like this one there is enough.
func (n *ContainerNeed) countRuns(spreadL *float64) {
	if n.NeedsL == nil || *n.NeedsL <= 0 || n.HasL == nil || spreadL == nil {
		return
	}
	_, low, high := level.Runs(*n.HasL, *spreadL, *n.NeedsL, 0)
	n.RunsLow, n.RunsHigh = &low, &high
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

// heater only tells: the unit waits for its bath by itself, so a cold one stops
// nothing. While a run goes on the heater warms that run's next bath, and its
// reading says nothing about the first bath of the load.
func (j *judgement) heater() {
	if j.Sheet == nil || len(j.Sheet.Steps) == 0 {
		return
	}
	first, h := j.Sheet.Steps[0], &j.plan.Heater
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
