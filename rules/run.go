package rules

import (
	"time"

	"wetside/internal/lab"
)

// run is the run a unit is in, or was in last.
type run struct {
	ID        string    `json:"id"`
	Name      string    `json:"name"`
	Process   string    `json:"process"`
	Push      float64   `json:"push"`
	Kind      string    `json:"kind"`
	StartT    time.Time `json:"start_t"`
	StartedAt time.Time `json:"started_at"`
	Whole     bool      `json:"whole"`                // received from its beginning
	FromFirst bool      `json:"from_first,omitempty"` // its first message was received, right after the unit stood idle
	Lacks     bool      `json:"lacks,omitempty"`      // a message of it was not received
	Of        int       `json:"of"`

	Steps    []*runStep `json:"steps"`
	Holes    []hole     `json:"holes,omitempty"` // times of which no data was received
	Gaps     []lab.Gap  `json:"gaps,omitempty"`
	Missed   []string   `json:"missed,omitempty"` // ids of the steps that were skipped
	Outages  []*outage  `json:"outages,omitempty"`
	Alerts   []string   `json:"alerts,omitempty"`
	Wet      bool       `json:"wet,omitempty"`
	BathsEnd bool       `json:"baths_end,omitempty"` // the last bath is done
	FixedT   time.Time  `json:"fixed_t,omitzero"`
	Outcome  string     `json:"outcome"`
	EndedAt  time.Time  `json:"ended_at,omitzero"`
	LastT    time.Time  `json:"last_t"`
	FillML   float64    `json:"fill_ml,omitempty"` // of its last fill
	DryerHot bool       `json:"dryer_hot,omitempty"`
	AtDryer  bool       `json:"at_dryer,omitempty"`  // its film is dry or drying
	LastBoot string     `json:"last_boot,omitempty"` // the boot of its last step message

	Took      *film     `json:"took,omitempty"`      // the film that it goes on with, with its earlier runs
	Continues string    `json:"continues,omitempty"` // the run whose film it takes on
	Proposed  bool      `json:"proposed,omitempty"`  // nobody said so: it is likely
	Away      *filmSaid `json:"away,omitempty"`      // a person took its film out of it

	Unknown  []string   `json:"unknown,omitempty"`   // names of steps that the sheet does not have and nobody explained
	KindSaid bool       `json:"kind_said,omitempty"` // a person said what kind it is
	Load     *loaded    `json:"load,omitempty"`
	Fig      runFigures `json:"fig,omitzero"`
	Turned   []period   `json:"turned,omitempty"`
}

// hole is a time in a run of which no data was received.
type hole struct {
	After int     `json:"after"` // the highest sheet step begun before it
	S     float64 `json:"s"`
}

// runStep is one step of a run as it was received.
type runStep struct {
	N          int          `json:"n"`
	ID         string       `json:"id"`
	Index      int          `json:"index"`  // in the sheet, -1 if it has no such step
	FromT      time.Time    `json:"from_t"` // its first message
	Fills      int          `json:"fills"`
	DrainS     float64      `json:"drain_s,omitempty"` // what its last draining took
	FillS      float64      `json:"fill_s,omitempty"`  // what its first fill took, where all of it was received
	Drains     int          `json:"drains"`
	BathT      time.Time    `json:"bath_t,omitzero"`
	BathHeard  bool         `json:"bath_heard,omitempty"`
	FillT      time.Time    `json:"fill_t,omitzero"`       // when its first fill began, where that was received
	CountT     time.Time    `json:"count_from_t,omitzero"` // from where its time counts, where that is not BathT
	Entered    bool         `json:"entered,omitempty"`     // the unit has begun it, and does not just wait for it
	RefillT    time.Time    `json:"refill_t,omitzero"`     // when the fill after its last draining began
	EndUnsure  bool         `json:"end_unsure,omitempty"`  // its end lies in a hole
	EndLost    bool         `json:"end_lost,omitempty"`    // in a long one: EndT is an estimate
	HeardT     time.Time    `json:"heard_t,omitzero"`      // the last that was received of it, then
	ByHand     bool         `json:"by_hand,omitempty"`     // a person says that they drained it
	DrainT     time.Time    `json:"drain_t,omitzero"`      // when its last draining began
	EndT       time.Time    `json:"end_t,omitzero"`        // end of the time in the step
	LeftT      time.Time    `json:"left_t,omitzero"`       // when the next step or the end of the baths began
	SetS       float64      `json:"set_s,omitempty"`
	SetC       float64      `json:"set_c,omitempty"`
	FillML     float64      `json:"fill_ml,omitempty"`
	DrawFrom   string       `json:"draw_from,omitempty"`
	DrainTo    string       `json:"drain_to,omitempty"`
	Into       string       `json:"into,omitempty"`      // where it drained to, as the unit said
	IntoMore   bool         `json:"into_more,omitempty"` // it drained into several
	WrongSet   bool         `json:"wrong_set,omitempty"` // wrong-time-set was raised
	NoReading  bool         `json:"no_reading,omitempty"`
	NoRotation bool         `json:"no_rotation,omitempty"`
	Still      []period     `json:"still,omitempty"`   // when the tank stood still
	NoDraw     bool         `json:"no_draw,omitempty"` // its bottle's sensor did not move at the fill
	NoChem     bool         `json:"no_chem,omitempty"` // its bottle did not give what it should
	Unheard    bool         `json:"unheard,omitempty"` // a hole of over 10 s in it
	Bath       bathIntegral `json:"bath"`
	Doubt      doubt        `json:"doubt,omitzero"`
	OffsetC    float64      `json:"offset_c,omitzero"`  // to be added to the probe, by a person's thermometer
	Measured   int          `json:"measured,omitempty"` // how often a person measured
	OwnAimC    float64      `json:"own_aim_c,omitzero"` // the temperature to judge around where the unit decides it
	OwnSumC    float64      `json:"own_sum_c,omitzero"`
	OwnN       int          `json:"own_n,omitempty"`
	OwnFixed   bool         `json:"own_fixed,omitempty"`
	ColdFill   int          `json:"cold_fill,omitempty"` // the fill in which a cold wash was told
	RPMSum     float64      `json:"rpm_sum,omitzero"`
	RPMN       int          `json:"rpm_n,omitempty"`
	Slow       bool         `json:"slow,omitempty"`    // rotation-slow was raised
	WrongC     bool         `json:"wrong_c,omitempty"` // wrong-temperature-set was raised
	Mix        fillMixing   `json:"mix,omitzero"`
	Outs       int          `json:"outs,omitempty"` // times that it left its limits
	OutMostC   float64      `json:"out_most_c,omitzero"`
	WarmT      time.Time    `json:"warm_t,omitzero"` // last outside, too warm
	CoolT      time.Time    `json:"cool_t,omitzero"`
	Swings     bool         `json:"swings,omitempty"`
	Out        bool         `json:"out,omitempty"` // bath-temperature was raised
	OutWarm    bool         `json:"out_warm,omitempty"`
	Stranded   bool         `json:"stranded,omitempty"` // the run ended with its film in it: when the film came out is not known
	Short      bool         `json:"short,omitempty"`
	Long       bool         `json:"long,omitempty"`
}

// fromT is the moment from which the time in the step counts.
func (c *runStep) fromT() time.Time {
	if !c.CountT.IsZero() {
		return c.CountT
	}
	return c.BathT
}

// pastRun is what is known of a process's runs on this unit. Volumes and numbers
// of fills are of the last run that was received whole, the rest of the last.
type pastRun struct {
	Steps []pastStep `json:"steps"`
	Whole bool       `json:"whole,omitempty"` // one was received whole
	At    time.Time  `json:"at,omitzero"`     // when that ended
}

type pastStep struct {
	ID       string  `json:"id"`
	N        int     `json:"n"`
	Fills    int     `json:"fills"` // 0 where no run was received whole
	FillML   float64 `json:"fill_ml"`
	DrawFrom string  `json:"draw_from"`
	DrainTo  string  `json:"drain_to"`
	SetS     float64 `json:"set_s"`
	BeforeS  float64 `json:"before_s"` // heating and filling before its bath
}

// currentStep is the step the run is in, nil outside.
func (s *state) currentStep() *runStep {
	if s.Run == nil || len(s.Run.Steps) == 0 {
		return nil
	}
	return s.Run.Steps[len(s.Run.Steps)-1]
}

// running tells whether the unit is in a run that has not ended.
func (s *state) running() bool { return s.Run != nil && s.Run.Outcome == lab.OutcomeRunning }

// judged tells whether the run gets alerts about its film: it carries customers'
// film and its process has a sheet.
func (u *Unit) judged() bool { return u.s.running() && u.s.Run.film() && u.sheet() != nil }

// followed tells whether the run gets a verdict: it carries customers' film or a
// control strip, and its process has a sheet.
func (u *Unit) followed() bool { return u.s.running() && u.s.Run.followed() && u.sheet() != nil }

// followed tells whether the run is of a kind that gets a verdict. A control
// strip's does: it tells nothing of the chemistry unless its run was right.
func (r *run) followed() bool {
	return r.film() || r != nil && r.Kind == lab.KindOfRunStrip
}

// film tells whether the run carries customers' film.
func (r *run) film() bool { return r != nil && (r.Kind == "" || r.Kind == lab.KindOfRunFilm) }
