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
func seenCauses(r lab.Report, sp specs) []lab.SeenCauses {
	t, out := theTable(), []lab.SeenCauses{}
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

// weighed is a cause with how well it fits.
type weighed struct {
	lab.Cause
	weight int
}

// How well a cause fits: what the run shows, what wetside does not measure,
// and what the run hints at or speaks against in part.
const (
	fitsNot      = iota // what was measured rules it out
	fitsUnlikely        // not measured, and something speaks against it
	fitsOpen            // not measured
	fitsHint            // a figure points that way, within the limits
	fitsReason          // a reason of the verdict
)

func (t *table) causes(row symptomRow, s lab.Symptom, r lab.Report, sp specs) lab.SeenCauses {
	out := lab.SeenCauses{Seen: row.Seen, Label: row.Label, Rolls: s.Rolls, All: s.All, Causes: []lab.Cause{}}
	fam := family(r.Run.Process)
	var list []weighed
	for _, c := range row.Causes {
		if !holds(c.Families, fam) && fam != "" || !c.inProcess(r.Run, sp) {
			continue
		}
		w := c.weigh(r, sp)
		if w.weight == fitsNot {
			continue
		}
		c.reach(&w, s, r.Run.Rolls)
		w.Text = capital(c.Text) + "."
		w.Source, w.Provenance = t.source(c.Source, c.Memory, fam)
		list = append(list, w)
	}
	slices.SortStableFunc(list, func(a, b weighed) int { return cmp.Compare(b.weight, a.weight) })
	for _, w := range list {
		out.Causes = append(out.Causes, w.Cause)
	}
	return out
}

// inProcess tells whether the process has one of the steps that the cause is
// about.
func (c causeRow) inProcess(run lab.Run, sp specs) bool {
	if len(c.Steps) == 0 || sp.sheet == nil {
		return true
	}
	for i := range sp.sheet.Steps {
		if fits(c.Steps, sp.sheet.Steps[i].ID) {
			return true
		}
	}
	return false
}

// weigh holds a cause against the run.
func (c causeRow) weigh(r lab.Report, sp specs) weighed {
	w := weighed{weight: fitsOpen}
	w.Tell = c.tell()
	if c.Camera {
		return w
	}
	if x, ok := c.reason(r.Run.Reasons); ok {
		w.weight, w.Step, w.Evidence = fitsReason, x.Step, x.Text
		return c.direction(w, r, sp)
	}
	switch c.Way {
	case wayMore, wayLess, wayOff:
		return c.direction(w, r, sp)
	case wayReasons:
		w.weight = fitsNot
		if step, missing := c.unheard(r, sp); missing {
			w.weight, w.Step, w.Against = fitsUnlikely, step, "Not all data of it was received; what was received stayed within the sheet."
		}
		return w
	case wayJump:
		return c.jump(w, r)
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
		if slices.Contains(c.Reasons, x.Code) && (x.Step == "" || fits(c.Steps, x.Step)) {
			return x, true
		}
	}
	return lab.Reason{}, false
}

// unheard tells whether one of the cause's steps was not heard whole.
func (c causeRow) unheard(r lab.Report, sp specs) (string, bool) {
	for _, s := range r.Run.Steps {
		if fits(c.Steps, s.Step) && s.TimeS == nil {
			return s.Step, true
		}
	}
	for _, x := range r.Run.Reasons {
		if x.Code == "missing-evidence" && (x.Step == "" || fits(c.Steps, x.Step)) {
			return x.Step, true
		}
	}
	return "", false
}

// hintStops is the push error from which a figure within the limits still
// points somewhere: about what a probe not yet checked is worth, doubled.
const hintStops = 0.1

// direction holds a cause that is about too much or too little development
// against the push errors of its steps.
func (c causeRow) direction(w weighed, r lab.Report, sp specs) weighed {
	if c.Way == wayReasons || c.Way == "" {
		return w
	}
	far, step, known := 0.0, "", false
	for _, s := range r.Run.Steps {
		if !fits(c.Steps, s.Step) {
			continue
		}
		if v, ok := departure(s, sp.of(s.Step)); ok && (!known || math.Abs(v) > math.Abs(far)) {
			far, step, known = v, s.Step, true
		}
	}
	if !known {
		if w.weight != fitsReason {
			w.weight, w.Against = fitsUnlikely, "Not all data of the developer was received."
		}
		return w
	}
	right := c.Way == wayOff && math.Abs(far) >= hintStops || c.Way == wayMore && far >= hintStops || c.Way == wayLess && far <= -hintStops
	wrong := c.Way == wayMore && far <= -hintStops || c.Way == wayLess && far >= hintStops
	said := fmt.Sprintf("%s: %s.", capital(stepLabel(sp, step)), departureText(r.Run, step, far))
	switch {
	case w.weight == fitsReason && wrong:
		w.Against, w.weight = "The other way: "+said, fitsUnlikely
	case w.weight == fitsReason && !right:
		w.Against = "But little in sum. " + said
		w.weight = fitsHint
	case w.weight == fitsReason:
		if !strings.Contains(w.Evidence, "push error") {
			w.Evidence = join(w.Evidence, said)
		}
	case right:
		w.weight, w.Step, w.Evidence = fitsHint, step, said+" Within the sheet's edges, but that way."
	default:
		w.weight = fitsNot
	}
	return w
}

// departure is how far a developer was off, in stops; one that does not push
// counts by its equivalent over the sheet's time, a third a stop.
func departure(s lab.RunStep, sp *process.Step) (float64, bool) {
	if s.PushErrorStops != nil {
		return *s.PushErrorStops, true
	}
	if sp != nil && s.EquivalentS != nil && s.SheetS != nil && *s.SheetS > 0 {
		return 3 * (*s.EquivalentS / *s.SheetS - 1), true
	}
	return 0, false
}

func departureText(run lab.Run, step string, far float64) string {
	for _, s := range run.Steps {
		if s.Step == step && s.PushErrorStops == nil && s.EquivalentS != nil && s.SheetS != nil {
			return fmt.Sprintf("developed %+.0f %% against the sheet", 100*(*s.EquivalentS / *s.SheetS - 1))
		}
	}
	return fmt.Sprintf("push error %+.2f stop", far)
}

// Jumps of temperature from bath to bath, °C: over 5 °F reticulates.
const jumpC = 2.8

// jump looks for jumps of temperature from one bath to the next.
func (c causeRow) jump(w weighed, r lab.Report) weighed {
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
		w.weight = fitsNot
		return w
	}
	w.weight, w.Step = fitsHint, to
	w.Evidence = fmt.Sprintf("Up to %.1f °C from %s to %s; over %.1f °C is known to do it.", most, from, to, jumpC)
	return w
}

// reach counts in on which rolls the fault was seen: a process fault reaches
// every roll of the run and the control strip, a fault of the camera does not.
func (c causeRow) reach(w *weighed, s lab.Symptom, rolls []lab.Roll) {
	seen, all := len(s.Rolls), len(rolls)
	if all < 2 || c.Text == "" || !s.RollsSaid() {
		return // on which rolls was not said: neither all nor some is taken for granted
	}
	some := !s.All && seen < all
	switch {
	case some && c.Camera:
		w.Evidence = fmt.Sprintf("Seen on %d of %d rolls; a process fault reaches every roll.", seen, all)
		w.weight = fitsHint
	case some && w.weight < fitsReason:
		w.Against = join(w.Against, fmt.Sprintf("Seen on %d of %d rolls only; a process fault reaches every roll.", seen, all))
		w.weight = fitsUnlikely
	case some:
		w.Against = join(w.Against, fmt.Sprintf("Seen on %d of %d rolls only.", seen, all))
	case c.Camera:
		w.Against = join(w.Against, fmt.Sprintf("Seen on all %d rolls; a fault of one camera reaches its own roll only.", all))
		w.weight = fitsUnlikely
	case w.weight >= fitsHint:
		w.Evidence = join(w.Evidence, fmt.Sprintf("Seen on all %d rolls.", all))
	}
}

func join(a, b string) string { return strings.TrimSpace(a + " " + b) }
