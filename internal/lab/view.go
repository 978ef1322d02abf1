package lab

import (
	"cmp"
)

// Links, activities and standings of a unit.
const (
	LinkOnline  = "online"
	LinkSilent  = "silent"
	LinkOffline = "offline"

	ActivityIdle    = "idle"
	ActivityRunning = "running"
	ActivityWaiting = "waiting"
	ActivityDrying  = "drying"

	StandingWithin   = "within"
	StandingOutside  = "outside"
	StandingSettling = "settling"
	StandingUnknown  = "unknown"

	LightDark = "dark" // film that light would spoil is in the tank
	LightSafe = "safe" // the tank may be opened
	LightNone = "none" // no film wet in the unit, as far as was heard
)

// Unit is one unit as the contract shows it: the live view.
type Unit struct {
	ID           string       `json:"id" doc:"lab/unit."`
	Name         string       `json:"name" doc:"What people call it."`
	Standing     string       `json:"standing,omitempty" enum:"new,accepted,out-of-service,retired" doc:"What people decided: new until accepted."`
	Link         string       `json:"link" enum:"online,silent,offline" doc:"Whether data comes from it."`
	Activity     string       `json:"activity" enum:"idle,running,waiting,drying" doc:"What it does."`
	Run          *UnitRun     `json:"run" doc:"The run it is in; null when idle."`
	Bath         Bath         `json:"bath"`
	Light        Light        `json:"light"`
	Power        PowerNow     `json:"power"`
	Containers   []Container  `json:"containers"`
	ClockOffsetS *float64     `json:"clock_offset_s" doc:"How far its clock is behind ours, seconds."`
	LastHeardAt  *Time        `json:"last_heard_at" doc:"When the last message arrived, by our clock."`
	OpenAlerts   []string     `json:"open_alerts" doc:"Ids of its open alerts, the most pressing first."`
	Model        string       `json:"model,omitempty"`
	Firmware     string       `json:"firmware,omitempty"`
	Processes    []string     `json:"processes,omitempty"`
	RoomC        *float64     `json:"room_c,omitempty" doc:"Room temperature, degrees Celsius."`
	RPM          *float64     `json:"rpm,omitempty" doc:"Rotation that agitates the film, revolutions a minute."`
	Outlook      *Outlook     `json:"outlook,omitempty"` // film stands in a bath in trouble
	Film         []FilmLeft   `json:"film,omitempty" doc:"Film in it that no run goes on with, newest first; absent where there is none."`
	Load         *Load        `json:"load,omitempty" doc:"What the next run carries, or this one."`
	NextLoad     *Load        `json:"next_load,omitempty"` // while it runs: what the run after this one carries
	RunVolumes   []RunVolumes `json:"run_volumes,omitempty" doc:"What a whole run of a process moves. A process that is not listed: not known."`
	Gates        []StripGate  `json:"gates,omitempty" doc:"Gates of its control strips, by process; those that say something. Absent where none does."`
	Fault        *UnitFault   `json:"fault,omitempty"` // of wetside's own: the unit is not judged, or not shown whole
}

// UnitFault is a fault of wetside's own by which a unit is not judged, or
// shown only as it last could be.
type UnitFault struct {
	Since  Time   `json:"since"`
	Judged bool   `json:"judged"` // only its view is at fault
	Text   string `json:"text"`
}

// UnitRun is the run a unit is in.
type UnitRun struct {
	ID         string     `json:"id"`
	Run        string     `json:"run" doc:"The run's name by the unit."`
	Process    string     `json:"process"`
	Push       float64    `json:"push"`
	Kind       string     `json:"kind" enum:"film,strip,flush,water,prime" doc:"What runs: only film carries customers' pictures."`
	StartedAt  Time       `json:"started_at"`
	Step       string     `json:"step"`
	Label      string     `json:"label,omitempty"` // of the step, as the sheet has it
	N          int        `json:"n"`
	Of         int        `json:"of"`
	Phase      Phase      `json:"phase" enum:"idle,heating,filling,in-bath,draining,waiting,drying,done,aborted" doc:"What the unit is doing."`
	WaitsFor   string     `json:"waits_for,omitempty" doc:"What a waiting unit waits for: to-dryer, empty-waste, top-up-wash or chemistry."`
	SetS       *float64   `json:"set_s" doc:"The time the unit was set to, seconds."`
	ElapsedS   *float64   `json:"elapsed_s" doc:"Time in this step until now, seconds."`
	StepLeftS  *float64   `json:"step_left_s" doc:"Time left in this step, seconds."`
	RemainingS *float64   `json:"remaining_s" doc:"Time until a person is needed next, seconds."`
	EndsAt     *Time      `json:"ends_at" doc:"When the reels can go to the dryer."` // while they dry: when they are dry
	Plan       []PlanStep `json:"plan" doc:"The steps of the run, past and to come."`
	Rolls      []Roll     `json:"rolls,omitempty"` // that this run carries
}

// PlanStep is one step of the run's plan, past and to come, for drawing it.
type PlanStep struct {
	N         int      `json:"n"`
	Step      string   `json:"step"`
	Label     string   `json:"label" doc:"What people call the step."`
	Kind      string   `json:"kind" enum:"dev,exact,min," doc:"How its time counts; empty where there is no sheet."`
	AimS      float64  `json:"aim_s" doc:"How long it is set, should be or was, seconds."`
	AimC      *float64 `json:"aim_c" doc:"Its aim temperature, degrees Celsius."`
	LowC      *float64 `json:"low_c"`
	HighC     *float64 `json:"high_c"`
	State     string   `json:"state" enum:"past,now,ahead,skipped,unheard" doc:"Where the run stands with it."`
	StartedAt *Time    `json:"started_at"`
	EndedAt   *Time    `json:"ended_at"`
}

// Bath is the liquid on the film against its limits.
type Bath struct {
	C        *float64 `json:"c" doc:"Temperature, degrees Celsius; null where it was not measured."`
	LowC     *float64 `json:"low_c"`
	HighC    *float64 `json:"high_c"`
	Standing string   `json:"standing" enum:"within,outside,settling,unknown" doc:"How it stands against its limits."`
	At       *Time    `json:"at" doc:"When it was measured."`

	Doubtful *Doubtful `json:"doubtful,omitempty" doc:"What the probe says now, where that cannot be the liquid and is not believed; c is then the last that was. Absent: the probe is believed."`
}

// Doubtful is a reading that cannot be the liquid.
type Doubtful struct {
	C   float64 `json:"c" doc:"What it says, degrees Celsius."`
	Why string  `json:"why" enum:"range,jump,flat,fahrenheit" doc:"Why it is not believed: beyond what the process could ever be; faster than a liquid changes; the same to the last digit for too long; in degrees Fahrenheit."`
	At  Time    `json:"at" doc:"When it was said."`
}

// Light answers "may I open it?".
type Light struct {
	State string `json:"state" enum:"dark,safe,none" doc:"dark: film that light would spoil is in the tank. safe: it may be opened. none: no film is wet in it."`
	Since *Time  `json:"since" doc:"Since when."`
}

// PowerNow is where the unit's electricity comes from.
type PowerNow struct {
	Source     string   `json:"source" enum:"mains,battery,unknown" doc:"Where it comes from."`
	Since      *Time    `json:"since"`
	BatteryPct *float64 `json:"battery_pct" doc:"Charge of the battery, percent."`
}

// Container is one tank or bottle with what it holds.
type Container struct {
	Name      string         `json:"name"`
	Role      Role           `json:"role" enum:"waste,wash,recovery,bottle" doc:"What it is for."`
	Litres    *float64       `json:"litres" doc:"What it holds, liters; null where no level was received."`
	SpreadL   *float64       `json:"spread_l,omitempty" doc:"How far that may be off, liters: one standard deviation of the estimate."`
	LevelBy   string         `json:"level_by,omitempty" enum:"probe,counted" doc:"What the level rests on: a probe that sends levels, or the volumes that the unit moved, counted since a person said what it held."`
	CapacityL float64        `json:"capacity_l" doc:"What it can hold, liters."`
	Fraction  *float64       `json:"fraction" doc:"How full it is, 0 to 1."`
	RunsLeft  *int           `json:"runs_left" doc:"How many more runs it will serve after this one: like the run that goes on, else of what is loaded, else like the last film. Null: not known, or such a run does not touch it (then next_run_l is 0)."`
	RunsLow   *int           `json:"runs_left_low,omitempty" doc:"The fewest that runs_left may be: two spreads from the best estimate. Present with runs_left."`
	RunsHigh  *int           `json:"runs_left_high,omitempty" doc:"The most that it may be. The same as runs_left_low where it is known to the run."`
	LastsFrom *Time          `json:"lasts_from,omitempty" doc:"When, at the pace of the runs that began within the last 12 hours, the first run may begin that it will not do for: at the earliest. Absent with lasts_why."`
	LastsTo   *Time          `json:"lasts_to,omitempty" doc:"The same at the latest. Equal to lasts_from where the runs left are known to the run."`
	LastsWhy  string         `json:"lasts_why,omitempty" enum:"no-level,no-volumes,no-pace,untouched,beyond-today" doc:"Why no time is given: no level was received, what a run moves is not known, fewer than two runs began today, such a run does not touch it, or it lasts for 12 hours and more."`
	FloatShut bool           `json:"float_closed,omitempty" doc:"Its float switch is closed."`
	OwedL     *float64       `json:"owed_l,omitempty" doc:"What this run will still drain into it or draw from it, liters."`
	NextRunL  *float64       `json:"next_run_l,omitempty" doc:"What the next run will, liters. Absent: not known, since no such run was received from its first message to its end."`
	NextRunBy string         `json:"next_run_by,omitempty" enum:"run,unit,model" doc:"Whose run showed next_run_l: the one that goes on, the unit's own last, that of another unit of the model."`
	At        *Time          `json:"at" doc:"When its level was received, or measured by a person."`
	Measured  *MeasuredLevel `json:"measured,omitempty" doc:"The level that a person measured last (container event \"set\"), until somebody does something to the container."`
	Changed   *LevelChange   `json:"changed,omitempty" doc:"What people did to it last, as its probe showed it: the level changed faster than any leak while no pump ran."`
}

// LevelChange is a level that people changed, as the probe shows it.
type LevelChange struct {
	What   string  `json:"what" enum:"emptied,topped-up,lowered" doc:"What it looks like. lowered: it fell, and is not empty."`
	FromL  float64 `json:"from_l" doc:"What it held before, liters."`
	ToL    float64 `json:"to_l" doc:"What it held after, liters."`
	At     Time    `json:"at" doc:"When it had changed."`
	Within float64 `json:"within_s" doc:"Within how many seconds it changed, at most: since the last reading before."`
	Ask    bool    `json:"ask" doc:"A fall by a third or more of which nobody has said yet what it was. Any event of the container answers it."`
}

// What a level that people changed looks like.
const (
	LooksEmptied  = "emptied"
	LooksToppedUp = "topped-up"
	LooksLowered  = "lowered"
)

// Why it is not said until when a container lasts.
const (
	LastsNoLevel   = "no-level"
	LastsNoVolumes = "no-volumes"
	LastsNoPace    = "no-pace"
	LastsUntouched = "untouched"
	LastsBeyond    = "beyond-today"
)

// What a level rests on.
const (
	LevelByProbe   = "probe"
	LevelByCounted = "counted"
)

// MeasuredLevel is a level that a person measured: by dipstick, or by the
// marks of the container.
type MeasuredLevel struct {
	Litres       float64  `json:"litres" doc:"What the person measured, liters."`
	At           Time     `json:"at" doc:"When, by the unit's clock."`
	SensorLitres *float64 `json:"sensor_litres" doc:"What the sensor said at that moment, liters; null: no sensor sent anything."`
	Used         bool     `json:"used" doc:"The level counts on from it: with what the sensor shows to come and go since, else with fills and drains. False: the sensor alone is used again."`
	EndedAt      *Time    `json:"ended_at" doc:"Since when it is not used."`
	Why          string   `json:"why" enum:",sensor-moved,too-old" doc:"Why it is not used; empty while it is. sensor-moved: the sensor shows that somebody filled, emptied or moved the container. too-old: a sensor began to send long after."`
}

// Why a measured level does not count any more.
const (
	MeasuredEndedMoved = "sensor-moved" // the sensor shows that somebody filled, emptied or moved the container
	MeasuredEndedOld   = "too-old"      // a sensor began to talk, long after
)

// Whose run showed what a run of a process moves. Only one that was received
// from its first message to its end shows that.
const (
	VolumesByRun   = "run"   // the run that goes on
	VolumesByUnit  = "unit"  // the unit's own last whole run of the process
	VolumesByModel = "model" // the last of another unit of the same model
)

// RunVolumes is what a whole run of one process draws from and drains into the
// containers of a unit, liters. A container that is not named gives and takes
// nothing. A process without one: not known.
type RunVolumes struct {
	Process string             `json:"process" doc:"Process id."`
	By      string             `json:"by" enum:"unit,model" doc:"Whose run showed it: the unit's own last whole run, or the last of another unit of the same model."`
	Unit    string             `json:"unit" doc:"The unit whose run it was."`
	At      Time               `json:"at" doc:"When that run ended."`
	DrawsL  map[string]float64 `json:"draws_l" doc:"What the run draws from each container, liters. One that is not named gives nothing."`
	DrainsL map[string]float64 `json:"drains_l" doc:"What the run drains into each container, liters. One that is not named takes nothing."`
}

// What a person is wanted for where nothing is at stake yet.
const (
	JobFetchDry = "fetch film from the dryer" // it is dry, or will be then
	JobStart    = "start the loaded run"
	JobReady    = "ready to load"
)

// Job is where a person is needed next.
type Job struct {
	Unit  string `json:"unit"`
	What  string `json:"what" doc:"What is to be done."`
	DueAt Time   `json:"due_at" doc:"When."`
	Run   string `json:"run,omitempty"`

	// Patient: it is due by no minute, and wants nobody at once.
	Patient bool `json:"patient,omitempty"`
}

// SoonestFirst is the order of jobs: by when they are due, what is due by no
// minute behind the others.
func SoonestFirst(a, b Job) int {
	rank := func(j Job) int {
		if j.Patient {
			return 1
		}
		return 0
	}
	return cmp.Or(rank(a)-rank(b), a.DueAt.Compare(b.DueAt.Time), cmp.Compare(a.Unit, b.Unit))
}

// Outlook says what to do with film that stands in a bath: on battery, silent
// since a power cut, just resumed, or developing off temperature.
type Outlook struct {
	Step string `json:"step"`
	Why  string `json:"why" enum:"battery,silent,resumed,temperature" doc:"What the trouble is."`
	// Action now: go-on, drain-at, hold (too late: leave it, hold and
	// inspect), fill (it stopped while filling: finish the fill), or one of
	// the advices: continue, shorten, extend, repeat, drain, discard.
	Action string `json:"action"`
	ActAt  *Time  `json:"act_at"` // when to do it; reaction and draining are taken off
	// GoOnUntil: until then going on holds; DrainFrom: from then on drain at
	// ActAt; TooLateFrom: from then on leave it.
	GoOnUntil   *Time `json:"go_on_until"`
	DrainFrom   *Time `json:"drain_from"`
	TooLateFrom *Time `json:"too_late_from"`
	// PushStops is where the push error will end if the action is taken, with
	// its range; NowStops what it would be if the film were drained now. Null
	// for steps without push times.
	PushStops     *float64 `json:"push_stops" doc:"Where the push error will end if that is done, stops."`
	PushLowStops  *float64 `json:"push_low_stops" doc:"The least that it may be, stops."`
	PushHighStops *float64 `json:"push_high_stops" doc:"The most that it may be, stops."`
	NowStops      *float64 `json:"now_stops" doc:"What it would be if the film were drained now, stops."`
	Text          string   `json:"text"` // one or two lines for the person at the unit
	// What it rests on.
	Measured  []string `json:"measured"`
	Estimated []string `json:"estimated"`
	Assumed   []string `json:"assumed"`
}
