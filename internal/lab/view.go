package lab

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
	ID           string       `json:"id"`
	Name         string       `json:"name"`
	Standing     string       `json:"standing,omitempty"` // new, accepted, out-of-service, retired
	Link         string       `json:"link"`
	Activity     string       `json:"activity"`
	Run          *UnitRun     `json:"run"`
	Bath         Bath         `json:"bath"`
	Light        Light        `json:"light"`
	Power        PowerNow     `json:"power"`
	Containers   []Container  `json:"containers"`
	ClockOffsetS *float64     `json:"clock_offset_s"`
	LastHeardAt  *Time        `json:"last_heard_at"`
	OpenAlerts   []string     `json:"open_alerts"`
	Model        string       `json:"model,omitempty"`
	Firmware     string       `json:"firmware,omitempty"`
	Processes    []string     `json:"processes,omitempty"`
	RoomC        *float64     `json:"room_c,omitempty"`
	RPM          *float64     `json:"rpm,omitempty"`
	Outlook      *Outlook     `json:"outlook,omitempty"`     // film stands in a bath in trouble
	Film         []FilmLeft   `json:"film,omitempty"`        // that no run goes on with, newest first
	Load         *Load        `json:"load,omitempty"`        // what the next run carries, or this one
	NextLoad     *Load        `json:"next_load,omitempty"`   // while it runs: what the run after this one carries
	RunVolumes   []RunVolumes `json:"run_volumes,omitempty"` // what a whole run moves, by process; those that are known
	Gates        []StripGate  `json:"gates,omitempty"`       // of its control strips, by process; those that say something
	Fault        *UnitFault   `json:"fault,omitempty"`       // of wetside's own: the unit is not judged, or not shown whole
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
	Run        string     `json:"run"`
	Process    string     `json:"process"`
	Push       float64    `json:"push"`
	Kind       string     `json:"kind"`
	StartedAt  Time       `json:"started_at"`
	Step       string     `json:"step"`
	Label      string     `json:"label,omitempty"` // of the step, as the sheet has it
	N          int        `json:"n"`
	Of         int        `json:"of"`
	Phase      Phase      `json:"phase"`
	WaitsFor   string     `json:"waits_for,omitempty"`
	SetS       *float64   `json:"set_s"`
	ElapsedS   *float64   `json:"elapsed_s"` // in this step, by the time that counts
	StepLeftS  *float64   `json:"step_left_s"`
	RemainingS *float64   `json:"remaining_s"` // to the next person needed
	EndsAt     *Time      `json:"ends_at"`     // when the reels can go to the dryer; while they dry, when they are dry
	Plan       []PlanStep `json:"plan"`
	Rolls      []Roll     `json:"rolls,omitempty"` // that this run carries
}

// PlanStep is one step of the run's plan, past and to come, for drawing it.
type PlanStep struct {
	N         int      `json:"n"`
	Step      string   `json:"step"`
	Label     string   `json:"label"` // what people call it
	Kind      string   `json:"kind"`  // dev, exact or min; "" where there is no sheet
	AimS      float64  `json:"aim_s"` // how long it is set, should be or was
	AimC      *float64 `json:"aim_c"`
	LowC      *float64 `json:"low_c"`
	HighC     *float64 `json:"high_c"`
	State     string   `json:"state"` // past, now, ahead, skipped, unheard
	StartedAt *Time    `json:"started_at"`
	EndedAt   *Time    `json:"ended_at"`
}

// Bath is the liquid on the film against its limits.
type Bath struct {
	C        *float64 `json:"c"`
	LowC     *float64 `json:"low_c"`
	HighC    *float64 `json:"high_c"`
	Standing string   `json:"standing"`
	At       *Time    `json:"at"` // when it was measured

	// Doubtful is what the probe says now where it is not believed; C is then
	// the last that was.
	Doubtful *Doubtful `json:"doubtful,omitempty"`
}

// Doubtful is a reading that cannot be the liquid.
type Doubtful struct {
	C   float64 `json:"c"`
	Why string  `json:"why"` // range, jump, flat, fahrenheit
	At  Time    `json:"at"`
}

// Light answers "may I open it?".
type Light struct {
	State string `json:"state"`
	Since *Time  `json:"since"`
}

// PowerNow is where the unit's electricity comes from.
type PowerNow struct {
	Source     string   `json:"source"` // mains, battery or unknown
	Since      *Time    `json:"since"`
	BatteryPct *float64 `json:"battery_pct"`
}

// Container is one tank or bottle with what it holds.
type Container struct {
	Name      string   `json:"name"`
	Role      Role     `json:"role"`
	Litres    *float64 `json:"litres"` // null: never heard
	CapacityL float64  `json:"capacity_l"`
	Fraction  *float64 `json:"fraction"`
	RunsLeft  *int     `json:"runs_left"` // how many more runs it will serve after this one; null: not known, or none moves anything here
	FloatShut bool     `json:"float_closed,omitempty"`
	OwedL     *float64 `json:"owed_l,omitempty"`      // what this run will still drain into or draw from it
	NextRunL  *float64 `json:"next_run_l,omitempty"`  // what the next run will; not there where that is not known
	NextRunBy string   `json:"next_run_by,omitempty"` // whose run showed it: one of the VolumesBy...
	At        *Time    `json:"at"`
	// Measured is the level that a person measured last, until somebody does
	// something to the container.
	Measured *MeasuredLevel `json:"measured,omitempty"`
}

// MeasuredLevel is a level that a person measured: by dipstick, or by the
// marks of the container.
type MeasuredLevel struct {
	Litres       float64  `json:"litres"`
	At           Time     `json:"at"`
	SensorLitres *float64 `json:"sensor_litres"` // what the sensor said at that moment; null: none talked
	Used         bool     `json:"used"`          // the level counts on from it; false: the sensor is used again
	EndedAt      *Time    `json:"ended_at"`      // since when it is not used
	Why          string   `json:"why"`           // why it is not: one of the MeasuredEnded...; "" while it is
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
	Process string             `json:"process"`
	By      string             `json:"by"`   // unit or model
	Unit    string             `json:"unit"` // whose run it was
	At      Time               `json:"at"`   // when that ended
	DrawsL  map[string]float64 `json:"draws_l"`
	DrainsL map[string]float64 `json:"drains_l"`
}
