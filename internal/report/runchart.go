package report

import (
	"fmt"
	"math"
	"slices"
	"time"

	"wetside/internal/lab"
)

// Sizes of the drawing, points.
const (
	drawW     = 510.0
	leftW     = 46.0 // for what the rows are called
	rightW    = 10.0
	barH      = 12.0
	laneH     = 11.0
	panelH    = 120.0
	zoomH     = 96.0
	smallText = 6.5
	plainText = 7.5
)

// runChart draws one report. Its parts stand one under the other.
type runChart struct {
	picture
	r lab.Report
	o Options
	y float64
	// time to x
	from, to time.Time
}

// label writes a text in the reader's units.
func (c *runChart) label(ink colour, at point, size float64, a anchor, text string) {
	c.picture.label(ink, at, size, a, c.o.Units.Read(text))
}

// tag writes a bold text in the reader's units.
func (c *runChart) tag(ink colour, at point, x0, x1 float64, size float64, text string) {
	c.picture.tag(ink, at, x0, x1, size, c.o.Units.Read(text))
}

// drawRun draws a run.
func drawRun(r lab.Report, o Options) *picture {
	c := &runChart{r: r, o: o, from: r.Timeline.From.Time, to: r.Timeline.To.Time}
	c.W = drawW
	c.fitPlannedEnds()
	c.Title = fmt.Sprintf("Run %s on %s: %s", r.Run.Run, r.UnitName, processWords(r))
	c.Desc = o.Units.Read(c.describe())
	c.y = 12
	c.axis()
	c.bars()
	c.spanRows()
	c.alerts()
	c.temperature()
	c.developers()
	c.H = c.y + 4
	return &c.picture
}

// fitPlannedEnds makes room for the steps' planned ends.
func (c *runChart) fitPlannedEnds() {
	for _, s := range c.r.Timeline.Steps {
		if s.StartedAt == nil {
			continue
		}
		if s.StartedAt.Before(c.from) {
			c.from = s.StartedAt.Time
		}
		if s.PlannedS != nil {
			if end := s.StartedAt.Add(secondsOf(*s.PlannedS)); end.After(c.to) {
				c.to = end
			}
		}
	}
	if !c.to.After(c.from) {
		c.to = c.from.Add(time.Minute)
	}
}

func (c *runChart) describe() string {
	word, _ := verdictWords(c.r.Run)
	out := "Verdict: " + word + ". " + pushWords(c.r.Run)
	for _, x := range c.r.Run.Reasons {
		out += " " + x.Text
	}
	return out
}

func secondsOf(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }

// x is where a time stands across the picture.
func (c *runChart) x(t time.Time) float64 {
	part := float64(t.Sub(c.from)) / float64(c.to.Sub(c.from))
	return leftW + (c.W-leftW-rightW)*min(1, max(0, part))
}

// axis draws the times of day.
func (c *runChart) axis() {
	step := niceTime(c.to.Sub(c.from))
	base := c.from.In(c.o.zone()).Truncate(time.Hour)
	zone := c.from.In(c.o.zone()).Format("MST")
	c.label(soft, point{leftW - 5, c.y}, smallText, atEnd, zone)
	for t := base; !t.After(c.to); t = t.Add(step) {
		if t.Before(c.from) {
			continue
		}
		x := c.x(t)
		c.label(soft, point{min(max(x, leftW+9), c.W-rightW-9), c.y}, smallText, atMiddle, t.Format("15:04"))
		c.line(stroke(rule, 0.5), point{x, c.y + 2}, point{x, c.y + 5})
	}
	c.y += 7
}

func niceTime(d time.Duration) time.Duration {
	for _, m := range []int{1, 2, 5, 10, 15, 30, 60, 120, 240, 480} {
		if step := time.Duration(m) * time.Minute; d/step <= 14 {
			return step
		}
	}
	return 24 * time.Hour
}

// timeReason gives the reasons of a step that are about its time.
func (c *runChart) timeReason(step string, codes ...string) string {
	for _, x := range c.r.Run.Reasons {
		if x.Step == step && slices.Contains(codes, x.Code) {
			return x.Code
		}
	}
	return ""
}

// bars draw planned above happened.
func (c *runChart) bars() {
	c.label(soft, point{leftW - 5, c.y + barH - 3.5}, plainText, atEnd, "planned")
	c.label(ink, point{leftW - 5, c.y + 2*barH + 2 - 3.5}, plainText, atEnd, "happened")
	for i, s := range c.r.Timeline.Steps {
		if s.StartedAt == nil {
			continue
		}
		x := c.x(s.StartedAt.Time)
		if s.PlannedS != nil {
			end := c.x(s.StartedAt.Add(secondsOf(*s.PlannedS)))
			st := stroke(soft, 0.6)
			st.fill = &paper
			c.rect(st, x, c.y, end, c.y+barH)
			c.stepName(soft, s, x, min(end, c.nextStart(i)), c.y+barH-3.5)
		}
		if s.EndedAt == nil {
			continue
		}
		end, y := max(c.x(s.EndedAt.Time), x+1), c.y+barH+2
		bad := c.timeReason(s.Step, "step-long", "step-short", "wrong-time", "outage", "step-skipped")
		st := fill(barFill)
		if bad != "" {
			col := alarm
			st.stroke, st.width = &col, 1.2
		}
		c.rect(st, x, y, end, y+barH)
		c.stepName(ink, s, x, end, y+barH-3.5)
		if bad == "step-long" || bad == "step-short" {
			c.bold(alarm, point{x, y + barH + 7}, smallText, atStart, timeOff(s))
		}
	}
	c.y += 2*barH + 2
	if c.anyTimeReason() {
		c.y += 8
	}
	c.y += 5
}

func (c *runChart) anyTimeReason() bool {
	return slices.ContainsFunc(c.r.Timeline.Steps, func(s lab.TimelineStep) bool {
		return s.StartedAt != nil && c.timeReason(s.Step, "step-long", "step-short") != ""
	})
}

// timeOff says by how much a step was longer or shorter than planned.
func timeOff(s lab.TimelineStep) string {
	d := s.EndedAt.Sub(s.StartedAt.Time).Seconds()
	if s.PlannedS != nil {
		d -= *s.PlannedS
	}
	if d < 0 {
		return lab.Elapsed(-d) + " short"
	}
	return lab.Elapsed(d) + " long"
}

func (c *runChart) nextStart(i int) float64 {
	for _, s := range c.r.Timeline.Steps[i+1:] {
		if s.StartedAt != nil {
			return c.x(s.StartedAt.Time)
		}
	}
	return c.W
}

// stepName writes a step's name where it fits, else its number.
func (c *runChart) stepName(col colour, s lab.TimelineStep, x0, x1, y float64) {
	for _, text := range []string{s.Label, fmt.Sprint(s.N)} {
		if textWidth(text, smallText) < x1-x0-2 {
			c.label(col, point{(x0 + x1) / 2, y}, smallText, atMiddle, text)
			return
		}
	}
}

// spanRows mark times that were out of order, each kind on its own line with its
// word.
func (c *runChart) spanRows() {
	for _, l := range []struct {
		word string
		list []lab.Span
		calm bool
	}{
		{"mains power lost", c.r.Timeline.Outages, false},
		{"no data", c.r.Timeline.Unheard, false},
		{"stood still", c.r.Timeline.Still, false},
		{"by hand", c.r.Timeline.ByHand, true},
	} {
		if len(l.list) == 0 {
			continue
		}
		col := alarm
		if l.calm {
			col = soft
		}
		c.label(col, point{leftW - 5, c.y + laneH - 3.5}, smallText, atEnd, l.word)
		c.line(stroke(rule, 0.5), point{leftW, c.y + laneH - 1}, point{c.W - rightW, c.y + laneH - 1})
		edge := 0.0
		for _, s := range l.list {
			x0, x1 := c.x(s.From.Time), max(c.x(s.To.Time), c.x(s.From.Time)+1.5)
			c.hatch(col, x0, c.y+1, x1, c.y+laneH-1)
			c.rect(stroke(col, 0.6), x0, c.y+1, x1, c.y+laneH-1)
			text := lab.Elapsed(s.To.Sub(s.From.Time).Seconds())
			if at := x1 + 2; at > edge && at+textWidth(text, smallText) < c.W {
				c.label(col, point{at, c.y + laneH - 3.5}, smallText, atStart, text)
				edge = at + textWidth(text, smallText)
			}
		}
		c.y += laneH + 1
	}
}

// alertLanes is how many lines of alerts there are at most.
const alertLanes = 4

// alerts mark each alert with the number under which the report lists it.
func (c *runChart) alerts() {
	if len(c.r.Alerts) == 0 {
		c.y += 2
		return
	}
	c.label(soft, point{leftW - 5, c.y + laneH - 3.5}, smallText, atEnd, "alerts")
	var edge [alertLanes]float64
	lanes, left := 1, 0
	for i, a := range c.r.Alerts {
		x := c.x(a.RaisedAt.Time)
		text := fmt.Sprint(i + 1)
		lane := slices.IndexFunc(edge[:], func(e float64) bool { return x-4 > e })
		if lane < 0 {
			left++
			continue
		}
		lanes = max(lanes, lane+1)
		y := c.y + float64(lane)*laneH + laneH/2
		c.alertMark(a.Priority, point{x, y})
		c.label(ink, point{x + 4.5, y + 2.3}, smallText, atStart, text)
		edge[lane] = x + 5 + textWidth(text, smallText)
	}
	c.y += float64(lanes)*laneH + 3
	if left > 0 {
		c.label(soft, point{c.W - rightW, c.y + 3}, smallText, atEnd, fmt.Sprintf("and %d more in the list", left))
		c.y += 8
	}
}

// alertMark is the shape of a priority: urgent a full diamond, high a full
// triangle, low a ring.
func (c *runChart) alertMark(p lab.Priority, at point) {
	const r = 3.4
	switch p {
	case lab.Urgent:
		c.area(fill(alarm), point{at.x, at.y - r}, point{at.x + r, at.y}, point{at.x, at.y + r}, point{at.x - r, at.y})
	case lab.High:
		c.area(fill(alarm), point{at.x, at.y - r}, point{at.x + r, at.y + r*0.8}, point{at.x - r, at.y + r*0.8})
	default:
		c.ring(stroke(soft, 1), at, r*0.8)
	}
}

// scale maps °C to y.
type scale struct {
	low, high float64
	top, bot  float64
}

func (s scale) y(c float64) float64 {
	return s.bot - (s.bot-s.top)*min(1, max(0, (c-s.low)/(s.high-s.low)))
}

// ticks are round values, about five of them.
func (s scale) ticks() (out []float64, digits int) {
	raw := (s.high - s.low) / 5
	mag := math.Pow(10, math.Floor(math.Log10(raw)))
	step := 10 * mag
	for _, m := range []float64{1, 2, 5} {
		if m*mag >= raw {
			step = m * mag
			break
		}
	}
	digits = max(0, -int(math.Floor(math.Log10(step)+1e-9)))
	for i := math.Ceil(s.low/step - 1e-9); i*step <= s.high+1e-9; i++ {
		out = append(out, i*step)
	}
	return out, digits
}
