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
	Mixes    []StepMix     `json:"mixes,omitempty"` // which mix each step used; none: no bottle was ever scanned there
	Entries  []Entry       `json:"entries"`         // what people stated, oldest first
	Alerts   []ReportAlert `json:"alerts"`
	Notes    []string      `json:"notes"` // what the figures mean and what they do not
	MadeBy   string        `json:"made_by"`
}

// JudgedBy says by which figures a run was judged.
type JudgedBy struct {
	Sheet          string           `json:"sheet" doc:"The id of the process sheet."`
	SheetName      string           `json:"sheet_name"`
	Sources        []string         `json:"sources" doc:"Where its figures come from, each with how far that goes."`
	Figures        []SheetFigure    `json:"figures" doc:"The figures of the sheet, each with how far its source goes; none in a record from before they were kept."`
	HangsOn        []SheetFigure    `json:"hangs_on" doc:"The unconfirmed figures that the verdict hangs on."`
	InspectStops   *float64         `json:"inspect_stops" doc:"The push error from which on the film is to be looked at, stops."`
	OutStops       *float64         `json:"out_stops" doc:"The push error from which on it is out of control, stops."`
	ProbeOffsetC   float64          `json:"probe_offset_c" doc:"Added to what the probe said, degrees Celsius."`
	ProbeWithinC   float64          `json:"probe_within_c" doc:"How far the probe can be off, degrees Celsius."`
	ProbeCheckedAt *Time            `json:"probe_checked_at" doc:"When it was checked; null: never."`
	ProbeClass     string           `json:"probe_class" doc:"The probe's class by IEC 60751; empty: its kind is not known, B is assumed."`
	HouseAims      []HouseAim       `json:"house_aims,omitempty"`
	Developer      *DeveloperChoice `json:"developer,omitempty"`
}

// SheetFigure is a figure of the sheet that a run was judged by.
type SheetFigure struct {
	Step       string `json:"step"` // "": of the whole sheet
	Figure     string `json:"figure"`
	Value      string `json:"value"`    // as people write it
	Provenance string `json:"standing"` // published, quoted elsewhere, unconfirmed or the lab's own
	Note       string `json:"note,omitempty" doc:"Of limits that the lab widened: that they are its own, what is published, and why."`
}

// LookFor names what a reason does to film and what can still be done.
type LookFor struct {
	Code   string `json:"code"` // of the reason
	Step   string `json:"step,omitempty"`
	Look   string `json:"look"`   // what to look for
	Remedy string `json:"remedy"` // what can still be done; "" where nothing can
	Source string `json:"source"`
	// Provenance is how far the source goes: published, quoted elsewhere or
	// unconfirmed.
	Provenance string `json:"standing"`
}

// SeenCauses is a fault that was seen on the film with the causes that fit
// both it and the evidence of the run, most likely first.
type SeenCauses struct {
	Seen   string   `json:"seen"`
	Label  string   `json:"label"`
	Rolls  []string `json:"rolls,omitempty" doc:"Twin checks of the rolls that show it; none, and not all: on which was not said."`
	All    bool     `json:"all,omitempty" doc:"Every roll shows it."`
	Causes []Cause  `json:"causes"`
}

// Cause is one cause that fits a fault.
type Cause struct {
	Text       string `json:"text"`
	Step       string `json:"step,omitempty"`
	Evidence   string `json:"evidence"` // what in this run speaks for it; "" where nothing does
	Against    string `json:"against"`  // what speaks against it
	Tell       string `json:"tell"`     // how to tell it; "" where the figures do
	Source     string `json:"source"`
	Provenance string `json:"standing"` // how far the source goes
}

// Comparison sets a run beside the good runs of its process, push and unit.
type Comparison struct {
	Runs     int       `json:"runs" doc:"How many good runs."`
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
	Z       float64 `json:"z" doc:"How far it stands out: 0.6745 (x - median) / MAD."`
	Text    string  `json:"text"`
}

// Timeline is the drawing of a run: planned and happened, by time.
type Timeline struct {
	From     Time           `json:"from"`
	To       Time           `json:"to"`
	Steps    []TimelineStep `json:"steps" doc:"The steps."`
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
	Kind      string   `json:"kind" enum:"dev,exact,min," doc:"How its time counts; empty where there is no sheet."`
	PlannedS  *float64 `json:"planned_s" doc:"How long it was to be, seconds."`
	StartedAt *Time    `json:"started_at"`
	EndedAt   *Time    `json:"ended_at"`
	LowC      *float64 `json:"low_c" doc:"Lower limit, degrees Celsius."`
	HighC     *float64 `json:"high_c" doc:"Upper limit, degrees Celsius."`
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
	Priority Priority `json:"priority" enum:"urgent,high,low"`
	RaisedAt Time     `json:"raised_at"`
	Message  string   `json:"message"`
}
