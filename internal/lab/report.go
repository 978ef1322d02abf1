package lab

// Report is what happened to the film in one run, for people: the judged run
// with what it was judged by, what to look for on the film, how it compares
// with the good runs, and what is needed to draw it. It can be made again
// from the run's record alone.
type Report struct {
	Run      Run           `json:"run"`
	UnitName string        `json:"unit_name"`
	JudgedBy JudgedBy      `json:"judged_by"`
	Look     []LookFor     `json:"look_for"` // in the order of the reasons
	Seen     []SeenCauses  `json:"seen"`     // faults that people saw on the film
	Compared *Comparison   `json:"compared"` // null: too few good runs
	Timeline Timeline      `json:"timeline"`
	Entries  []Entry       `json:"entries"` // what people stated, oldest first
	Alerts   []ReportAlert `json:"alerts"`
	Notes    []string      `json:"notes"` // what the figures mean and what they do not
	MadeBy   string        `json:"made_by"`
}

// JudgedBy says by which figures a run was judged.
type JudgedBy struct {
	Sheet          string           `json:"sheet"`
	SheetName      string           `json:"sheet_name"`
	Sources        []string         `json:"sources"`          // of its figures, each with how far it goes
	Figures        []SheetFigure    `json:"figures"`          // of the sheet, each with how far its source goes
	HangsOn        []SheetFigure    `json:"hangs_on"`         // the unconfirmed ones that the verdict hangs on
	InspectStops   *float64         `json:"inspect_stops"`    // push error from which film is looked at; null: the sheet has none
	OutStops       *float64         `json:"out_stops"`        // push error from which the run is out of control
	ProbeOffsetC   float64          `json:"probe_offset_c"`   // added to what the probe said
	ProbeWithinC   float64          `json:"probe_within_c"`   // what the probe is worth
	ProbeCheckedAt *Time            `json:"probe_checked_at"` // null: never
	ProbeClass     string           `json:"probe_class"`      // by IEC 60751: A or B; "": its kind is not known
	HouseAims      []HouseAim       `json:"house_aims,omitempty"`
	Developer      *DeveloperChoice `json:"developer,omitempty"`
}

// SheetFigure is a figure of the sheet that a run was judged by.
type SheetFigure struct {
	Step     string `json:"step"` // "": of the whole sheet
	Figure   string `json:"figure"`
	Value    string `json:"value"`          // as people write it
	Standing string `json:"standing"`       // published, quoted elsewhere, unconfirmed or the lab's own
	Note     string `json:"note,omitempty"` // of limits that the lab widened: that they are its own, the published ones, and why
}

// LookFor names what a reason does to film and what can still be done.
type LookFor struct {
	Code   string `json:"code"` // of the reason
	Step   string `json:"step,omitempty"`
	Look   string `json:"look"`   // what to look for
	Remedy string `json:"remedy"` // what can still be done; "" where nothing can
	Source string `json:"source"`
	// Standing is how far the source goes: published, quoted elsewhere or
	// unconfirmed.
	Standing string `json:"standing"`
}

// SeenCauses is a fault that was seen on the film with the causes that fit
// both it and the evidence of the run, most likely first.
type SeenCauses struct {
	Seen   string   `json:"seen"`
	Label  string   `json:"label"`
	Rolls  []string `json:"rolls,omitempty"` // that show it; none and not All: on which was not said
	All    bool     `json:"all,omitempty"`
	Causes []Cause  `json:"causes"`
}

// Cause is one cause that fits a fault.
type Cause struct {
	Text     string `json:"text"`
	Step     string `json:"step,omitempty"`
	Evidence string `json:"evidence"` // what in this run speaks for it; "" where nothing does
	Against  string `json:"against"`  // what speaks against it
	Tell     string `json:"tell"`     // how to tell it; "" where the figures do
	Source   string `json:"source"`
	Standing string `json:"standing"` // how far the source goes
}

// Comparison sets a run beside the good runs of its process, push and unit.
type Comparison struct {
	Runs     int       `json:"runs"` // good runs compared with
	From     Time      `json:"from"`
	To       Time      `json:"to"`
	Findings []Finding `json:"findings"` // what stands out, farthest first
}

// Finding is a figure of a step that stands out from the good runs.
type Finding struct {
	Step    string  `json:"step"`
	Feature string  `json:"feature"`
	Unit    string  `json:"unit"` // of the figure: s, °C, stop
	Value   float64 `json:"value"`
	Median  float64 `json:"median"`
	Z       float64 `json:"z"` // 0.6745 (x - median) / MAD
	Text    string  `json:"text"`
}

// Timeline is the drawing of a run: planned and happened, by time.
type Timeline struct {
	From     Time           `json:"from"`
	To       Time           `json:"to"`
	Steps    []TimelineStep `json:"steps"`
	Bath     []CurvePoint   `json:"bath"` // thinned out for drawing; the extremes stay
	Outages  []Span         `json:"outages"`
	Unheard  []Span         `json:"unheard"`  // no reading where one was wanted
	Still    []Span         `json:"still"`    // the tank did not turn
	ByHand   []Span         `json:"by_hand"`  // turned by hand
	Envelope []BandPoint    `json:"envelope"` // bath of the good runs at the same place of each step
}

// TimelineStep is one step as planned and as it was.
type TimelineStep struct {
	N         int      `json:"n"`
	Step      string   `json:"step"`
	Label     string   `json:"label"`
	Kind      string   `json:"kind"`
	PlannedS  *float64 `json:"planned_s"`
	StartedAt *Time    `json:"started_at"`
	EndedAt   *Time    `json:"ended_at"`
	LowC      *float64 `json:"low_c"`
	HighC     *float64 `json:"high_c"`
}

// CurvePoint is one reading. A null C breaks the line.
type CurvePoint struct {
	At Time     `json:"at"`
	C  *float64 `json:"c"`
}

// BandPoint is one place of an envelope.
type BandPoint struct {
	At   Time    `json:"at"`
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// Span is a stretch of time with a word on it.
type Span struct {
	From  Time   `json:"from"`
	To    Time   `json:"to"`
	Label string `json:"label"`
}

// ReportAlert is an alert as the report lists it.
type ReportAlert struct {
	ID       string   `json:"id"`
	Rule     string   `json:"rule"`
	Step     string   `json:"step,omitempty"`
	Priority Priority `json:"priority"`
	RaisedAt Time     `json:"raised_at"`
	Message  string   `json:"message"`
}
