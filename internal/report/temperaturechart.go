package report

import (
	"fmt"
	"math"
	"strconv"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// temperature draws the bath of the whole run inside each step's limits.
func (c *runChart) temperature() {
	c.label(ink, point{leftW, c.y + 7}, plainText, atStart, "Bath, "+c.o.Units.DegreeUnit()+", inside the limits of each step"+c.usualWords())
	c.legend()
	c.y += 10
	s := c.degreesShown(c.r.Timeline.Steps, c.from, c.to, 4, 1)
	s.top, s.bot = c.y, c.y+panelH
	p := temperaturePlot{runChart: c, s: s, from: c.from, to: c.to, x0: leftW, x1: c.W - rightW}
	p.draw(c.r.Timeline.Steps)
	c.y += panelH + 4
}

// legend names the shapes of the alerts.
func (c *runChart) legend() {
	if len(c.r.Alerts) == 0 {
		return
	}
	x := c.W - rightW
	for _, l := range []lab.Priority{lab.Low, lab.High, lab.Urgent} {
		x -= textWidth(string(l), smallText)
		c.label(soft, point{x, c.y + 7}, smallText, atStart, string(l))
		x -= 6
		c.alertMark(l, point{x, c.y + 4.8})
		x -= 9
	}
}

func (c *runChart) usualWords() string {
	if len(c.r.Timeline.Envelope) == 0 {
		return ""
	}
	return "; darker: where 90 of 100 good runs were"
}

// degreesShown is the span of temperatures to show between two times: all
// readings, and the limits where they lie no more than beyond °C outside the
// readings; room, °C, is left above and below for a word.
func (c *runChart) degreesShown(steps []lab.TimelineStep, from, to time.Time, beyond, room float64) scale {
	low, high := math.Inf(1), math.Inf(-1)
	for _, b := range c.r.Timeline.Bath {
		if b.C != nil && !b.At.Before(from) && !b.At.After(to) {
			low, high = min(low, *b.C), max(high, *b.C)
		}
	}
	read := !math.IsInf(low, 1)
	least, most := low-beyond, high+beyond
	for _, s := range steps {
		if s.StartedAt != nil && s.LowC != nil && s.HighC != nil {
			low, high = min(low, *s.LowC), max(high, *s.HighC)
		}
	}
	switch {
	case read:
		low, high = max(low, least), min(high, most)
	case math.IsInf(low, 1):
		low, high = 15, 45
	}
	pad := max(room, (high-low)*0.2)
	return scale{low: low - pad, high: high + pad}
}

// developers draw each developer again, magnified: its limits are too narrow
// to be seen beside the others.
func (c *runChart) developers() {
	var devs []lab.TimelineStep
	for _, s := range c.r.Timeline.Steps {
		if s.Kind == process.Dev && s.StartedAt != nil && s.EndedAt != nil && s.LowC != nil && s.HighC != nil {
			devs = append(devs, s)
		}
	}
	if len(devs) == 0 {
		return
	}
	devs = devs[:min(len(devs), 3)]
	c.y += 4
	const gutter = 34.0
	wide := (c.W - leftW - rightW - gutter*float64(len(devs)-1)) / float64(len(devs))
	for i, s := range devs {
		x0 := leftW + float64(i)*(wide+gutter)
		c.magnified(s, x0, x0+wide)
	}
	c.y += zoomH + 26
}

func (c *runChart) magnified(s lab.TimelineStep, x0, x1 float64) {
	c.label(ink, point{x0, c.y + 7}, plainText, atStart, fmt.Sprintf("%s, magnified: %.2f to %.2f °C", capital(s.Label), *s.LowC, *s.HighC))
	from, to := s.StartedAt.Time, s.EndedAt.Time
	if s.PlannedS != nil && s.StartedAt.Add(secondsOf(*s.PlannedS)).After(to) {
		to = s.StartedAt.Add(secondsOf(*s.PlannedS))
	}
	to = to.Add(5 * time.Second)
	sc := c.degreesShown([]lab.TimelineStep{s}, from, to, 100, 0.1)
	sc.top, sc.bot = c.y+11, c.y+11+zoomH
	p := temperaturePlot{runChart: c, s: sc, from: from, to: to, x0: x0, x1: x1, zoom: true}
	p.draw([]lab.TimelineStep{s})
	if s.PlannedS != nil {
		x := p.x(s.StartedAt.Add(secondsOf(*s.PlannedS)))
		st := stroke(soft, 0.8)
		st.dash = true
		c.line(st, point{x, sc.top}, point{x, sc.bot})
		c.label(soft, point{x - 2, sc.top + 7}, smallText, atEnd, "planned end "+lab.Elapsed(*s.PlannedS))
	}
	for t := 0.0; t <= to.Sub(from).Seconds(); t += niceSeconds(to.Sub(from).Seconds()) {
		c.label(soft, point{p.x(from.Add(secondsOf(t))), sc.bot + 8}, smallText, atMiddle, lab.Elapsed(t))
	}
}

func niceSeconds(d float64) float64 {
	for _, s := range []float64{10, 30, 60, 120, 300, 600, 1800} {
		if d/s <= 8 {
			return s
		}
	}
	return 3600
}

// temperaturePlot is a plot of temperature over time.
type temperaturePlot struct {
	*runChart
	s        scale
	from, to time.Time
	x0, x1   float64
	zoom     bool
}

func (p temperaturePlot) x(t time.Time) float64 {
	part := float64(t.Sub(p.from)) / float64(p.to.Sub(p.from))
	return p.x0 + (p.x1-p.x0)*min(1, max(0, part))
}

func (p temperaturePlot) shows(t time.Time) bool { return !t.Before(p.from) && !t.After(p.to) }

func (p temperaturePlot) draw(steps []lab.TimelineStep) {
	for _, s := range steps {
		p.band(s)
	}
	p.envelope()
	read := scale{p.o.Units.Degrees(p.s.low), p.o.Units.Degrees(p.s.high), p.s.top, p.s.bot}
	ticks, digits := read.ticks()
	for _, v := range ticks {
		y := read.y(v)
		p.line(stroke(rule, 0.4), point{p.x0, y}, point{p.x1, y})
		p.label(soft, point{p.x0 - 4, y + 2.2}, smallText, atEnd, strconv.FormatFloat(v, 'f', digits, 64))
	}
	for _, o := range p.r.Timeline.Outages {
		if o.To.Before(p.from) || o.From.After(p.to) {
			continue
		}
		x0, x1 := p.x(o.From.Time), max(p.x(o.To.Time), p.x(o.From.Time)+1)
		p.hatch(rule, x0, p.s.top, x1, p.s.bot)
		p.tag(alarm, point{(x0 + x1) / 2, p.s.bot - 4}, p.x0, p.x1, smallText, "mains power lost")
	}
	p.rect(stroke(rule, 0.6), p.x0, p.s.top, p.x1, p.s.bot)
	p.curve(steps)
}

// band draws the limits of a step from its beginning to its end.
func (p temperaturePlot) band(s lab.TimelineStep) {
	if s.StartedAt == nil || s.LowC == nil || s.HighC == nil {
		return
	}
	end := p.to
	if s.EndedAt != nil {
		end = s.EndedAt.Time
	}
	if p.zoom {
		end = p.to
	}
	x0, x1 := p.x(s.StartedAt.Time), max(p.x(end), p.x(s.StartedAt.Time)+0.8)
	top, bot := p.s.y(*s.HighC), p.s.y(*s.LowC)
	p.rect(fill(limits), x0, top, x1, bot)
	for _, v := range []float64{*s.LowC, *s.HighC} {
		if v >= p.s.low && v <= p.s.high { // an edge that is cut off is no edge
			p.line(stroke(soft, 0.5), point{x0, p.s.y(v)}, point{x1, p.s.y(v)})
		}
	}
}

// envelope draws where the good runs were.
func (p temperaturePlot) envelope() {
	var up, down []point
	flush := func() {
		for i := len(down) - 1; i >= 0; i-- {
			up = append(up, down[i])
		}
		p.area(fill(usual), up...)
		up, down = nil, nil
	}
	var last time.Time
	for _, e := range p.r.Timeline.Envelope {
		if !p.shows(e.At.Time) {
			continue
		}
		if !last.IsZero() && e.At.Sub(last) > envelopeStepS*3/2*time.Second {
			flush()
		}
		x, top, bot := p.x(e.At.Time), p.s.y(e.High), p.s.y(e.Low)
		if bot-top < 0.8 { // still to be seen
			top, bot = (top+bot)/2-0.4, (top+bot)/2+0.4
		}
		up, down, last = append(up, point{x, top}), append(down, point{x, bot}), e.At.Time
	}
	flush()
}

// curve draws the readings; what was out of order is heavier and coloured,
// with a mark and a word at the farthest place.
func (p temperaturePlot) curve(steps []lab.TimelineStep) {
	var run []point
	flush := func() {
		if len(run) == 1 {
			run = append(run, point{run[0].x + 0.5, run[0].y})
		}
		p.line(stroke(ink, 1), run...)
		run = nil
	}
	for _, b := range p.r.Timeline.Bath {
		if b.C == nil || !p.shows(b.At.Time) {
			flush()
			continue
		}
		run = append(run, point{p.x(b.At.Time), p.s.y(*b.C)})
	}
	flush()
	for _, s := range steps {
		if code := p.timeReason(s.Step, "bath-warm", "bath-cool"); code != "" {
			p.outside(s, code == "bath-warm")
		}
	}
}

// outside marks what lay outside a step's limits, and the farthest of it.
func (p temperaturePlot) outside(s lab.TimelineStep, warm bool) {
	if s.StartedAt == nil || s.EndedAt == nil || s.LowC == nil || s.HighC == nil {
		return
	}
	var run []point
	var far *lab.CurvePoint
	flush := func() { p.line(stroke(alarm, 1.6), run...); run = nil }
	for i, b := range p.r.Timeline.Bath {
		in := b.C != nil && !b.At.Before(s.StartedAt.Time) && !b.At.After(s.EndedAt.Time)
		if !in || *b.C <= *s.HighC && *b.C >= *s.LowC {
			flush()
			continue
		}
		run = append(run, point{p.x(b.At.Time), p.s.y(*b.C)})
		settled := b.At.Sub(s.StartedAt.Time) > settlingS*time.Second
		if settled && (far == nil || warm && *b.C > *far.C || !warm && *b.C < *far.C) {
			far = &p.r.Timeline.Bath[i]
		}
	}
	flush()
	if far == nil {
		return
	}
	x, y, word := p.x(far.At.Time), p.s.y(*far.C), "too cool"
	tip, textY := 4.0, y+12
	if warm {
		tip, textY, word = -4, y-6, "too warm"
	}
	p.area(fill(alarm), point{x, y + tip}, point{x + 3, y}, point{x - 3, y})
	if s.Kind == process.Dev && !p.zoom {
		return // the word stands where it is magnified
	}
	textY = max(p.s.top+smallText, min(p.s.bot-2.5, textY))
	p.tag(alarm, point{x, textY}, p.x0, p.x1, smallText, fmt.Sprintf("%s, %.2f °C", word, *far.C))
}

// settlingS is the time after a fill in which the bath settles, seconds.
const settlingS = 30
