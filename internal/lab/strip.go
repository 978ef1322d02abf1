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
	R *float64 `json:"r,omitempty"`
	G *float64 `json:"g,omitempty"`
	B *float64 `json:"b,omitempty"`
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
	Standing  string         `json:"standing,omitempty"` // of the worst plot
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
	Plot      string   `json:"plot"`  // such as ld.r
	Label     string   `json:"label"` // such as LD red
	Value     float64  `json:"value"`
	Aim       *float64 `json:"aim"`
	Deviation *float64 `json:"deviation"`
	Action    *float64 `json:"action"`  // half width; null: no such limit
	Control   *float64 `json:"control"` // half width; null: no such limit
	Side      string   `json:"side"`    // both, high or low
	Standing  string   `json:"standing"`
	Limits    string   `json:"limits"`             // published, own, provisional or none: whose the limits are
	AimFrom   string   `json:"aim_from,omitempty"` // reference, own or first-strips: whose the aim is; "" without one
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
	for _, standing := range []string{StripOut, StripAction} {
		for _, p := range s.Plots {
			if p.Standing != standing || p.Deviation == nil {
				continue
			}
			width := p.Control
			if standing == StripAction {
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
	Gate     string `json:"gate"`            // in, watch or stop
	Text     string `json:"text,omitempty"`  // the first reason
	Needs    string `json:"needs,omitempty"` // strip or second-strip: what to run now
	Since    *Time  `json:"since,omitempty"` // of the first of the strips that are out now
	LastInAt *Time  `json:"last_in_at"`
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
	// Asked are the processes for which a strip must be in each day before
	// customers' film. Defaults to none.
	Asked []string `json:"asked,omitempty"`
	// References are the boxes of strips, by code number.
	References []StripReference `json:"references,omitempty"`
	// Limits are the lab's own, in place of those that are published.
	Limits []StripLimit `json:"limits,omitempty"`
	// Aims are those that the lab took over from its own strips.
	Aims []StripAim `json:"aims,omitempty"`
}

// StripReference is one box of strips: the densities of its reference strip as
// the lab's densitometer reads them, and the correction factors printed with
// the box. Their sums are the aims.
type StripReference struct {
	Process     string         `json:"process"`
	Code        string         `json:"code"`
	Densities   map[string]RGB `json:"densities"`
	Corrections map[string]RGB `json:"corrections,omitempty"`
	Box         string         `json:"box,omitempty"` // its batch number
	StoredC     *float64       `json:"stored_c,omitempty"`
	OpenedAt    *Time          `json:"opened_at,omitempty"`
	UsedUpAt    *Time          `json:"used_up_at,omitempty"`
}

// StripLimit is a lab's own limit of one plot.
type StripLimit struct {
	Process string  `json:"process"`
	Unit    string  `json:"unit,omitempty"` // "": of all
	Plot    string  `json:"plot"`
	Action  float64 `json:"action"`
	Control float64 `json:"control"`
	Side    string  `json:"side,omitempty"` // both (the default), high or low
	Reason  string  `json:"reason"`         // why it is not the published one
}

// StripAim is an aim with its spread that a lead took over from the lab's own
// strips.
type StripAim struct {
	Process string  `json:"process"`
	Unit    string  `json:"unit"`
	Mix     string  `json:"mix,omitempty"`
	Plot    string  `json:"plot"`
	Aim     float64 `json:"aim"`
	Sigma   float64 `json:"sigma"`
	Strips  int     `json:"strips"` // how many it comes from
	By      string  `json:"by,omitempty"`
	At      *Time   `json:"at,omitempty"`
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
