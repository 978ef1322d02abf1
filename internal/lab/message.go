package lab

import (
	"time"
)

// MaxPayload is the largest telemetry payload that is accepted, in bytes.
const MaxPayload = 8 << 10

// Raw is telemetry as it arrived, before anybody looked into it.
type Raw struct {
	Topic    string
	Payload  []byte
	Received time.Time
	Retained bool // a broker's retained copy, not a live message
}

// Message is one telemetry message that was decoded and found good.
// (Unit, Boot, Seq) names it for ever; a last will has neither (Will is true).
// Exactly one of the body pointers is set; none for a will.
type Message struct {
	Unit    UnitID  `json:"unit"`
	Channel Channel `json:"channel"`
	Boot    string  `json:"boot,omitempty"`
	Seq     int64   `json:"seq,omitempty"`
	// SentAt is `at` as the unit sent it; At is the time that counts: SentAt,
	// or Received where the unit's clock cannot be right (AtReplaced).
	SentAt     time.Time `json:"sent_at,omitzero"`
	At         time.Time `json:"at"`
	AtReplaced bool      `json:"at_replaced,omitempty"`
	Received   time.Time `json:"received"`
	UpS        *float64  `json:"up_s,omitempty"`
	Retained   bool      `json:"retained,omitempty"`
	Will       bool      `json:"will,omitempty"`
	// Arrival is the number the store gave it: rising in the order of commits.
	Arrival int64 `json:"arrival,omitempty"`
	// Imported: history read in from a capture, not heard live.
	Imported bool   `json:"imported,omitempty"`
	Payload  []byte `json:"-"`

	Status *Status `json:"status,omitempty"`
	Step   *Step   `json:"step,omitempty"`
	Temp   *Temp   `json:"temp,omitempty"`
	Tank   *Tank   `json:"tank,omitempty"`
	Power  *Power  `json:"power,omitempty"`
	Motion *Motion `json:"motion,omitempty"`
}

// Status is what a unit says of itself at every connection.
type Status struct {
	Online     bool                     `json:"online"`
	Model      string                   `json:"model,omitempty"`
	Firmware   string                   `json:"firmware,omitempty"`
	Processes  []string                 `json:"processes,omitempty"`
	Containers map[string]ContainerSpec `json:"containers,omitempty"`
}

// ContainerSpec declares one tank or bottle of a unit.
type ContainerSpec struct {
	Role      Role    `json:"role"`
	CapacityL float64 `json:"capacity_l"`
}

// Role is what a container is for.
type Role string

// The roles of the contract.
const (
	RoleWaste    Role = "waste"
	RoleWash     Role = "wash"
	RoleRecovery Role = "recovery"
	RoleBottle   Role = "bottle"
)

// DefaultCapacityL is five US gallons: what a unit that declares no
// containers has for waste and for wash.
const DefaultCapacityL = 18.9

// Phase is what a unit is doing.
type Phase string

// The phases of the contract.
const (
	PhaseIdle     Phase = "idle"
	PhaseHeating  Phase = "heating"
	PhaseFilling  Phase = "filling"
	PhaseInBath   Phase = "in-bath"
	PhaseDraining Phase = "draining"
	PhaseWaiting  Phase = "waiting"
	PhaseDrying   Phase = "drying"
	PhaseDone     Phase = "done"
	PhaseAborted  Phase = "aborted"
)

// Phases lists all phases.
var Phases = []Phase{PhaseIdle, PhaseHeating, PhaseFilling, PhaseInBath, PhaseDraining,
	PhaseWaiting, PhaseDrying, PhaseDone, PhaseAborted}

// What a waiting unit waits for.
const (
	WaitToDryer    = "to-dryer"
	WaitEmptyWaste = "empty-waste"
	WaitTopUpWash  = "top-up-wash"
	WaitChemistry  = "chemistry"
)

// Kinds of run. Only film carries customers' pictures.
const (
	KindOfRunFilm  = "film"
	KindOfRunStrip = "strip"
	KindOfRunFlush = "flush"
	KindOfRunWater = "water"
	KindOfRunPrime = "prime"
)

// Step is where a unit stands. Run, Process, Step, N are empty when idle.
type Step struct {
	Phase    Phase    `json:"phase"`
	Run      string   `json:"run,omitempty"`
	Process  string   `json:"process,omitempty"`
	Push     float64  `json:"push,omitempty"`
	Step     string   `json:"step,omitempty"`
	N        int      `json:"n,omitempty"`
	Of       int      `json:"of,omitempty"`
	SetS     *float64 `json:"set_s,omitempty"`
	ElapsedS *float64 `json:"elapsed_s,omitempty"`
	FillML   *float64 `json:"fill_ml,omitempty"`
	SetC     *float64 `json:"set_c,omitempty"`
	DrawFrom string   `json:"draw_from,omitempty"`
	DrainTo  string   `json:"drain_to,omitempty"`
	WaitsFor string   `json:"waits_for,omitempty"`
	Kind     string   `json:"kind,omitempty"` // "" means film
	// Continues is the run of this unit whose film this run takes on.
	Continues string `json:"continues,omitempty"`
}

// Temp is one set of readings in °C; a nil field was not measured.
type Temp struct {
	BathC    *float64 `json:"bath_c,omitempty"`
	PreheatC *float64 `json:"preheat_c,omitempty"`
	WashC    *float64 `json:"wash_c,omitempty"`
	DryerC   *float64 `json:"dryer_c,omitempty"`
	RoomC    *float64 `json:"room_c,omitempty"`
}

// Tank is the levels in liters and the float switches that are closed.
type Tank struct {
	LevelsL map[string]float64 `json:"levels_l,omitempty"`
	Full    []string           `json:"full,omitempty"`
}

// Sources and events of power messages.
const (
	SourceMains   = "mains"
	SourceBattery = "battery"
	EventLost     = "lost"
	EventRestored = "restored"
	EventResumed  = "resumed"
)

// Power is where a unit's electricity comes from.
type Power struct {
	Source     string   `json:"source,omitempty"`
	Event      string   `json:"event,omitempty"`
	OutageS    *float64 `json:"outage_s,omitempty"`
	BatteryPct *float64 `json:"battery_pct,omitempty"`
}

// Motion is the rotation that agitates the film; RPM is never negative.
type Motion struct {
	RPM       *float64 `json:"rpm,omitempty"`
	Reversals *float64 `json:"reversals,omitempty"`
}
