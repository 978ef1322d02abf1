package rules

import (
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// state is everything the fold knows of one unit. It is plain data: its JSON
// is the snapshot that is stored, so a field's name may only change together
// with stateVersion.
type state struct {
	Clock timelineClock `json:"clock"`

	Model, Firmware string                       `json:",omitempty"`
	Processes       []string                     `json:",omitempty"`
	Declared        map[string]lab.ContainerSpec `json:"declared,omitempty"`
	Capacity        map[string]float64           `json:"capacity,omitempty"` // litres, where a person said otherwise

	Heard   bool      `json:"heard"`              // any message yet
	GapNow  bool      `json:"gap_now,omitempty"`  // a hole lies right before the message in hand
	GapBoot bool      `json:"gap_boot,omitempty"` // the message in hand is the first of its boot
	Unsure  unsure    `json:"unsure,omitempty"`   // no step message since a hole or a restart: what it hid is not known
	HoleT   time.Time `json:"hole_t,omitzero"`    // the last that was heard before it
	DownT   time.Time `json:"down_t,omitzero"`    // the last of the boot before this one
	Waiting []reading `json:"waiting,omitempty"`  // readings of a bath since then

	Phase      lab.Phase `json:"phase,omitempty"`
	PhaseN     int       `json:"phase_n,omitempty"`
	PhaseStep  string    `json:"phase_step,omitempty"`
	PhaseT     time.Time `json:"phase_t,omitzero"`      // when it began, as far as heard
	PhaseSetS  float64   `json:"phase_set_s,omitempty"` // how long drying is set
	PhaseHeard bool      `json:"phase_heard,omitempty"`
	SaidT      time.Time `json:"said_t,omitzero"` // when it was said last
	WaitsFor   string    `json:"waits_for,omitempty"`

	Run         *run               `json:"run,omitempty"`
	Past        map[string]pastRun `json:"past,omitempty"` // the last run of each process
	LastProcess string             `json:"last_process,omitempty"`

	Tanks    map[string]*tank `json:"tanks,omitempty"`
	Pumping  *pumping         `json:"pumping,omitempty"`
	Arriving *drainWatched        `json:"arriving,omitempty"`
	Drawn    *drawWatched         `json:"drawn,omitempty"`
	Power    power            `json:"power"`
	Bath     reading          `json:"bath"`
	BathDue  time.Time        `json:"bath_due,omitzero"` // since when the next reading of the bath is waited for
	RPM      reading          `json:"rpm"`
	Room     reading          `json:"room"`

	Cool   *coolNow             `json:"cool,omitempty"`    // a cooling that is being read
	Cools  []process.CoolingFit `json:"cools,omitempty"`   // what the unit has shown of its cooling
	CountS *float64             `json:"count_s,omitempty"` // the unit's own count of the time in the step
	CountT time.Time            `json:"count_t,omitzero"`
	Load   *loaded              `json:"load,omitempty"`  // what the next run carries
	Done   map[string]bool      `json:"done,omitempty"`  // entries counted in
	Began  []time.Time          `json:"began,omitempty"` // beginnings of the last runs
	Strips []*stripHistory        `json:"strips,omitempty"`
	Films  []*film              `json:"films,omitempty"` // that no run goes on with, oldest first

	Probe     probeState             `json:"sense,omitzero"`
	Preheat   reading           `json:"preheat,omitzero"` // the last that was believed
	PreheatMT time.Time         `json:"preheat_mt,omitzero"`
	Habits    map[string]*habit `json:"habits,omitempty"`
	ColdWash  string            `json:"cold_wash,omitempty"` // the day on which a cold wash was last told

	Fills  map[string]lastValues         `json:"fills,omitempty"`  // what whole fills take by volume, seconds a liter
	Drains map[string]*destination `json:"drains,omitempty"` // where steps usually drain to

	Intervals lastValues            `json:"intervals"` // seconds between bath readings
	Usual     map[string]lastValues `json:"usual"`     // seconds of filling and draining

	Open  map[string]*lab.Occurrence `json:"open,omitempty"`
	Holds map[string]*hold           `json:"holds,omitempty"`
}

// unsure says how much may have been missed since the last step message.
type unsure int

const (
	sure      unsure = iota
	restarted        // nothing is missing, but the controller was down
	shortHole        // a moment: a change of phase, not a bath
	longHole         // long enough for another bath to be in
)

// reading is a value and when it was measured (timeline time).
type reading struct {
	V float64   `json:"v"`
	T time.Time `json:"t,omitzero"`
}

func (r reading) known() bool { return !r.T.IsZero() }

// run is the run a unit is in, or was in last.
type run struct {
	ID        string    `json:"id"`
	Name      string    `json:"name"`
	Process   string    `json:"process"`
	Push      float64   `json:"push"`
	Kind      string    `json:"kind"`
	StartT    time.Time `json:"start_t"`
	StartedAt time.Time `json:"started_at"`
	Whole     bool      `json:"whole"`                // heard from its beginning
	FromFirst bool      `json:"from_first,omitempty"` // its first message was received, right after the unit stood idle
	Lacks     bool      `json:"lacks,omitempty"`      // something of it was not received
	Of        int       `json:"of"`

	Steps    []*runStep `json:"steps"`
	Holes    []hole     `json:"holes,omitempty"` // times not heard, and where in the run
	Gaps     []lab.Gap  `json:"gaps,omitempty"`
	Missed   []string   `json:"missed,omitempty"` // steps raised as skipped
	Outages  []*outage  `json:"outages,omitempty"`
	Alerts   []string   `json:"alerts,omitempty"`
	Wet      bool       `json:"wet,omitempty"`
	BathsEnd bool       `json:"baths_end,omitempty"` // the last bath is done
	FixedT   time.Time  `json:"fixed_t,omitzero"`
	Outcome  string     `json:"outcome"`
	EndedAt  time.Time  `json:"ended_at,omitzero"`
	LastT    time.Time  `json:"last_t"`
	FillML   float64    `json:"fill_ml,omitempty"` // the last fill heard
	DryerHot bool       `json:"dryer_hot,omitempty"`
	AtDryer  bool       `json:"at_dryer,omitempty"`  // its film is dry or drying
	LastBoot string     `json:"last_boot,omitempty"` // the boot of its last step message

	Took      *film     `json:"took,omitempty"`      // what earlier runs did to its film
	Continues string    `json:"continues,omitempty"` // the run whose film it takes on
	Proposed  bool      `json:"proposed,omitempty"`  // as far as can be guessed
	Away      *filmSaid `json:"away,omitempty"`      // a person took its film out of it

	Unknown  []string   `json:"unknown,omitempty"`   // names of steps that the sheet does not have and nobody explained
	KindSaid bool       `json:"kind_said,omitempty"` // a person said what kind it is
	Load     *loaded    `json:"load,omitempty"`
	Fig      runFigures `json:"fig,omitzero"`
	Turned   []period   `json:"turned,omitempty"`
}

// hole is a time in a run that was not heard.
type hole struct {
	After int     `json:"after"` // the highest sheet step begun before it
	S     float64 `json:"s"`
}

// runStep is one step of a run as it was heard.
type runStep struct {
	N          int       `json:"n"`
	ID         string    `json:"id"`
	Index      int       `json:"index"`  // in the sheet, -1 if it has no such step
	FromT      time.Time `json:"from_t"` // its first message
	Fills      int       `json:"fills"`
	DrainS     float64   `json:"drain_s,omitempty"` // what its last draining took
	FillS      float64   `json:"fill_s,omitempty"`  // what its first fill took, where heard whole
	Drains     int       `json:"drains"`
	BathT      time.Time `json:"bath_t,omitzero"`
	BathHeard  bool      `json:"bath_heard,omitempty"`
	FillT      time.Time `json:"fill_t,omitzero"`       // when its first fill began, where that was heard
	CountT     time.Time `json:"count_from_t,omitzero"` // from where its time counts, where that is not BathT
	Entered    bool      `json:"entered,omitempty"`     // more than a waiting for it was heard
	RefillT    time.Time `json:"refill_t,omitzero"`     // when the fill after its last draining began
	EndUnsure  bool      `json:"end_unsure,omitempty"`  // its end lies in a hole
	EndLost    bool      `json:"end_lost,omitempty"`    // in a long one: EndT is an estimate
	HeardT     time.Time `json:"heard_t,omitzero"`      // the last that was received of it then
	ByHand     bool      `json:"by_hand,omitempty"`     // a person says that they drained it
	DrainT     time.Time `json:"drain_t,omitzero"`      // start of the draining that is, so far, the last
	EndT       time.Time `json:"end_t,omitzero"`        // end of the time in the step
	LeftT      time.Time `json:"left_t,omitzero"`       // when the next thing began
	SetS       float64   `json:"set_s,omitempty"`
	SetC       float64   `json:"set_c,omitempty"`
	FillML     float64   `json:"fill_ml,omitempty"`
	DrawFrom   string    `json:"draw_from,omitempty"`
	DrainTo    string    `json:"drain_to,omitempty"`
	Into       string    `json:"into,omitempty"`      // where it drained to, as the unit said
	IntoMore   bool      `json:"into_more,omitempty"` // not always to the same
	WrongSet   bool      `json:"wrong_set,omitempty"` // wrong-time-set was raised
	NoReading  bool      `json:"no_reading,omitempty"`
	NoRotation bool      `json:"no_rotation,omitempty"`
	Still      []period  `json:"still,omitempty"`   // when the tank stood still
	NoDraw     bool      `json:"no_draw,omitempty"` // its bottle's sensor did not move at the fill
	NoChem     bool      `json:"no_chem,omitempty"` // its bottle did not give what it should
	Unheard    bool      `json:"unheard,omitempty"` // a hole of over 10 s in it
	Bath       bathIntegral   `json:"bath"`
	Doubt      doubt     `json:"doubt,omitzero"`
	OffsetC    float64   `json:"offset_c,omitzero"`  // by a person's thermometer, for this step
	Measured   int       `json:"measured,omitempty"` // by how many of their readings
	OwnAimC    float64   `json:"own_aim_c,omitzero"` // the mean of its bath where its unit decides and says no set_c
	OwnSumC    float64   `json:"own_sum_c,omitzero"`
	OwnN       int       `json:"own_n,omitempty"`
	OwnFixed   bool      `json:"own_fixed,omitempty"`
	ColdFill   int       `json:"cold_fill,omitempty"` // the fill in which a cold wash was told
	RPMSum     float64   `json:"rpm_sum,omitzero"`
	RPMN       int       `json:"rpm_n,omitempty"`
	Slow       bool      `json:"slow,omitempty"`    // rotation-slow was raised
	WrongC     bool      `json:"wrong_c,omitempty"` // wrong-temperature-set was raised
	Mix        fillMixing    `json:"mix,omitzero"`
	Outs       int       `json:"outs,omitempty"` // excursions
	OutMostC   float64   `json:"out_most_c,omitzero"`
	WarmT      time.Time `json:"warm_t,omitzero"` // last outside, too warm
	CoolT      time.Time `json:"cool_t,omitzero"`
	Swings     bool      `json:"swings,omitempty"`
	Out        bool      `json:"out,omitempty"` // bath-temperature was raised
	OutWarm    bool      `json:"out_warm,omitempty"`
	Stranded   bool      `json:"stranded,omitempty"` // the run left its film in it: when it ended is not known
	Short      bool      `json:"short,omitempty"`
	Long       bool      `json:"long,omitempty"`
}

// fromT is the moment from which the time in the step counts.
func (c *runStep) fromT() time.Time {
	if !c.CountT.IsZero() {
		return c.CountT
	}
	return c.BathT
}

// pastRun is what the last run of a process took. Volumes and how often a step
// fills are of the last that was heard whole.
type pastRun struct {
	Steps []pastStep `json:"steps"`
	Whole bool       `json:"whole,omitempty"` // one was heard whole
	At    time.Time  `json:"at,omitzero"`     // when that ended
}

type pastStep struct {
	ID       string  `json:"id"`
	N        int     `json:"n"`
	Fills    int     `json:"fills"` // 0: of a run that was not heard whole
	FillML   float64 `json:"fill_ml"`
	DrawFrom string  `json:"draw_from"`
	DrainTo  string  `json:"drain_to"`
	SetS     float64 `json:"set_s"`
	BeforeS  float64 `json:"before_s"` // heating and filling before its bath
}

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
	Where  whereFilm `json:"where,omitempty"` // where the film was as the advice was given, and in which step
	AtN    int       `json:"at_n,omitempty"`
	AtStep string    `json:"at_step,omitempty"`
	Early  bool      `json:"early,omitempty"` // the step message after a restart is still to come
	Over   bool      `json:"over,omitempty"`  // it can no longer be followed
	LeftS  *float64  `json:"left_s,omitempty"`
	Text   string    `json:"text,omitempty"`

	ActT      time.Time      `json:"act_t,omitzero"` // when to do what is advised
	Done      *process.Range `json:"done,omitempty"` // where the push error will end then
	Still     float64        `json:"still,omitempty"`
	Measured  []string       `json:"measured,omitempty"`
	Estimated []string       `json:"estimated,omitempty"`
	Assumed   []string       `json:"assumed,omitempty"`
	Ask       []string       `json:"ask,omitempty"`
	Readings  int            `json:"readings,omitempty"` // of the bath since the power is back
	Settled   bool           `json:"settled,omitempty"`
	LookT     time.Time      `json:"look_t,omitzero"` // when the advice is looked at again
}

// power is where the electricity comes from.
type power struct {
	Source  string    `json:"source,omitempty"`
	Since   time.Time `json:"since,omitzero"`
	Battery *float64  `json:"battery,omitempty"`
	LostT   time.Time `json:"lost_t,omitzero"`
	Boot    string    `json:"boot,omitempty"` // the boot that said so
}

// lastValues keeps the last values, for a median.
type lastValues []float64

const lastValuesKept = 15

func (r *lastValues) add(v float64) {
	*r = append(*r, v)
	if len(*r) > lastValuesKept {
		*r = append(lastValues(nil), (*r)[len(*r)-lastValuesKept:]...)
	}
}

// cur is the step the run is in, nil outside.
func (s *state) cur() *runStep {
	if s.Run == nil || len(s.Run.Steps) == 0 {
		return nil
	}
	return s.Run.Steps[len(s.Run.Steps)-1]
}

// running tells whether the unit is in a run that has not ended.
func (s *state) running() bool { return s.Run != nil && s.Run.Outcome == lab.OutcomeRunning }

// judged tells whether the run is judged for its film: it carries customers'
// film and has a sheet.
func (f *Unit) judged() bool { return f.s.running() && f.s.Run.film() && f.sheet() != nil }

// followed tells whether the run's process is judged, be it without alerts:
// it carries customers' film or a control strip, and has a sheet.
func (f *Unit) followed() bool { return f.s.running() && f.s.Run.followed() && f.sheet() != nil }

// followed tells whether what the run went through is judged: a control strip
// tells nothing of the chemistry unless its run was right.
func (r *run) followed() bool {
	return r.film() || r != nil && r.Kind == lab.KindOfRunStrip
}

// film tells whether the run carries customers' film.
func (r *run) film() bool { return r != nil && (r.Kind == "" || r.Kind == lab.KindOfRunFilm) }

func newState() *state {
	return &state{Past: map[string]pastRun{}, Tanks: map[string]*tank{}, Usual: map[string]lastValues{},
		Open: map[string]*lab.Occurrence{}, Holds: map[string]*hold{}}
}
