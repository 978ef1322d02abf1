package rules

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// Codes of reasons, as the contract has them.
const (
	reasonWarm       = "bath-warm"
	reasonCool       = "bath-cool"
	reasonLong       = "step-long"
	reasonShort      = "step-short"
	reasonSkipped    = "step-skipped"
	reasonRotation   = "rotation"
	reasonOutage     = "outage"
	reasonWrongTime  = "wrong-time"
	reasonWrongProcess  = "wrong-process"
	reasonChemistry  = "chemistry"
	reasonDryer      = "dryer"
	reasonNoEvidence = "missing-evidence"
	reasonSwings     = "bath-swings"
	reasonStepUnknown    = "step-unknown"
)

// causes says which reasons another one of the same step explains.
var causes = map[string][]string{
	reasonOutage:    {reasonLong, reasonShort, reasonCool, reasonRotation, reasonNoEvidence}, // and bath-warm in a room that is
	reasonWrongTime: {reasonLong, reasonShort},
	reasonWrongProcess: {reasonWrongTime},
	reasonChemistry: {reasonShort, reasonLong, reasonCool, reasonWarm}, // little liquid does not hold its temperature
}

// reason is one reason on its way to the record.
type reason struct {
	lab.Reason
	level int     // of the verdict that it alone would give
	share float64 // how much of the step's error it explains: the logarithm of a ratio
	order int     // in the run
	also  string  // a reason of the step that it explains besides
}

// verdict judges a run that has ended. It never says that film is spoiled: a
// person looks.
func (f *Unit) verdict(out *lab.Run) {
	if !f.s.Run.followed() || f.sheet() == nil {
		return
	}
	list := f.reasons(out.Outcome)
	list = slices.DeleteFunc(list, func(y reason) bool {
		return y.level == 0 && y.Code == reasonOutage && !slices.ContainsFunc(list, func(z reason) bool {
			return z.Step == y.Step && z.level > 0 && slices.Contains(causes[reasonOutage], z.Code)
		})
	})
	level := 0
	for i := range list {
		list[i].order = i
		level = max(level, list[i].level)
	}
	for _, y := range ranked(list) {
		out.Reasons = append(out.Reasons, y.Reason)
	}
	out.Verdict = new([]string{lab.InControl, lab.Inspect, lab.OutOfControl}[level])
}

// ranked puts the gravest first, among equals what explains most; and what
// another explains right behind it.
func ranked(list []reason) []reason {
	explains := func(a, b *reason) bool {
		return a.Step == b.Step && (a.also == b.Code || slices.Contains(causes[a.Code], b.Code))
	}
	for range list { // a cause is as grave as what it explains
		for i := range list {
			for j := range list {
				if a, b := &list[i], &list[j]; explains(a, b) {
					a.level = max(a.level, b.level)
				}
			}
		}
	}
	slices.SortStableFunc(list, func(a, b reason) int {
		return cmp.Or(cmp.Compare(b.level, a.level), cmp.Compare(b.share, a.share), cmp.Compare(a.order, b.order))
	})
	for i := 1; i < len(list); i++ {
		for j := range i {
			if explains(&list[i], &list[j]) {
				y := list[i]
				list = slices.Insert(slices.Delete(list, i, i+1), j, y)
				break
			}
		}
	}
	return list
}

// reasons lists all reasons in the order of the run.
func (f *Unit) reasons(outcome string) []reason {
	r := f.s.Run
	var list []reason
	add := f.adderTo(&list)
	if odd := mismatchedRolls(f.load(r, r.EndedAt), r); len(odd) > 0 {
		add(1, math.Inf(1), reasonWrongProcess, "", f.mismatchText(odd, r))
	}
	for _, id := range r.Missed {
		add(2, math.Inf(1), reasonSkipped, id, fmt.Sprintf("%s was skipped or came out of order.", capital(StepWords(id))))
	}
	list = append(list, f.earlierReasons()...)
	list = append(list, f.reasonsOfSteps(r)...)
	for i := range f.sheet().Steps {
		if sp := &f.sheet().Steps[i]; f.leftOut(i, sp) {
			add(1, 0, reasonSkipped, sp.ID, fmt.Sprintf("%s was skipped.", capital(sp.Label)))
		}
	}
	f.notReceivedReasons(add)
	if n := len(r.Unknown); n > 0 {
		add(1, 0, reasonStepUnknown, "", fmt.Sprintf("%s. Which steps the film had is not certain.", unknownWords(r.Unknown, f.sheet())))
	}
	if r.DryerHot {
		add(1, 0, reasonDryer, "", "The dryer was hotter than the sheet allows.")
	}
	switch {
	case outcome == lab.OutcomeAborted:
		f.abortedReason(add)
	case !r.Whole || outcome == lab.OutcomeLost:
		add(1, -1, reasonNoEvidence, "", "Not all data of the run was received.")
	}
	return list
}

// adderTo adds reasons to a list.
func (f *Unit) adderTo(list *[]reason) addReason {
	return func(level int, share float64, code, step, text string) {
		y := reason{Reason: lab.Reason{Code: code, Step: step, Text: text}, level: level, share: share}
		if sp, ok := f.sheet().Step(step); ok && code == reasonOutage && (f.room().Best > sp.AimC || f.filledWithout(step)) {
			y.also = reasonWarm // standing warmed it, or the heater came back to a tank half full
		}
		*list = append(*list, y)
	}
}

// reasonsOfSteps are the reasons that the run's own steps give.
func (f *Unit) reasonsOfSteps(r *run) (list []reason) {
	if f.sheet() == nil {
		return nil
	}
	for _, c := range r.Steps {
		f.stepReasons(c, f.adderTo(&list))
	}
	return list
}

// earlierReasons are the reasons that the film's earlier runs give: a rescue is
// one film over several runs.
func (f *Unit) earlierReasons() (list []reason) {
	r := f.s.Run
	if r.Took == nil {
		return nil
	}
	for _, y := range r.Took.Reasons {
		list = append(list, reason{Reason: y.Reason, level: y.Level, share: y.Share, also: y.Also})
	}
	add := f.adderTo(&list)
	for _, x := range r.cutsLeft() {
		add(1, 0, reasonShort, x.ID, fmt.Sprintf("%s lasted %s; the sheet says %s. Its run ended in it, and the next went on behind it.",
			capital(StepWords(x.ID)), lab.SpanText(x.TimeS), lab.SpanText(x.WantS)))
	}
	return list
}

// abortedReason says what an abort left undone. That it was aborted is the
// outcome; the reasons say what it did to the film.
func (f *Unit) abortedReason(add addReason) {
	const after = " No data was received of what the film got after that."
	c, sh := f.s.cur(), f.sheet()
	sp := f.spec(c)
	if sp != nil && !c.BathT.IsZero() && c.EndT.Sub(c.fromT()).Seconds() < sp.AimS && c.DrainT.IsZero() {
		add(1, 0, reasonShort, c.ID, fmt.Sprintf("The run was aborted in %s after %s.", sp.Label, lab.SpanText(c.EndT.Sub(c.fromT()).Seconds()))+after)
		return
	}
	for i := max(f.reached(), 0); i < len(sh.Steps); i++ {
		if !f.had(i) && len(f.s.Run.Unknown) == 0 {
			add(1, 0, reasonSkipped, sh.Steps[i].ID, fmt.Sprintf("The run was aborted before %s.", sh.Steps[i].Label)+after)
			return
		}
	}
	add(1, 0, reasonNoEvidence, "", "The run was aborted."+after)
}

// leftOut tells whether the film surely went past a wash without it.
func (f *Unit) leftOut(i int, sp *process.Step) bool {
	r := f.s.Run
	if !sp.Wash || sp.Optional || len(r.Unknown) > 0 || f.had(i) || !r.Whole && i < r.firstIndex() || f.mayHide(i, sp) {
		return false
	}
	return f.reached() > i || r.Outcome == lab.OutcomeDone && r.BathsEnd
}

func (f *Unit) mismatchText(odd []mismatch, r *run) string {
	o := odd[0]
	who := "Roll " + o.roll
	if o.roll == "" {
		who = "The load"
	}
	if len(odd) > 1 {
		who += fmt.Sprintf(" (and %d more)", len(odd)-1)
	}
	return fmt.Sprintf("%s was for %s; the unit ran %s.", who, f.processWords(o.process, o.push), f.processWords(r.Process, r.Push))
}

type addReason func(level int, share float64, code, step, text string)

// developerError are what a developer's error is made of: the logarithm of its time
// against the sheet's and of its speed against the sheet's, each as far as it
// goes the way of the error itself.
type developerError struct {
	level          int // beyond which edge
	time, speed    float64
	timeLong, warm bool
	text           string // the push error, said
}

func (f *Unit) developerErrorOf(c *runStep, sp *process.Step) developerError {
	a := f.aim(c)
	target, ok := sp.TargetS(a)
	if !ok || !c.BathHeard || c.Bath.N == 0 || c.BathT.IsZero() || sp.Kind != process.Dev {
		return developerError{}
	}
	timeS := c.EndT.Sub(c.fromT()).Seconds()
	if f.mostlyUnread(c) {
		return f.certainError(c, sp, a, timeS, target)
	}
	p := developerError{level: sp.Off(c.Bath.Eq.Best, a)}
	if timeS <= 0 || c.Bath.Eq.Best <= 0 {
		return p
	}
	byTime, bySpeed := math.Log(timeS/target), math.Log(c.Bath.Eq.Best/timeS)
	p.timeLong, p.warm = byTime > 0, bySpeed > 0
	sign := math.Copysign(1, byTime+bySpeed)
	p.time, p.speed = byTime*sign, bySpeed*sign
	p.text = fmt.Sprintf(" Development %+.0f %% against the %s: color balance is at risk.", 100*(c.Bath.Eq.Best/target-1), aimWord(a))
	if side := sp.Side(c.Bath.Eq.Best, a); side != 0 {
		p.text = fmt.Sprintf(" Push error %s than %s: the sheet's push times end there.", moreLess(side), process.Stops(sp.Bound(side, a)))
	} else if stops, ok := sp.StopsRange(f.equivalentBounds(c, sp), a); ok {
		stops = sp.Scaled(stops)
		p.text = fmt.Sprintf(" Push error %s. A kinetic equivalence, not a density prediction.", process.ThirdsRange(stops))
	}
	return p
}

// certainError are the parts of a developer that was mostly unread: what is so
// whatever its bath did within the bounds.
func (f *Unit) certainError(c *runStep, sp *process.Step, a process.Aim, timeS, target float64) developerError {
	eq := f.equivalentBounds(c, sp)
	over, under := eq.Low > target, eq.High < target
	if timeS <= 0 || eq.Low <= 0 || !over && !under {
		return developerError{}
	}
	near := eq.Low
	if under {
		near = eq.High
	}
	p := developerError{level: sp.Off(near, a), timeLong: over, warm: over}
	if p.level == 0 {
		return developerError{}
	}
	p.time = math.Abs(math.Log(timeS / target))
	p.text = fmt.Sprintf(" Most of it was not read; by the clock it went beyond the %s's limits whatever the bath did.", aimWord(a))
	return p
}

func aimWord(a process.Aim) string {
	if a.HouseS > 0 {
		return "house aim"
	}
	return "sheet"
}

// stepReasons are the reasons of one step.
func (f *Unit) stepReasons(c *runStep, add addReason) {
	sp := f.spec(c)
	if sp == nil || c.EndT.IsZero() || c.BathT.IsZero() && !c.Short {
		return
	}
	if c.Stranded {
		add(1, 0, reasonNoEvidence, c.ID, fmt.Sprintf("The run left the film in %s: when it came out is not known.", sp.Label))
		return
	}
	p := f.developerErrorOf(c, sp)
	said := false // the push error is said once, with the reason that explains most of it
	push := func(level int) string {
		if p.level == 0 || said || level < p.level {
			return ""
		}
		said = true
		return p.text
	}
	f.outageReasons(c, sp, p, add)
	f.timeReasons(c, sp, p, push, add)
	f.bathReasons(c, sp, p, push, add)
	dev := sp.Kind == process.Dev
	if dev && c.NoRotation && !f.turnedThrough(c) {
		add(1, 0.001, reasonRotation, c.ID, fmt.Sprintf("The tank stood still in %s; standing film develops unevenly.", sp.Label))
	}
	if extra := f.slowDrainS(c); dev && extra > 0 {
		level, share := 1, 0.001
		if target, ok := sp.TargetS(f.aim(c)); ok && c.Bath.Eq.Best > 0 {
			with := c.Bath.Eq.Best + extra*sp.Rates(c.Bath.PrevC).Best
			level = max(level, sp.Off(with, f.aim(c)))
			share = max(share, math.Log(with/target))
		}
		add(level, share, reasonLong, c.ID, fmt.Sprintf("%s took %s to drain: some of the film had it for up to %s longer.", capital(sp.Label), lab.SpanText(c.DrainS), lab.SpanText(extra)))
	}
	if usual := f.s.Usual[string(lab.PhaseFilling)].median(); dev && usual > 0 && c.FillS > usual+slowFillS {
		add(1, 0.001, reasonLong, c.ID, fmt.Sprintf("%s took %s to fill, usually %s: the film that was wet first had it longer.", capital(sp.Label), lab.SpanText(c.FillS), lab.SpanText(usual)))
	}
	if c.NoChem {
		add(1, 0, reasonChemistry, c.ID, fmt.Sprintf("%s: the bottle was empty, or gave less than the fill it should.", capital(sp.Label)))
	}
	f.doubtReasons(c, sp, add)
	if dev && c.Slow && !c.NoRotation {
		add(1, 0.0005, reasonRotation, c.ID, fmt.Sprintf("The tank turned slowly in %s; agitation decides contrast and evenness.", sp.Label))
	}
	if dev && sp.Push != nil && !sp.PushKnown(f.s.Run.Push) {
		add(1, 0, reasonNoEvidence, c.ID, fmt.Sprintf("The sheet has no time for %s: how far %s went is not judged.", process.PushWords(f.s.Run.Push), sp.Label))
	}
	if dev && (c.NoReading || c.Unheard || !c.BathHeard || c.Bath.N == 0 || c.Bath.GapS > f.readingLimitS()) {
		add(1, 0, reasonNoEvidence, c.ID, fmt.Sprintf("Not all data of %s was received.", sp.Label))
	}
}

// slowDrainS is by how much a step drained more slowly than is usual, seconds;
// 0 where it did not.
func (f *Unit) slowDrainS(c *runStep) float64 {
	usual := f.s.Usual[string(lab.PhaseDraining)].median()
	if usual <= 0 || c.DrainS <= usual+slowFillS {
		return 0
	}
	return c.DrainS - usual
}

// slowFillS is by how much a developer may fill more slowly than is usual
// before a person is to look, seconds.
const slowFillS = 8

// outageReasons: power that was away while film stood in a bath that develops.
// Whatever the push error, a person looks: no seconds repair uneven film.
func (f *Unit) outageReasons(c *runStep, sp *process.Step, p developerError, add addReason) {
	for _, o := range f.s.Run.Outages {
		if o.N != c.N || o.Step != c.ID {
			continue
		}
		if sp.Kind != process.Dev { // it counts for what it did to the step
			add(0, 0, reasonOutage, c.ID, fmt.Sprintf("Mains power was lost for %s in %s.", lab.SpanText(o.S), StepWords(o.Step)))
			continue
		}
		share := 0.002
		if p.timeLong {
			share = max(share, p.time)
		}
		if !p.warm || f.room().Best > sp.AimC {
			share = max(share, p.speed)
		}
		text := fmt.Sprintf("Mains power was lost for %s in %s.", lab.SpanText(o.S), StepWords(o.Step))
		if o.BackT.IsZero() {
			text = fmt.Sprintf("Mains power was lost in %s.", StepWords(o.Step))
		}
		still := f.stillS(c, o)
		switch {
		case o.inFilling(c):
			text += " It stopped while filling: the film that was wet first had the developer for longer."
		case !c.DrainT.IsZero() && !o.LostT.Before(c.DrainT):
			text += " It stopped while draining: some of the film had the developer for longer."
		case still < 1 && o.S >= 1:
			text += " The tank was turned by hand meanwhile."
		default:
			text += fmt.Sprintf(" The film stood still for about %s: it may have developed unevenly, which no number of seconds repairs.", lab.SpanText(still))
		}
		add(1, share, reasonOutage, c.ID, text)
	}
}

// inFilling tells whether an outage was over before the bath of c was in.
func (o *outage) inFilling(c *runStep) bool { return !o.BackT.IsZero() && !o.BackT.After(c.BathT) }

// filledWithout tells whether an outage came while a step was filled.
func (f *Unit) filledWithout(step string) bool {
	return slices.ContainsFunc(f.s.Run.Steps, func(c *runStep) bool {
		return c.ID == step && slices.ContainsFunc(f.s.Run.Outages, func(o *outage) bool { return o.N == c.N && o.Step == step && o.inFilling(c) })
	})
}

// timeReasons: the step was set wrong, too short or too long.
func (f *Unit) timeReasons(c *runStep, sp *process.Step, p developerError, push func(int) string, add addReason) {
	sheetS, known := f.sheetS(c)
	if !known || c.BathT.IsZero() {
		return
	}
	timeS := c.EndT.Sub(c.fromT()).Seconds()
	strict := sp.Kind == process.Dev || sp.Kind == process.Exact
	if c.EndLost {
		return // when it ended was not heard
	}
	long := c.BathHeard && strict && timeS > sp.LongestS(sheetS)
	mostly := p.level > 0 && p.time >= p.speed
	level := 0
	if c.Short || long {
		level = 1
	}
	if mostly {
		level = p.level
	}
	if c.WrongSet {
		share := 0.0
		if math.Abs(timeS-c.SetS) < math.Abs(timeS-sheetS) || mostly {
			share = p.time
		}
		add(0, share, reasonWrongTime, c.ID, fmt.Sprintf("%s was set to %s; the sheet says %s.", capital(sp.Label), lab.SpanText(c.SetS), lab.SpanText(sheetS)))
	}
	want := sheetS
	if sp.Kind == process.Min {
		want = sp.LeastS
	}
	text := func() string {
		return fmt.Sprintf("%s lasted %s; the sheet says %s.", capital(sp.Label), lab.SpanText(timeS), lab.SpanText(want)) + push(level)
	}
	switch {
	case c.Short || mostly && !p.timeLong:
		add(level, p.time, reasonShort, c.ID, text())
	case long || mostly && p.timeLong:
		add(level, p.time, reasonLong, c.ID, text())
	}
}

// bathReasons: the bath was too warm or too cool.
func (f *Unit) bathReasons(c *runStep, sp *process.Step, p developerError, push func(int) string, add addReason) {
	mostly := p.level > 0 && p.speed > p.time
	if !c.Out && !mostly {
		return
	}
	if c.Swings && !mostly {
		add(1, p.speed, reasonSwings, c.ID, fmt.Sprintf("%s swung between %.2f and %.2f °C (limits %g to %g °C): its heater hunts.",
			capital(sp.Label), c.Bath.MinC, c.Bath.MaxC, sp.LowC, sp.HighC)+push(1))
		return
	}
	code, way := reasonCool, "too cool"
	if c.OutWarm && !mostly || mostly && p.warm {
		code, way = reasonWarm, "too warm"
	}
	level := 1
	if mostly {
		level = max(level, p.level)
	}
	text := fmt.Sprintf("%s was %s for %s (%.2f to %.2f °C).", capital(sp.Label), way, lab.SpanText(c.Bath.OutS), c.Bath.MinC, c.Bath.MaxC)
	if !c.Out {
		text = fmt.Sprintf("%s was %s on the whole (%.2f to %.2f °C).", capital(sp.Label), way, c.Bath.MinC, c.Bath.MaxC)
	}
	add(level, p.speed, code, c.ID, text+push(level))
}

// doubtReasons: readings that were not believed are no evidence.
func (f *Unit) doubtReasons(c *runStep, sp *process.Step, add addReason) {
	limit := max(f.fig().ReadingMissingS, f.fig().ReadingMissingIntervals*f.s.Intervals.median())
	if c.Doubt.S < limit {
		return
	}
	level := 0
	if sp.Kind == process.Dev {
		level = 1
	}
	if sp.Kind == process.Dev || !sp.Wash {
		add(level, 0, reasonNoEvidence, c.ID, fmt.Sprintf("For %s of %s the probe's readings were not believed: %s.",
			lab.SpanText(c.Doubt.S), sp.Label, doubtWords(c.Doubt.Why)))
	}
}

func doubtWords(why string) string {
	switch why {
	case doubtFahrenheit:
		return "they were in degrees Fahrenheit"
	case doubtJump:
		return "they jumped as no liquid does"
	case doubtFlat:
		return "they stood still to the last digit"
	}
	return "no bath of this process is so warm or so cold"
}

func (f *Unit) isDev(c *runStep) bool {
	sp := f.spec(c)
	return sp != nil && sp.Kind == process.Dev
}
