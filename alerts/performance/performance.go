package performance

import (
	"cmp"
	"slices"
	"time"

	"wetside/internal/lab"
)

// The numbers of alarm practice. HSE's are used as they are given: the
// long-term average during normal operation at most one in ten minutes, and at
// most ten in the ten minutes after an upset.
const (
	averageMost  = 1.0            // a person in ten minutes, over a long time
	upsetMost    = 10.0           // a person in the ten minutes after an upset
	staleAfter   = 24 * time.Hour // open for longer is stale
	inTimeLeast  = 0.9
	chatterMost  = 0.0
	withdrawMost = 0.05
)

// from is where a number is from, and how far that goes.
type from struct{ source, standing string }

var (
	fromHSE     = from{"HSE information sheet CHIS 6, Better alarm handling", published}
	fromISA     = from{"ANSI/ISA-18.2, IEC 62682", quoted}
	fromISAOpen = from{"ANSI/ISA-18.2, IEC 62682, from memory", unconfirmed}
	fromOwn     = from{"wetside's own aim, no source", unconfirmed}
)

// How far a source goes, in the words of every page.
const (
	published   = "published"
	quoted      = "quoted elsewhere"
	unconfirmed = "unconfirmed"
)

// usual is the spread of priorities that the guides give.
var usual = []struct {
	p    lab.Priority
	part float64
}{{lab.Urgent, 0.05}, {lab.High, 0.15}, {lab.Low, 0.80}}

// Count works the figures out. alerts are those with an occurrence noticed in
// the period or open at its end; pages what reached people in it.
func Count(from, to time.Time, alerts []lab.StoredAlert, pages []lab.SentPage) lab.AlertFigures {
	c := &count{from: from, to: to, rules: map[string]*rule{}}
	for i := range alerts {
		c.alert(&alerts[i])
	}
	pages = slices.DeleteFunc(slices.Clone(pages), func(p lab.SentPage) bool {
		return p.Test || p.At.Before(from) || !p.At.Before(to)
	})
	for _, p := range pages {
		for _, r := range p.Rules {
			c.rule(r).Pages++
		}
	}
	out := lab.AlertFigures{From: lab.At(from), To: lab.At(to), Alerts: c.raised, Pages: len(pages), Found: c.found,
		People: people(pages, from, to), Spread: c.spread(), Rules: []lab.RuleFigures{}}
	for _, r := range c.rules {
		r.MedianAckS = median(r.acks)
		out.Rules = append(out.Rules, r.RuleFigures)
	}
	slices.SortFunc(out.Rules, func(a, b lab.RuleFigures) int {
		return cmp.Or(b.Pages-a.Pages, b.Alerts-a.Alerts, cmp.Compare(a.Rule, b.Rule))
	})
	out.Measures = c.measures(out)
	return out
}

// count is the counting under way.
type count struct {
	from, to       time.Time
	rules          map[string]*rule
	raised, found  int
	by             [3]int // raised, as in usual
	standing       int    // open at the end
	stale          int    // of these for over a day
	chattering     int    // alerts that chattered
	withdrawn      int
	inTime, judged int
}

type rule struct {
	lab.RuleFigures
	acks []float64
}

func (c *count) rule(name string) *rule {
	r := c.rules[name]
	if r == nil {
		r = &rule{RuleFigures: lab.RuleFigures{Rule: name}}
		c.rules[name] = r
	}
	return r
}

func (c *count) within(t time.Time) bool { return !t.Before(c.from) && t.Before(c.to) }

func (c *count) alert(a *lab.StoredAlert) {
	if a.State != lab.Closed {
		c.standing++
		if c.to.Sub(a.RaisedAt.Time) > staleAfter {
			c.stale++
		}
	}
	for _, ep := range a.Episodes {
		if c.within(ep.Noticed) {
			c.episode(a, ep)
		}
	}
	if c.within(a.NoticedAt.Time) {
		c.answer(a)
		if Chattered(a.Episodes) {
			c.chattering++
			c.rule(a.Rule).Chattering++
		}
	}
}

func (c *count) episode(a *lab.StoredAlert, ep lab.Episode) {
	r := c.rule(a.Rule)
	switch {
	case ep.Withdrawn:
		c.withdrawn++
		r.Withdrawn++
		return
	case ep.FoundAfterwards:
		c.found++
	}
	c.raised++
	r.Alerts++
	for i, u := range usual {
		if ep.Priority == u.p {
			c.by[i]++
		}
	}
}

// answer judges whether the alert's latest occurrence was answered in time.
// What nobody was called for needs no answer in time.
func (c *count) answer(a *lab.StoredAlert) {
	if a.Withdrawn || a.FoundAfterwards || a.Priority.Rank() < lab.High.Rank() || len(a.Episodes) == 0 {
		return
	}
	r := c.rule(a.Rule)
	within, known := a.Facts["respond_s"].(float64)
	switch {
	case a.AcknowledgedAt != nil:
		took := a.AcknowledgedAt.Sub(a.NoticedAt.Time).Seconds()
		r.acks = append(r.acks, took)
		if !known {
			return
		}
		c.judged++
		if took <= within {
			c.inTime++
			r.InTime++
		} else {
			r.Late++
		}
	case a.State != lab.Unacknowledged || known && c.to.Sub(a.NoticedAt.Time).Seconds() > within:
		c.judged++
		r.Never++
	}
}

// Chattered tells whether three occurrences of an alert fell into one minute.
func Chattered(eps []lab.Episode) bool {
	var at []time.Time
	for _, ep := range eps {
		if !ep.Withdrawn {
			at = append(at, ep.RaisedAt)
		}
	}
	slices.SortFunc(at, time.Time.Compare)
	for i := 2; i < len(at); i++ {
		if at[i].Sub(at[i-2]) < time.Minute {
			return true
		}
	}
	return false
}

func (c *count) spread() []lab.Share {
	var out []lab.Share
	total := c.by[0] + c.by[1] + c.by[2]
	for i, u := range usual {
		s := lab.Share{Priority: u.p, Alerts: c.by[i], Usual: u.part, Provenance: fromISA.standing}
		if total > 0 {
			s.Part = float64(c.by[i]) / float64(total)
		}
		out = append(out, s)
	}
	return out
}

func (c *count) measures(f lab.AlertFigures) []lab.Gauge {
	worst, peak, average := 0, 0, 0.0
	for _, p := range f.People {
		worst, peak, average = max(worst, p.WorstHour), max(peak, p.Peak10Min), max(average, p.PerHour/6)
	}
	out := []lab.Gauge{
		most("pages-average", "Pages in ten minutes to the person called most, on average over all this time", average, "pages", averageMost, fromHSE),
		most("pages-peak", "Most pages to one person in ten minutes, as after an upset", float64(peak), "pages", upsetMost, fromHSE),
		{Code: "pages-worst-hour", Label: "Pages to one person in their worst hour", Value: ptr(float64(worst)), Unit: "pages"},
		most("stale", "Open for over a day", float64(c.stale), "alerts", 0, fromISAOpen),
		most("chattering", "Alerts that came and went three times a minute", float64(c.chattering), "alerts", chatterMost, fromISA),
	}
	in := lab.Gauge{Code: "in-time", Label: "Answered within the time to respond", Unit: "part", Limit: ptr(inTimeLeast), AtLeast: true, Source: fromOwn.source, Provenance: fromOwn.standing}
	if c.judged > 0 {
		v := float64(c.inTime) / float64(c.judged)
		in.Value, in.Ok = &v, ptr(v >= inTimeLeast)
	}
	out = append(out, in)
	wd := lab.Gauge{Code: "withdrawn", Label: "Withdrawn by later data", Unit: "part", Limit: ptr(withdrawMost), Source: fromOwn.source, Provenance: fromOwn.standing}
	if n := c.raised + c.withdrawn; n > 0 {
		v := float64(c.withdrawn) / float64(n)
		wd.Value, wd.Ok = &v, ptr(v <= withdrawMost)
	}
	return append(out, wd, lab.Gauge{Code: "standing", Label: "Open at the end", Value: ptr(float64(c.standing)), Unit: "alerts"})
}

func most(code, label string, v float64, unit string, limit float64, f from) lab.Gauge {
	return lab.Gauge{Code: code, Label: label, Value: &v, Unit: unit, Limit: &limit, Ok: ptr(v <= limit), Source: f.source, Provenance: f.standing}
}

func ptr[T any](v T) *T { return &v }
