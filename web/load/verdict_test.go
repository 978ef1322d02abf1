package load

import (
	"slices"
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

var t0 = time.Date(2026, 3, 1, 9, 30, 0, 0, time.UTC)

func ptr[T any](v T) *T { return &v }

func urgent() lab.Alert {
	return lab.Alert{ID: "a", Rule: "bath-temperature", Unit: "tern-street/plover", Priority: lab.Urgent, State: lab.Unacknowledged, Message: "The developer is too warm."}
}

// readyUnit is a unit that may be started with C-41: 4.5 l of waste, 12 l of
// water, a full bottle.
func readyUnit() lab.Unit {
	return lab.Unit{ID: "tern-street/plover", Name: "Plover", Standing: lab.UnitAccepted, Link: lab.LinkOnline, Activity: lab.ActivityIdle,
		Processes: []string{"c41", "e6-7"},
		RunVolumes: []lab.RunVolumes{
			{Process: "c41", By: lab.VolumesByUnit, DrainsL: map[string]float64{"waste": 6}, DrawsL: map[string]float64{"wash": 4, "c41/developer": 0.5}},
			{Process: "e6-7", By: lab.VolumesByModel, DrainsL: map[string]float64{"waste": 6}, DrawsL: map[string]float64{"wash": 4, "e6-7/first-developer": 0.5}},
		},
		Containers: []lab.Container{
			{Name: "waste", Role: lab.RoleWaste, CapacityL: 18.9, Litres: ptr(4.5), Fraction: ptr(0.24), OwedL: ptr(0.0)},
			{Name: "wash", Role: lab.RoleWash, CapacityL: 18.9, Litres: ptr(12.0), OwedL: ptr(0.0)},
			{Name: "c41/developer", Role: lab.RoleBottle, CapacityL: 5, Litres: ptr(5.0), OwedL: ptr(0.0)},
			{Name: "e6-7/first-developer", Role: lab.RoleBottle, CapacityL: 5, Litres: ptr(0.1)},
		}}
}

func rolls(checks ...string) (out []lab.Roll) {
	for _, c := range checks {
		out = append(out, lab.Roll{TwinCheck: c})
	}
	return out
}

// Each row changes one thing of a unit that is ready and a load that fits.
// want: the codes that stop, a colon, those that only tell.
func TestLoadVerdict(t *testing.T) {
	container := func(i int, f func(*lab.Container)) func(*Check) {
		return func(c *Check) { f(&c.Unit.Containers[i]) }
	}
	for name, c := range map[string]struct {
		change func(*Check)
		want   string
		says   string
	}{
		"ready": {func(*Check) {}, ":", ""},
		"a level that is not known well enough": {container(0, func(c *lab.Container) { c.Litres, c.SpreadL = ptr(12.5), ptr(0.4) }), ":level-uncertain",
			"Waste: what is in it is known to within 0.8 L, and a run of C-41 may not do. Look before you start."},
		"one that is": {container(0, func(c *lab.Container) { c.Litres, c.SpreadL = ptr(12.5), ptr(0.1) }), ":", ""},
		// rolls
		"unscanned":                  {func(c *Check) { c.Load.Rolls = nil }, ":no-rolls", ""},
		"another process":            {func(c *Check) { c.Load.Rolls[1].Process = "e6-7" }, "roll-process:", "Roll 102 is for E-6 normal. This load is C-41 normal."},
		"the same process, named":    {func(c *Check) { c.Load.Rolls[1].Process = "c41" }, ":", ""},
		"another push":               {func(c *Check) { c.Load.Rolls[0].Push = 1 }, "roll-push:", "Roll 101 is for push 1. This load is normal."},
		"pulled load, normal roll":   {func(c *Check) { c.Load.Push, c.Load.Rolls[0].Process = -1, "c41" }, "roll-push:", "is for normal. This load is pull 1"},
		"pushed load, nothing asked": {func(c *Check) { c.Load.Push = 1 }, ":", ""},
		"e6 is done by e6-7":         {func(c *Check) { c.Load.Process, c.Load.Rolls[0].Process = "e6-7", "e6" }, "chemistry-short:", "First developer bottle"},
		"elsewhere too": {func(c *Check) {
			c.Elsewhere = map[string]Place{"101": {Of: "l/heron", Unit: "Heron", By: "Mina", At: t0}}
		}, "roll-elsewhere:", "Roll 101 is loaded on Heron too (loaded by Mina, Mar 1, 09:30)."},
		"elsewhere, answered": {func(c *Check) {
			c.Elsewhere = map[string]Place{"101": {Of: "l/heron", Unit: "Heron"}}
			c.Load.Answers = []lab.RollAnswer{{Roll: "101", Code: AskElsewhere, Of: "l/heron", Answer: AnswerHere}}
		}, ":roll-elsewhere", "Answered: here"},
		"elsewhere, answered of another unit": {func(c *Check) {
			c.Elsewhere = map[string]Place{"101": {Of: "l/heron", Unit: "Heron"}}
			c.Load.Answers = []lab.RollAnswer{{Roll: "101", Code: AskElsewhere, Of: "l/ibis", Answer: AnswerHere}}
		}, "roll-elsewhere:", "who loaded it is not known"},
		"elsewhere, no answer to that": {func(c *Check) {
			c.Elsewhere = map[string]Place{"101": {Of: "l/heron", Unit: "Heron"}}
			c.Load.Answers = []lab.RollAnswer{{Roll: "101", Code: AskElsewhere, Of: "l/heron", Answer: AnswerRescue}}
		}, "roll-elsewhere:", ""},
		"ran already": {func(c *Check) {
			c.Ran = map[string]Place{"102": {Of: "x", Unit: "Heron", By: "Mina", At: t0, Run: &lab.Run{Run: "r-20", Process: "c41", Push: 1, StartedAt: lab.At(t0)}}}
		}, "roll-ran:", "Roll 102 went through run r-20 on Heron, C-41 push 1, begun Mar 1, 09:30 (loaded by Mina, Mar 1, 09:30). Film is run once."},
		"is in a run": {func(c *Check) {
			c.Ran = map[string]Place{"102": {Of: "x", Unit: "Heron", Run: &lab.Run{Run: "r-20", Outcome: lab.OutcomeRunning, StartedAt: lab.At(t0)}}}
		}, "roll-ran:", "is in run r-20"},
		"marked": {func(c *Check) {
			c.Known = map[string]lab.KnownRoll{"101": {Stop: "canceled", ChangedBy: "Mina", ChangedAt: lab.At(t0)}}
		}, "roll-stopped:", "Roll 101 is marked STOP: canceled (Mina, Mar 1, 09:30). Take it out."},
		// the process
		"not the unit's":         {func(c *Check) { c.Load.Process = "bw"; c.Sheet, _ = process.Builtin().Sheet("bw") }, "process-unknown:", "Plover has no process bw. It has c41, e6-7."},
		"a unit that never said": {func(c *Check) { c.Unit.Processes = nil }, ":", ""},
		"no sheet":               {func(c *Check) { c.Sheet, c.Unit.Processes = nil, nil }, ":no-sheet", "not judged"},
		// the unit
		"offline":        {func(c *Check) { c.Unit.Link = lab.LinkOffline }, "unit-offline:", ""},
		"silent":         {func(c *Check) { c.Unit.Link = lab.LinkSilent }, "unit-silent:", ""},
		"out of service": {func(c *Check) { c.Unit.Standing = lab.UnitOutOfService }, "out-of-service:", ""},
		"retired":        {func(c *Check) { c.Unit.Standing = lab.UnitRetired }, "retired:", ""},
		"new":            {func(c *Check) { c.Unit.Standing = lab.UnitNew }, ":unit-new", ""},
		"busy":           {func(c *Check) { c.Unit.Activity = lab.ActivityDrying }, ":unit-running", "for its next run"},
		"urgent alert":   {func(c *Check) { c.Open = []lab.Alert{urgent()} }, "urgent-alert:", "The developer is too warm."},
		"high alert": {func(c *Check) {
			a := urgent()
			a.Priority = lab.High
			c.Open = []lab.Alert{a}
		}, ":", ""},
		"urgent, over, unseen": {func(c *Check) {
			a := urgent()
			a.State = lab.ClearedUnacknowledged
			c.Open = []lab.Alert{a}
		}, ":", ""},
		// containers
		"room to the drop":        {container(0, func(x *lab.Container) { x.Litres = ptr(12.9) }), ":", ""},
		"no room":                 {container(0, func(x *lab.Container) { x.Litres = ptr(13.1) }), "waste-room-short:", "Waste has room for 5.8 L. A run of C-41 drains 6.0 L"},
		"no room after this run":  {container(0, func(x *lab.Container) { x.Litres, x.OwedL = ptr(10.0), ptr(4.0) }), "waste-room-short:", "4.9 L"},
		"float closed":            {container(0, func(x *lab.Container) { x.FloatShut = true }), "float-closed:", ""},
		"need unknown, 85 % full": {func(c *Check) { c.Unit.RunVolumes, c.Unit.Containers[0].Fraction = nil, ptr(0.85) }, "waste-room-short:volumes-unknown", "85 % full"},
		"need unknown":            {func(c *Check) { c.Unit.RunVolumes = nil }, ":volumes-unknown", "How much a run of C-41 draws and drains on Plover is not known yet"},
		"known of another only":   {func(c *Check) { c.Unit.RunVolumes = c.Unit.RunVolumes[1:] }, ":volumes-unknown", "not known"},
		"it does not touch it":    {func(c *Check) { c.Unit.RunVolumes[0].DrainsL["waste"], c.Unit.Containers[0].Litres = 0, nil }, ":", ""},
		"level unknown":           {container(1, func(x *lab.Container) { x.Litres = nil }), ":level-unknown", "How much is in wash"},
		"water short":             {container(1, func(x *lab.Container) { x.Litres = ptr(3.9) }), "wash-water-short:", "Wash water holds 3.9 L. A run of C-41 draws 4.0 L."},
		"chemistry short":         {container(2, func(x *lab.Container) { x.Litres = ptr(0.4) }), "chemistry-short:", "0.40 L"},
		// the heater
		"not warm yet":                 {func(c *Check) { c.PreheatC = ptr(31.2) }, ":heater", "Developer 31.2 °C (aim 37.8 °C)."},
		"busy, warm for its next bath": {func(c *Check) { c.PreheatC, c.Unit.Activity = ptr(38.5), lab.ActivityRunning }, ":unit-running", ""},
		"warm":                         {func(c *Check) { c.PreheatC = ptr(37.8) }, ":", ""},
	} {
		t.Run(name, func(t *testing.T) {
			in := Check{Unit: readyUnit(), Load: lab.Load{Process: "c41", Rolls: rolls("101", "102")}}
			in.Book = process.Builtin()
			in.Sheet, _ = in.Book.Sheet("c41")
			in.Book = process.Builtin()
			c.change(&in)
			verdict, reasons, plan := Judge(in)
			var stops, tells, texts []string
			for _, r := range reasons {
				if texts = append(texts, r.Text); r.Stops {
					stops = append(stops, r.Code)
				} else {
					tells = append(tells, r.Code)
				}
			}
			if got := strings.Join(stops, " ") + ":" + strings.Join(tells, " "); got != c.want {
				t.Errorf("%q, want %q: %v", got, c.want, texts)
			}
			if (verdict == Stop) != (len(stops) > 0) {
				t.Errorf("verdict %s with %d reasons that stop", verdict, len(stops))
			}
			if !strings.Contains(strings.Join(texts, "\n"), c.says) {
				t.Errorf("%q does not say %q", texts, c.says)
			}
			if plan.Process != in.Load.Process || len(plan.Containers) == 0 {
				t.Errorf("plan %+v", plan)
			}
		})
	}
}

func TestLoadPlanSaysNeedAndRoom(t *testing.T) {
	in := Check{Unit: readyUnit(), Load: lab.Load{Process: "c41"}, PreheatC: ptr(30.0)}
	in.Sheet, _ = process.Builtin().Sheet("c41")
	_, _, plan := Judge(in)
	var names []string
	for _, c := range plan.Containers {
		names = append(names, c.Name)
	}
	if !slices.Equal(names, []string{"waste", "wash", "c41/developer"}) {
		t.Errorf("containers %v; want those that C-41 uses", names)
	}
	if w := plan.Containers[0]; *w.NeedsL != 6 || *w.HasL != 14.4 || w.Standing != needEnough {
		t.Errorf("waste: needs %v, has %v, %s; want 6, 14.4 of room, enough", *w.NeedsL, *w.HasL, w.Standing)
	}
	in.Unit.Containers[0].SpreadL = ptr(1.4)
	if _, _, plan := Judge(in); *plan.Containers[0].RunsLow != 1 || *plan.Containers[0].RunsHigh != 2 || plan.Containers[1].RunsLow != nil {
		t.Errorf("14.4 L of room to within 2.8 for runs of 6 L: %+v; want 1 to 2 runs, of the water nothing", plan.Containers[:2])
	}
	if h := plan.Heater; h.Standing != heaterHeating || *h.AimC != 37.8 || *h.C != 30 {
		t.Errorf("heater %+v", h)
	}
	if plan.ProcessName != "C-41" || !plan.ProcessKnown || plan.Running {
		t.Errorf("plan %+v", plan)
	}
}
