package lab

// AlertFigures says how the alerting of a lab did over a period, beside the
// numbers of alarm practice.
type AlertFigures struct {
	From     Time    `json:"from"`
	To       Time    `json:"to"`
	Alerts   int     `json:"alerts"`   // occurrences raised
	Pages    int     `json:"pages"`    // messages that reached somebody, all people together
	Found    int     `json:"found"`    // over before anybody could know: not paged
	Measures []Gauge `json:"measures"` // each beside what is acceptable
	// Spread is how the alerts divide over the priorities.
	Spread []Share `json:"spread"`
	// Rules are the rules, those that page most first: they want to be mended
	// first.
	Rules  []RuleFigures   `json:"rules"`
	People []PersonFigures `json:"people"`
}

// Gauge is one figure with what is acceptable.
type Gauge struct {
	Code    string   `json:"code"`
	Label   string   `json:"label"`
	Value   *float64 `json:"value"` // null: nothing to measure
	Unit    string   `json:"unit"`
	Limit   *float64 `json:"limit" doc:"Acceptable up to here, or from here on where at_least is true; null: a figure without a limit."`
	AtLeast bool     `json:"at_least"`
	Ok      *bool    `json:"ok"`
	Source  string   `json:"source"`
	// Provenance is how far the source of the limit goes: published, quoted
	// elsewhere or unconfirmed; "" where there is no limit.
	Provenance string `json:"standing"`
}

// Share is the part of one priority.
type Share struct {
	Priority   Priority `json:"priority" enum:"urgent,high,low"`
	Alerts     int      `json:"alerts"`
	Part       float64  `json:"part" doc:"0 to 1."`
	Usual      float64  `json:"usual" doc:"What the guides on alarms give, 0 to 1."`
	Provenance string   `json:"standing"` // how far the source of Usual goes
}

// RuleFigures is how one rule did.
type RuleFigures struct {
	Rule       string   `json:"rule"`
	Alerts     int      `json:"alerts"`
	Pages      int      `json:"pages"`
	InTime     int      `json:"in_time" doc:"Acknowledged within the time to respond."`
	Late       int      `json:"late" doc:"Acknowledged later than that."`
	Never      int      `json:"never" doc:"Over, and never acknowledged."`
	MedianAckS *float64 `json:"median_ack_s" doc:"The middle of the times from noticing to acknowledgement, seconds."`
	Chattering int      `json:"chattering"`
	Withdrawn  int      `json:"withdrawn"`
}

// PersonFigures is how much one person was called.
type PersonFigures struct {
	Person    string  `json:"person"`
	Pages     int     `json:"pages"`
	PerHour   float64 `json:"per_hour"` // over the whole period
	Peak10Min int     `json:"peak_10_min"`
	WorstHour int     `json:"worst_hour"`
}

// SentPage is one message that reached a person, for counting.
type SentPage struct {
	Person string
	At     Time
	Rules  []string // of the alerts it told of
	Test   bool
}

// FiguresSeenKey is the name of the setting that says which changes of the
// program's own figures this lab has been told of, as JSON.
const FiguresSeenKey = "figures-seen"

// FiguresSeen is the last lot of changes that a lead said was read.
type FiguresSeen struct {
	Lot int    `json:"lot"`
	By  string `json:"by"`
	At  Time   `json:"at"`
}
