package strips

import (
	"cmp"
	"fmt"
	"time"

	"wetside/internal/lab"
)

// The states of a gate.
const (
	GateIn    = "in"    // the last strip was in
	GateWatch = "watch" // beyond an action limit, or one strip beyond a control limit: work may run, find the cause
	GateStop  = "stop"  // no customers' film
	GateNone  = "none"  // no strips are asked for here, and none was read
)

// What a gate asks for.
const (
	NeedsStrip  = "strip"        // none was read today
	NeedsSecond = "second-strip" // one is beyond a control limit: two seldom give the same false information
)

// Gate tells whether customers' film may go into a unit's chemistry.
type Gate struct {
	Gate     string    `json:"gate" enum:"in,watch,stop,none" doc:"in: the last strip was in. watch: film may run, find the cause. stop: no customers' film. none: no strips are asked for, and none was read."`
	Reasons  []string  `json:"reasons" doc:"Why, and what to do."`
	LastInAt *lab.Time `json:"last_in_at" doc:"When the last strip was read that was in; null: none yet."`
	OutSince *lab.Time `json:"out_since,omitempty" doc:"When the first of the strips was read that are out now; absent where none is."`
	Needs    string    `json:"needs,omitempty" doc:"What to run now: strip (none was read today) or second-strip (one is beyond a control limit); absent where nothing is asked for."`
	Opened   *Opening  `json:"opened,omitempty" doc:"A lead opened it in spite of the strips."`
}

// Opening is who opened a gate, when and why.
type Opening struct {
	By     string   `json:"by"`
	At     lab.Time `json:"at" doc:"When."`
	Reason string   `json:"reason" doc:"Why."`
}

// nightShift is how long a strip counts as today's past midnight: a night shift
// reads its strip in the evening.
const nightShift = 12 * time.Hour

// GateOf works a gate out of the strips of one unit, process and mix, oldest
// first. asked tells whether the lab asks for a strip each day; now is in the
// lab's zone, by which a day begins.
//
// One strip beyond a control limit puts the gate on watch and asks for a
// second; a second one right after it stops (published practice: two strips
// seldom give the same false information).
func GateOf(reads []Reading, opened *Opening, asked bool, now time.Time) Gate {
	g := Gate{Gate: GateNone, Reasons: []string{}}
	var judged []Reading
	for _, r := range reads {
		if r.Status == lab.StripIn {
			g.LastInAt = &r.At
		}
		if r.Status != lab.StripUnjudged {
			judged = append(judged, r)
		}
	}
	switch {
	case len(judged) > 0:
		g.byLast(judged)
	case len(reads) > 0:
		g.Gate = GateWatch
	}
	if len(reads) > 0 && reads[len(reads)-1].Status == lab.StripUnjudged {
		if g.Gate == GateIn {
			g.Gate = GateWatch
		}
		g.Reasons = append(g.Reasons, "The last strip could not be judged: it has no aims or no limits yet.")
	}
	if asked && !readToday(reads, now) {
		g.Gate, g.Needs = GateStop, cmp.Or(g.Needs, NeedsStrip)
		g.Reasons = append(g.Reasons, "No control strip was read today: run one and read it before customers' film.")
	}
	if opened != nil && (len(reads) == 0 || opened.At.After(reads[len(reads)-1].At.Time)) && (g.Gate == GateStop || g.Gate == GateWatch) {
		g.Opened, g.Gate, g.Needs = opened, GateWatch, ""
		g.Reasons = append(g.Reasons, fmt.Sprintf("Opened by %s: %s", opened.By, opened.Reason))
	}
	return g
}

// byLast sets the gate by the last strip that could be judged, and, where that
// one is out, by those before it. Strips that could not be judged count neither
// for nor against.
func (g *Gate) byLast(reads []Reading) {
	last := reads[len(reads)-1]
	out := outInARow(reads)
	if out > 0 {
		g.OutSince = &reads[len(reads)-out].At
	}
	switch {
	case out > 1:
		g.Gate = GateStop
		g.Reasons = append(g.Reasons, fmt.Sprintf("%d strips in a row are beyond a control limit: %s. No customers' film until one is in.", out, last.Beyond()))
	case out == 1:
		g.Gate, g.Needs = GateWatch, NeedsSecond
		g.Reasons = append(g.Reasons, fmt.Sprintf("The last strip is beyond a control limit: %s. Run a second strip now.", last.Beyond()))
	case last.Status == lab.StripAction:
		g.Gate = GateWatch
		g.Reasons = append(g.Reasons, fmt.Sprintf("The last strip is beyond an action limit: %s. Film may run; find the cause.", last.Beyond()))
	default:
		g.Gate = GateIn
	}
}

// outInARow is how many strips at the end are beyond a control limit.
func outInARow(reads []Reading) int {
	n := 0
	for n < len(reads) && reads[len(reads)-1-n].Status == lab.StripOut {
		n++
	}
	return n
}

// readToday tells whether a strip was read on this day of the lab, or late
// enough yesterday by a night shift.
func readToday(reads []Reading, now time.Time) bool {
	if len(reads) == 0 {
		return false
	}
	at := reads[len(reads)-1].At.In(now.Location())
	return now.Sub(at) < nightShift || at.Format(time.DateOnly) == now.Format(time.DateOnly)
}
