package propose

import (
	"wetside/internal/lab"
)

// Proposal is what to load next.
type Proposal struct {
	At      lab.Time       `json:"at" doc:"When it was worked out; it holds for that minute."`
	Waiting int            `json:"waiting" doc:"How many rolls wait and are loaded nowhere. 0: there is nothing to propose."`
	Runs    []ProposedRun  `json:"runs" doc:"What to load, by when to start it. A proposal: nothing is started by it."`
	Left    []LeftRolls    `json:"left" doc:"Rolls that are in no proposed run, by the reason."`
	Units   []UnitLeft     `json:"units" doc:"Units that are not used, or not for a process that waits, and why."`
	Figures PlanFigures    `json:"figures" doc:"What the proposal amounts to."`
	First   PlanFigures    `json:"first_come" doc:"What first come, first served would amount to: the roll that came first, with as many of its kind as fit, on the unit that is free first, at once."`
	Better  bool           `json:"better" doc:"The proposal is better than first come, first served. It is never worse."`
	Proven  bool           `json:"proven" doc:"No plan is better by these figures. False: it is the best of those that were looked at."`
	Rests   []ProposalRest `json:"rests_on" doc:"What is assumed because it is not known."`
}

// ProposedRun is one run to load.
type ProposedRun struct {
	Unit        string        `json:"unit"`
	Name        string        `json:"name" doc:"What people call the unit."`
	Process     string        `json:"process" doc:"The process to set the unit to."`
	ProcessName string        `json:"process_name" doc:"What people call the process."`
	Push        *float64      `json:"push" doc:"The push to set it to, stops; null: nobody said it of these rolls. Look at their cards."`
	Film        string        `json:"film,omitempty" doc:"The film, where the process takes its time from it."`
	Rolls       []PlannedRoll `json:"rolls"`
	Size        float64       `json:"size" doc:"How much that is, rolls: one of 220 is two, four sheets of 4x5 are one."`
	Holds       float64       `json:"holds" doc:"What the unit's reels hold, rolls."`
	HoldsBy     string        `json:"holds_by" enum:"settings,runs" doc:"Who says so: the lab's settings, or the fullest run of the unit of the last 60 days."`
	StartAt     lab.Time      `json:"start_at" doc:"When to start it."`
	ToDryerAt   lab.Time      `json:"to_dryer_at" doc:"When hands are needed at the end of the baths."`
	ReadyAt     lab.Time      `json:"ready_at" doc:"When the film is dry; where no drying time is known, when it leaves the baths."`
	FlushFirst  bool          `json:"flush_first" doc:"The unit ran another process last, and this lab flushes in between."`
	TimeBy      string        `json:"time_by" enum:"unit,sheet" doc:"Where its time is from: the sheet with what the unit's own runs took beyond it, or the sheet alone."`
}

// PlannedRoll is a roll of a proposed run.
type PlannedRoll struct {
	TwinCheck string    `json:"twin_check"`
	Order     string    `json:"order,omitempty"`
	DueAt     *lab.Time `json:"due_at,omitempty" doc:"When it is promised."`
	LateMin   int       `json:"late_min,omitempty" doc:"By how much it would be late, minutes."`
}

// LeftRolls are rolls in no proposed run.
type LeftRolls struct {
	Why   string   `json:"why" enum:"stopped,process-not-known,no-unit,nothing-left,too-many" doc:"stopped: marked STOP. process-not-known: nobody said it. no-unit: no unit that is ready can run it. nothing-left: water, chemistry or room in the waste is used up by then. too-many: more wait than are looked at."`
	Text  string   `json:"text"`
	Rolls []string `json:"rolls" doc:"Their twin checks."`
}

// UnitLeft is a unit that is not used.
type UnitLeft struct {
	Unit    string `json:"unit"`
	Process string `json:"process,omitempty" doc:"For which process; absent: for none."`
	Text    string `json:"text" doc:"Why, and what to do."`
}

// PlanFigures are what plans are compared by, the first figure first.
type PlanFigures struct {
	Left       int       `json:"left" doc:"Rolls that could run on a unit that is ready, and find no place."`
	Late       int       `json:"late" doc:"Rolls ready after they are promised."`
	LateMin    int       `json:"late_min" doc:"By how much in all, minutes."`
	Collisions int       `json:"collisions" doc:"How often two runs need hands within two minutes."`
	EndsAt     *lab.Time `json:"ends_at" doc:"When the last film is ready; null where nothing runs."`
}

// ProposalRest is something that is assumed.
type ProposalRest struct {
	Unit string `json:"unit,omitempty"`
	Text string `json:"text"`
}
