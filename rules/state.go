package rules

import (
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// state is everything that is known of one unit. It is plain data, and its JSON
// is what is stored: the name under which a field is stored may not change, or
// states that labs have stored would lose it. (A state that cannot be read any
// more needs a new timeline.StateVersion, with which every unit is folded anew.)
// Times whose names end in T are timeline time.
type state struct {
	Clock timelineClock `json:"clock"`

	Model, Firmware string                       `json:",omitempty"`
	Processes       []string                     `json:",omitempty"`
	Declared        map[string]lab.ContainerSpec `json:"declared,omitempty"`
	Capacity        map[string]float64           `json:"capacity,omitempty"` // liters, where a person entered another one

	Heard   bool      `json:"heard"`              // any message was received
	GapNow  bool      `json:"gap_now,omitempty"`  // messages are missing right before the one at hand
	GapBoot bool      `json:"gap_boot,omitempty"` // the message at hand is the first of its boot
	Unsure  unsure    `json:"unsure,omitempty"`   // set by a hole or a restart, until the next step message tells what it hid
	HoleT   time.Time `json:"hole_t,omitzero"`    // the last message before that hole
	DownT   time.Time `json:"down_t,omitzero"`    // the last message of the boot before
	Waiting []reading `json:"waiting,omitempty"`  // readings since, until it is known which bath they are of

	Phase      lab.Phase `json:"phase,omitempty"`
	PhaseN     int       `json:"phase_n,omitempty"`
	PhaseStep  string    `json:"phase_step,omitempty"`
	PhaseT     time.Time `json:"phase_t,omitzero"`      // when it began, as far as is known
	PhaseSetS  float64   `json:"phase_set_s,omitempty"` // how long drying is set
	PhaseHeard bool      `json:"phase_heard,omitempty"`
	SaidT      time.Time `json:"said_t,omitzero"` // when the unit last repeated it
	WaitsFor   string    `json:"waits_for,omitempty"`

	Run         *run               `json:"run,omitempty"`
	Past        map[string]pastRun `json:"past,omitempty"` // the last run of each process
	LastProcess string             `json:"last_process,omitempty"`

	Tanks    map[string]*tank `json:"tanks,omitempty"`
	Pumping  *pumping         `json:"pumping,omitempty"`
	Arriving *drainWatched    `json:"arriving,omitempty"`
	Drawn    *drawWatched     `json:"drawn,omitempty"`
	Power    power            `json:"power"`
	Bath     reading          `json:"bath"`
	BathDue  time.Time        `json:"bath_due,omitzero"` // from here the wait for the next reading counts
	RPM      reading          `json:"rpm"`
	Room     reading          `json:"room"`

	Cool   *coolNow             `json:"cool,omitempty"`    // a cooling that is being read
	Cools  []process.CoolingFit `json:"cools,omitempty"`   // how fast the tank cooled, each time
	CountS *float64             `json:"count_s,omitempty"` // the unit's own count of the time in the step
	CountT time.Time            `json:"count_t,omitzero"`
	Load   *loaded              `json:"load,omitempty"`   // what the next run carries
	Done   map[string]bool      `json:"done,omitempty"`   // entries counted in
	Began  []time.Time          `json:"began,omitempty"`  // beginnings of the last runs
	Starts []int64              `json:"starts,omitempty"` // of runs, by the second, for the pace of the day
	Strips []*stripHistory      `json:"strips,omitempty"`
	Films  []*film              `json:"films,omitempty"` // left behind by runs, oldest first

	Probe     probeState        `json:"sense,omitzero"`
	Preheat   reading           `json:"preheat,omitzero"` // the last that was believed
	PreheatMT time.Time         `json:"preheat_mt,omitzero"`
	Habits    map[string]*habit `json:"habits,omitempty"`
	ColdWash  string            `json:"cold_wash,omitempty"` // the day of the last alert of a cold wash

	Fills  map[string]lastValues   `json:"fills,omitempty"`  // how long fills take, seconds a liter, by fillKey
	Drains map[string]*destination `json:"drains,omitempty"` // where steps usually drain to

	Intervals lastValues            `json:"intervals"` // seconds between bath readings
	Usual     map[string]lastValues `json:"usual"`     // how long fills and drains take, seconds, by phase

	Open  map[string]*lab.Occurrence `json:"open,omitempty"`
	Holds map[string]*hold           `json:"holds,omitempty"`
}

// unsure says how much may have happened unnoticed since the last step message.
type unsure int

const (
	nothingMissed unsure = iota
	restarted            // nothing is missing, but the controller was down
	shortHole            // long enough for a change of phase, too short for a bath
	longHole             // long enough for another bath to be in
)

// reading is a value and when it was measured (timeline time).
type reading struct {
	V float64   `json:"v"`
	T time.Time `json:"t,omitzero"`
}

func (r reading) known() bool { return !r.T.IsZero() }

// outage is one loss of power in a run.
type outage struct {
	LostT  time.Time `json:"lost_t,omitzero"`
	BackT  time.Time `json:"back_t,omitzero"`
	LostAt time.Time `json:"lost_at,omitzero"`
	BackAt time.Time `json:"back_at,omitzero"`
	S      float64   `json:"s,omitempty"`
	Kind   string    `json:"kind"`
	N      int       `json:"n"`
	Step   string    `json:"step"`
	Boot   string    `json:"boot,omitempty"` // the boot that came back
	Advice string    `json:"advice,omitempty"`
	Where  whereFilm `json:"where,omitempty"` // where the film was when the advice was given
	AtN    int       `json:"at_n,omitempty"`
	AtStep string    `json:"at_step,omitempty"`
	Early  bool      `json:"early,omitempty"` // told before the first step message after the restart
	Over   bool      `json:"over,omitempty"`  // it is too late for the advice
	LeftS  *float64  `json:"left_s,omitempty"`
	Text   string    `json:"text,omitempty"`

	ActT      time.Time      `json:"act_t,omitzero"` // when to do what is advised
	Done      *process.Range `json:"done,omitempty"` // the push error then
	Still     float64        `json:"still,omitempty"`
	Measured  []string       `json:"measured,omitempty"`
	Estimated []string       `json:"estimated,omitempty"`
	Assumed   []string       `json:"assumed,omitempty"`
	Ask       []string       `json:"ask,omitempty"`
	Readings  int            `json:"readings,omitempty"` // of the bath since the power is back
	Settled   bool           `json:"settled,omitempty"`
	LookT     time.Time      `json:"look_t,omitzero"` // when the advice is looked at again
}

// power is where the unit's electricity comes from.
type power struct {
	Source  string    `json:"source,omitempty"`
	Since   time.Time `json:"since,omitzero"`
	Battery *float64  `json:"battery,omitempty"`
	LostT   time.Time `json:"lost_t,omitzero"`
	Boot    string    `json:"boot,omitempty"` // the boot that told it
}

func newState() *state {
	return &state{Past: map[string]pastRun{}, Tanks: map[string]*tank{}, Usual: map[string]lastValues{},
		Open: map[string]*lab.Occurrence{}, Holds: map[string]*hold{}}
}
