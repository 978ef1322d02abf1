package report

import (
	"cmp"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// seenCauses works out, for each fault that people saw on the film, which
// causes fit both it and the evidence of the run, most likely first.
func seenCauses(r lab.Report, sp sheetSteps) []lab.SeenCauses {
	t, out := builtinTable(), []lab.SeenCauses{}
	for _, e := range r.Entries {
		var s lab.Symptom
		if e.What != lab.EntrySymptom || json.Unmarshal(e.Body, &s) != nil {
			continue
		}
		row, ok := t.symptom(s.Seen)
		if !ok {
			out = append(out, lab.SeenCauses{Seen: s.Seen, Label: "not in the table: " + s.Seen, Rolls: s.Rolls, All: s.All, Causes: []lab.Cause{}})
			continue
		}
		out = append(out, t.causes(row, s, r, sp))
	}
	return out
}

// weighedCause is a cause with how well it fits.
type weighedCause struct {
	lab.Cause
	weight int
}

// How well a cause fits: what the run shows, what wetside does not measure,
// and what the run hints at or speaks against in part.
const (
	ruledOut    = iota // what was measured rules it out
	unlikely           // not measured, and something speaks against it
	notMeasured        // not measured
	hinted             // a figure points that way, within the limits
	aReason            // a reason of the verdict
)

func (t *symptomTable) causes(row symptomRow, s lab.Symptom, r lab.Report, sp sheetSteps) lab.SeenCauses {
	out := lab.SeenCauses{Seen: row.Seen, Label: row.Label, Rolls: s.Rolls, All: s.All, Causes: []lab.Cause{}}
	fam := family(r.Run.Process)
	var list []weighedCause
	for _, c := range row.Causes {
		if !holdsForFamily(c.Families, fam) && fam != "" || !c.inProcess(r.Run, sp) {
			continue
		}
		w := c.weigh(r, sp)
		if w.weight == ruledOut {
			continue
		}
		c.countRolls(&w, s, r.Run.Rolls)
		w.Text = capital(c.Text) + "."
		w.Source, w.Provenance = t.source(c.Source, c.Memory, fam)
		list = append(list, w)
	}
	slices.SortStableFunc(list, func(a, b weighedCause) int { return cmp.Compare(b.weight, a.weight) })
	for _, w := range list {
		out.Causes = append(out.Causes, w.Cause)
	}
	return out
}

// inProcess tells whether the process has one of the steps that the cause is
// about.
func (c causeRow) inProcess(run lab.Run, sp sheetSteps) bool {
	if len(c.Steps) == 0 || sp.sheet == nil {
		return true
	}
	for i := range sp.sheet.Steps {
		if stepMatches(c.Steps, sp.sheet.Steps[i].ID) {
			return true
		}
	}
	return false
}

// weigh holds a cause against the run.
func (c causeRow) weigh(r lab.Report, sp sheetSteps) weighedCause {
	w := weighedCause{weight: notMeasured}
	w.Tell = c.tell()
	if c.Camera {
		return w
	}
	if x, ok := c.reason(r.Run.Reasons); ok {
		w.weight, w.Step, w.Evidence = aReason, x.Step, x.Text
		return c.weighDevelopment(w, r, sp)
	}
	switch c.Way {
	case wayMore, wayLess, wayOff:
		return c.weighDevelopment(w, r, sp)
	case wayReasons:
		w.weight = ruledOut
		if step, missing := c.notReceived(r, sp); missing {
			w.weight, w.Step, w.Against = unlikely, step, "Not all data of it was received; what was received stayed within the sheet."
		}
		return w
	case wayJump:
		return c.weighJump(w, r)
	}
	return w
}

func (c causeRow) tell() string {
	if c.Tell == "" {
		return ""
	}
	return capital(c.Tell) + "."
}

// reason finds the first reason of the verdict that the cause names.
func (c causeRow) reason(reasons []lab.Reason) (lab.Reason, bool) {
	for _, x := range reasons {
		if slices.Contains(c.Reasons, x.Code) && (x.Step == "" || stepMatches(c.Steps, x.Step)) {
			return x, true
		}
	}
	return lab.Reason{}, false
}

// notReceived tells whether data is missing from one of the cause's steps.
func (c causeRow) notReceived(r lab.Report, sp sheetSteps) (string, bool) {
	for _, s := range r.Run.Steps {
		if stepMatches(c.Steps, s.Step) && s.TimeS == nil {
			return s.Step, true
		}
	}
	for _, x := range r.Run.Reasons {
		if x.Code == "missing-evidence" && (x.Step == "" || stepMatches(c.Steps, x.Step)) {
			return x.Step, true
		}
	}
	return "", false
}

// hintStops is the push error from which a figure within the limits still
// points to a cause: about twice what an unchecked probe can make of it.
const hintStops = 0.1

// weighDevelopment holds a cause that is about too much or too little development
// against the push errors of its steps.
func (c causeRow) weighDevelopment(w weighedCause, r lab.Report, sp sheetSteps) weighedCause {
	if c.Way == wayReasons || c.Way == "" {
		return w
	}
	far, step, known := 0.0, "", false
	for _, s := range r.Run.Steps {
		if !stepMatches(c.Steps, s.Step) {
			continue
		}
		if v, ok := developmentError(s, sp.of(s.Step)); ok && (!known || math.Abs(v) > math.Abs(far)) {
			far, step, known = v, s.Step, true
		}
	}
	if !known {
		if w.weight != aReason {
			w.weight, w.Against = unlikely, "Not all data of the developer was received."
		}
		return w
	}
	right := c.Way == wayOff && math.Abs(far) >= hintStops || c.Way == wayMore && far >= hintStops || c.Way == wayLess && far <= -hintStops
	wrong := c.Way == wayMore && far <= -hintStops || c.Way == wayLess && far >= hintStops
	said := fmt.Sprintf("%s: %s.", capital(stepLabel(sp, step)), developmentErrorText(r.Run, step, far))
	switch {
	case w.weight == aReason && wrong:
		w.Against, w.weight = "The other way: "+said, unlikely
	case w.weight == aReason && !right:
		w.Against = "But little in sum. " + said
		w.weight = hinted
	case w.weight == aReason:
		if !strings.Contains(w.Evidence, "push error") {
			w.Evidence = joinSentences(w.Evidence, said)
		}
	case right:
		w.weight, w.Step, w.Evidence = hinted, step, said+" Within the sheet's edges, but that way."
	default:
		w.weight = ruledOut
	}
	return w
}

// developmentError is how far a developer was off, in stops; one that does not push
// counts by its equivalent over the sheet's time, a third a stop.
func developmentError(s lab.RunStep, sp *process.Step) (float64, bool) {
	if s.PushErrorStops != nil {
		return *s.PushErrorStops, true
	}
	if sp != nil && s.EquivalentS != nil && s.SheetS != nil && *s.SheetS > 0 {
		return 3 * (*s.EquivalentS / *s.SheetS - 1), true
	}
	return 0, false
}

func developmentErrorText(run lab.Run, step string, far float64) string {
	for _, s := range run.Steps {
		if s.Step == step && s.PushErrorStops == nil && s.EquivalentS != nil && s.SheetS != nil {
			return fmt.Sprintf("developed %+.0f %% against the sheet", 100*(*s.EquivalentS / *s.SheetS - 1))
		}
	}
	return fmt.Sprintf("push error %+.2f stop", far)
}

// Jumps of temperature from bath to bath, °C: over 5 °F reticulates.
const jumpC = 2.8

// weighJump looks for jumps of temperature from one bath to the next.
func (c causeRow) weighJump(w weighedCause, r lab.Report) weighedCause {
	most, from, to := 0.0, "", ""
	var last *lab.RunStep
	for i := range r.Run.Steps {
		s := &r.Run.Steps[i]
		if s.MinC == nil || s.MaxC == nil {
			continue
		}
		if last != nil {
			if d := max(*s.MaxC-*last.MinC, *last.MaxC-*s.MinC); d > most {
				most, from, to = d, last.Step, s.Step
			}
		}
		last = s
	}
	if most <= jumpC {
		w.weight = ruledOut
		return w
	}
	w.weight, w.Step = hinted, to
	w.Evidence = fmt.Sprintf("Up to %.1f °C from %s to %s; over %.1f °C is known to do it.", most, from, to, jumpC)
	return w
}

// countRolls weighs the cause by on which rolls the fault was seen: a process fault reaches
// every roll of the run and the control strip, a fault of the camera does not.
func (c causeRow) countRolls(w *weighedCause, s lab.Symptom, rolls []lab.Roll) {
	seen, all := len(s.Rolls), len(rolls)
	if all < 2 || c.Text == "" || !s.RollsSaid() {
		return // nobody said on which rolls it was seen: neither all nor some may be assumed
	}
	some := !s.All && seen < all
	switch {
	case some && c.Camera:
		w.Evidence = fmt.Sprintf("Seen on %d of %d rolls; a process fault reaches every roll.", seen, all)
		w.weight = hinted
	case some && w.weight < aReason:
		w.Against = joinSentences(w.Against, fmt.Sprintf("Seen on %d of %d rolls only; a process fault reaches every roll.", seen, all))
		w.weight = unlikely
	case some:
		w.Against = joinSentences(w.Against, fmt.Sprintf("Seen on %d of %d rolls only.", seen, all))
	case c.Camera:
		w.Against = joinSentences(w.Against, fmt.Sprintf("Seen on all %d rolls; a fault of one camera reaches its own roll only.", all))
		w.weight = unlikely
	case w.weight >= hinted:
		w.Evidence = joinSentences(w.Evidence, fmt.Sprintf("Seen on all %d rolls.", all))
	}
}

func joinSentences(a, b string) string { return strings.TrimSpace(a + " " + b) }

// Causes gives the causes of the faults that people saw on the film, for a
// report that was made before they entered them: they change nothing else of
// it. Its Entries are to hold what was entered since.
func (j Criteria) Causes(r lab.Report) []lab.SeenCauses {
	_, sp := judgedBy(r.Entries, r.Run, j.config())
	return seenCauses(r, sp)
}
