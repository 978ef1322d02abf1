package lab

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
)

// RGB are the red, green and blue densities of one step of a control strip. A
// color that was not read is nil; on black-and-white film all is in G.
type RGB struct {
	R *float64 `json:"r,omitempty" doc:"Red density."`
	G *float64 `json:"g,omitempty" doc:"Green density; on black-and-white film, the density."`
	B *float64 `json:"b,omitempty" doc:"Blue density."`
}

// Of gives the density of a color, by its letter.
func (d RGB) Of(color string) *float64 {
	switch color {
	case "r":
		return d.R
	case "g":
		return d.G
	case "b":
		return d.B
	}
	return nil
}

// At is where the density of a color is kept, by its letter.
func (d *RGB) At(color string) **float64 {
	switch color {
	case "r":
		return &d.R
	case "g":
		return &d.G
	}
	return &d.B
}

// Strip is a control strip that was read. Plots are worked out as it is taken
// in, by what was in force then: they are the evidence of what it was judged
// by, and do not change with later limits.
type Strip struct {
	Process   string         `json:"process"`
	Mix       string         `json:"mix,omitempty"`  // of the chemistry; "" where it is not known
	Code      string         `json:"code,omitempty"` // code number of the box of strips
	ReadBy    string         `json:"read_by,omitempty"`
	Densities map[string]RGB `json:"densities"` // by step: dmin, ld, hd, dmax, yellow
	Plots     []StripPlot    `json:"plots,omitempty"`
	Status    string         `json:"standing,omitempty"` // of the worst plot
	Note      string         `json:"note,omitempty"`
}

// Where a strip or one of its plots stands.
const (
	StripIn       = "in"       // within the action limits
	StripAction   = "action"   // beyond an action limit: find the cause
	StripOut      = "out"      // beyond a control limit
	StripUnjudged = "unjudged" // there is nothing yet to judge it by
)

// StripPlot is one figure of a strip beside its aim and its limits.
type StripPlot struct {
	Plot      string   `json:"plot"` // such as ld.r
	Label     string   `json:"label" doc:"What people call it."`
	Value     float64  `json:"value" doc:"Density, or a difference of two."`
	Aim       *float64 `json:"aim" doc:"What it is to be; null: not known."`
	Deviation *float64 `json:"deviation" doc:"Value less aim; null without an aim."`
	Action    *float64 `json:"action" doc:"Action limit, half width; null: none."`
	Control   *float64 `json:"control" doc:"Control limit, half width; null: none."`
	Side      string   `json:"side" enum:"both,high,low" doc:"On which side of the aim the limits stand."`
	Status    string   `json:"standing" enum:"in,action,out,unjudged" doc:"in: within the action limits. action: beyond an action limit. out: beyond a control limit. unjudged: there is nothing yet to judge it by."`
	Limits    string   `json:"limits" enum:"published,own,provisional,none" doc:"Whose limits: published, the lab's own, worked out of its first strips (provisional), or none."`
	AimFrom   string   `json:"aim_from,omitempty" enum:"reference,own,first-strips" doc:"Whose aim: the box's reference strip with its correction factors, the lab's own that a lead took over, or its first strips; absent without an aim."`
}

// Whose aim a plot is judged by.
const (
	AimReference = "reference"    // the box's reference strip with its correction factors
	AimOwn       = "own"          // taken over by a lead from the lab's own strips
	AimFirst     = "first-strips" // the first strips of this unit and process
)

// Whose limits a plot is judged by.
const (
	LimitsPublished   = "published"
	LimitsOwn         = "own"
	LimitsProvisional = "provisional"
	LimitsNone        = "none"
)

// Densities of film that a densitometer can read.
const (
	MinDensity = -1
	MaxDensity = 6
)

// maxSteps is how many steps of a strip are read.
const maxSteps = 16

// Beyond names the plots that are beyond a limit, the worst first.
func (s Strip) Beyond() string {
	var out []string
	for _, status := range []string{StripOut, StripAction} {
		for _, p := range s.Plots {
			if p.Status != status || p.Deviation == nil {
				continue
			}
			width := p.Control
			if status == StripAction {
				width = p.Action
			}
			out = append(out, fmt.Sprintf("%s %+.2f (limit %s%.2f)", p.Label, *p.Deviation, map[string]string{"both": "±", "high": "+", "low": "-"}[p.Side], *width))
		}
		if len(out) > 0 {
			break
		}
	}
	return strings.Join(out, ", ")
}

// Check says what is wrong with s.
func (s Strip) Check() error { return s.check() }

func (s Strip) check() error {
	if err := present("process", s.Process); err != nil {
		return err
	}
	if len(s.Densities) == 0 {
		return fmt.Errorf("densities are missing: at least one step must be there, such as ld with r, g and b")
	}
	return checkDensities("densities", s.Densities)
}

func checkDensities(field string, steps map[string]RGB) error {
	if len(steps) > maxSteps {
		return fmt.Errorf("%s has %d steps; at most %d are taken", field, len(steps), maxSteps)
	}
	for _, step := range slices.Sorted(maps.Keys(steps)) {
		d := steps[step]
		if d.R == nil && d.G == nil && d.B == nil {
			return fmt.Errorf("%s.%s has no density: r, g or b must be there", field, step)
		}
		for _, color := range []string{"r", "g", "b"} {
			if v := d.Of(color); v != nil && !(*v >= MinDensity && *v <= MaxDensity) {
				return fmt.Errorf("%s.%s.%s must be %d to %d; got %g", field, step, color, MinDensity, MaxDensity, *v)
			}
		}
	}
	return nil
}

// StripGate is the gate of a unit's chemistry, as the board shows it.
type StripGate struct {
	Process  string `json:"process"`
	Mix      string `json:"mix,omitempty"`
	Gate     string `json:"gate" enum:"in,watch,stop" doc:"in: the last strip was in. watch: film may run, find the cause. stop: no customers' film."`
	Text     string `json:"text,omitempty" doc:"The first reason."`
	Needs    string `json:"needs,omitempty" doc:"What to run now: strip (none was read today) or second-strip (one is beyond a control limit)."`
	Since    *Time  `json:"since,omitempty" doc:"When the first of the strips was read that are out now."`
	LastInAt *Time  `json:"last_in_at" doc:"When the last strip was read that was in; null: none in three months."`
}

// GateOpening says that a lead lets customers' film through in spite of the
// strips, until the next one is read.
type GateOpening struct {
	Process string `json:"process"`
	Mix     string `json:"mix,omitempty"`
	Reason  string `json:"reason"`
}

func (g GateOpening) check() error {
	if err := present("process", g.Process); err != nil {
		return err
	}
	return present("reason", g.Reason)
}

// StripsKey is the name of the setting that holds StripSettings, as JSON.
const StripsKey = "strips"

// StripSettings is what the lab's control strips are judged by.
type StripSettings struct {
	Asked      []string         `json:"asked,omitempty" doc:"Processes for which a strip must be read each day before customers' film."`
	References []StripReference `json:"references,omitempty" doc:"Boxes of strips, by code number."`
	Limits     []StripLimit     `json:"limits,omitempty" doc:"The lab's own limits."`
	Aims       []StripAim       `json:"aims,omitempty" doc:"Aims that a lead took over from the lab's own strips."`
}

// StripReference is one box of strips: the densities of its reference strip as
// the lab's densitometer reads them, and the correction factors printed with
// the box. Their sums are the aims.
type StripReference struct {
	Process     string         `json:"process"`
	Code        string         `json:"code" doc:"The code number of the box."`
	Densities   map[string]RGB `json:"densities" doc:"Densities by step of the strip: dmin, ld, hd, yellow, dmax, speed."`
	Corrections map[string]RGB `json:"corrections,omitempty" doc:"Correction factors printed with the box, by step."`
	Box         string         `json:"box,omitempty" doc:"Batch number of the box."`
	StoredC     *float64       `json:"stored_c,omitempty" doc:"How cold it is stored, degrees Celsius."`
	OpenedAt    *Time          `json:"opened_at,omitempty" doc:"When it was opened."`
	UsedUpAt    *Time          `json:"used_up_at,omitempty" doc:"When the last strip of it was used."`
}

// StripLimit is a lab's own limit of one plot.
type StripLimit struct {
	Process string  `json:"process"`
	Unit    string  `json:"unit,omitempty" doc:"The unit, lab/unit; absent: all."`
	Plot    string  `json:"plot"`
	Action  float64 `json:"action" doc:"Action limit, half width in density."`
	Control float64 `json:"control" doc:"Control limit, half width in density."`
	Side    string  `json:"side,omitempty" enum:"both,high,low" doc:"On which side of the aim; absent: both."`
	Reason  string  `json:"reason" doc:"Why it is not the published one."`
}

// StripAim is an aim with its spread that a lead took over from the lab's own
// strips.
type StripAim struct {
	Process string  `json:"process"`
	Unit    string  `json:"unit"`
	Mix     string  `json:"mix,omitempty"`
	Plot    string  `json:"plot"`
	Aim     float64 `json:"aim" doc:"The aim, in density."`
	Sigma   float64 `json:"sigma" doc:"The spread of one strip, in density."`
	Strips  int     `json:"strips" doc:"How many strips it comes from."`
	By      string  `json:"by,omitempty" doc:"Who took it over."`
	At      *Time   `json:"at,omitempty" doc:"When it was taken over."`
}

// Caps of the lists in StripSettings.
const (
	maxAsked      = 64
	maxReferences = 500
	maxLimits     = 1000
)

// Check says what is wrong with s.
func (s StripSettings) Check() error {
	for _, l := range []struct {
		name      string
		have, cap int
	}{{"asked", len(s.Asked), maxAsked}, {"references", len(s.References), maxReferences}, {"limits", len(s.Limits), maxLimits}, {"aims", len(s.Aims), maxLimits}} {
		if l.have > l.cap {
			return Errorf(KindInvalid, "%s has %d entries; at most %d are taken", l.name, l.have, l.cap)
		}
	}
	for i, r := range s.References {
		if err := r.check(); err != nil {
			return Errorf(KindInvalid, "references[%d]: %w", i, err)
		}
	}
	for i, l := range s.Limits {
		if err := l.check(); err != nil {
			return Errorf(KindInvalid, "limits[%d]: %w", i, err)
		}
	}
	for i, a := range s.Aims {
		if !finite(a.Aim, MinDensity, MaxDensity) || !finite(a.Sigma, 0, MaxDensity) || a.Plot == "" || a.Process == "" {
			return Errorf(KindInvalid, "aims[%d]: process and plot must be there, aim %d to %d, sigma 0 to %d", i, MinDensity, MaxDensity, MaxDensity)
		}
	}
	return nil
}

func (r StripReference) check() error {
	for field, v := range map[string]string{"process": r.Process, "code": r.Code} {
		if err := present(field, v); err != nil {
			return err
		}
	}
	if err := checkDensities("densities", r.Densities); err != nil {
		return err
	}
	if r.StoredC != nil && !finite(*r.StoredC, -300, 100) {
		return fmt.Errorf("stored_c must be -300 to 100; got %g", *r.StoredC)
	}
	return checkDensities("corrections", r.Corrections)
}

func (l StripLimit) check() error {
	switch {
	case l.Process == "" || l.Plot == "":
		return fmt.Errorf("process and plot must be there")
	case !finite(l.Action, 0, MaxDensity) || !finite(l.Control, 0, MaxDensity) || l.Control < l.Action:
		return fmt.Errorf("%s: action and control must be 0 to %d, control no less than action; got %g and %g", l.Plot, MaxDensity, l.Action, l.Control)
	}
	if err := present("reason", l.Reason); err != nil {
		return err
	}
	if l.Side == "" {
		return nil
	}
	return oneOfThese("side", l.Side, []string{"both", "high", "low"})
}

func finite(v, low, high float64) bool { return !math.IsNaN(v) && v >= low && v <= high }
