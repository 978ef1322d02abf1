package rules

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// script is a unit's telemetry written by hand, in seconds from nine o'clock
// by the unit's own clock. Events may be written in any order; play numbers
// them in the order of their times and delivers them.
type script struct {
	unit   lab.UnitID
	boot   string
	run    string
	proc   string
	push   float64
	kind   string
	set    map[string]float64 // set times that differ from the sheet's
	fillML float64
	upS    bool // with up_s
	events []*event

	restarts []float64 // when the controller starts again
}

type event struct {
	at, recv float64 // by the unit's clock; arrival
	shift    float64 // by how much at is off
	up       float64
	lost     bool
	m        lab.Message
}

var nine = time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)

func newScript(process string) *script {
	return &script{unit: lab.UnitID{Lab: "tern-street", Unit: "plover"}, boot: "b1", run: "r1", proc: process,
		set: map[string]float64{}, fillML: 500}
}

func (s *script) add(at float64, ch lab.Channel, m lab.Message) *event {
	m.Unit, m.Boot, m.Channel = s.unit, s.boot, ch
	e := &event{at: at, recv: at, up: at, m: m}
	s.events = append(s.events, e)
	return e
}

// phase says a phase of the run once.
func (s *script) phase(at float64, p lab.Phase, step string, n int) *lab.Step {
	st := &lab.Step{Phase: p}
	if p != lab.PhaseIdle {
		*st = lab.Step{Phase: p, Run: s.run, Process: s.proc, Push: s.push, Kind: s.kind, Step: step, N: n}
		if set, ok := s.setS(step); ok {
			st.SetS = &set
		}
		if s.fillML > 0 {
			st.FillML = &s.fillML
		}
	}
	s.add(at, lab.ChannelStep, lab.Message{Step: st})
	return st
}

func (s *script) setS(step string) (float64, bool) {
	if v, ok := s.set[step]; ok {
		return v, true
	}
	sh, _ := process.Builtin().Sheet(s.proc)
	if sp, ok := sh.Step(step); ok {
		return sp.TimeFor(s.push, 390)
	}
	return 0, false
}

// setC is the temperature that the unit says it is set to, in all it has said.
func (s *script) setC(c float64) {
	for _, e := range s.events {
		if e.m.Step != nil && e.m.Step.Run != "" {
			e.m.Step.SetC = &c
		}
	}
}

// preheat is the liquid before it is on the film.
func (s *script) preheat(at, c float64) {
	s.add(at, lab.ChannelTemp, lab.Message{Temp: &lab.Temp{PreheatC: &c}})
}

// stays says a phase from a moment to another, every ten seconds.
func (s *script) stays(from, to float64, p lab.Phase, step string, n int) {
	for at := from; at < to; at += 10 {
		s.phase(at, p, step, n)
	}
}

func (s *script) temp(at, c float64) *event {
	return s.add(at, lab.ChannelTemp, lab.Message{Temp: &lab.Temp{BathC: &c}})
}

func (s *script) dryer(at, c float64) {
	s.add(at, lab.ChannelTemp, lab.Message{Temp: &lab.Temp{DryerC: &c}})
}

func (s *script) rpm(at, v float64) {
	s.add(at, lab.ChannelMotion, lab.Message{Motion: &lab.Motion{RPM: &v}})
}

// level says what is in one container, and which floats are closed.
func (s *script) level(at float64, name string, l float64, full ...string) {
	s.add(at, lab.ChannelTank, lab.Message{Tank: &lab.Tank{LevelsL: map[string]float64{name: l}, Full: full}})
}

func (s *script) power(at float64, source, ev string, pct, outageS float64) {
	p := &lab.Power{Source: source, Event: ev}
	if pct > 0 {
		p.BatteryPct = &pct
	}
	if outageS > 0 {
		p.OutageS = &outageS
	}
	s.add(at, lab.ChannelPower, lab.Message{Power: p})
}

// at is a temperature by time.
type at func(t float64) float64

func always(c float64) at { return func(float64) float64 { return c } }

// between is other from a moment to another, aim elsewhere.
func between(aim, from, to, other float64) at {
	return func(t float64) float64 {
		if t >= from && t < to {
			return other
		}
		return aim
	}
}

// bath is a bath from in-bath to the start of its draining: steps every 10 s,
// readings every 2 s, rotation every 4 s, the draining 10 s.
func (s *script) bath(from, to float64, step string, n int, c at) {
	s.stays(from, to, lab.PhaseInBath, step, n)
	for t := from + 2; t < to; t += 2 {
		s.temp(t, c(t))
	}
	for t := from + 1; t < to; t += 4 {
		s.rpm(t, 30)
	}
	s.phase(to, lab.PhaseDraining, step, n)
}

// step is a whole step: filling 5 s before, the bath.
func (s *script) step(from, to float64, step string, n int, c at) {
	s.phase(from-5, lab.PhaseFilling, step, n)
	s.bath(from, to, step, n, c)
}

// c41 is a whole run in good order, beginning with heating at from; it gives
// when it is done.
func (s *script) c41(from float64) float64 {
	s.phase(from, lab.PhaseIdle, "", 0)
	s.phase(from+1, lab.PhaseHeating, "developer", 1)
	at := from + 20
	for i, st := range []struct {
		id   string
		s, c float64
	}{{"developer", 195, 37.8}, {"bleach", 390, 38}, {"wash-1", 195, 38}, {"fixer", 390, 38}, {"wash-2", 195, 38}, {"final-rinse", 90, 38}} {
		s.step(at, at+st.s, st.id, i+1, always(st.c))
		at += st.s + 20
	}
	s.phase(at, lab.PhaseDone, "", 0)
	s.phase(at+5, lab.PhaseIdle, "", 0)
	return at
}

// cut takes what was written in [from, to) out of the telemetry that arrives.
func (s *script) cut(from, to float64) {
	for _, e := range s.events {
		if e.at >= from && e.at < to {
			e.lost = true
		}
	}
}

// without forgets what pick chooses, as if it was never sent.
func (s *script) without(pick func(e *event) bool) {
	s.events = slices.DeleteFunc(s.events, pick)
}

// buffered lets what was written in [from, to) arrive at to, a burst of two
// seconds, and what is sent meanwhile after it.
func (s *script) buffered(from, to float64) {
	for _, e := range s.events {
		if e.at >= from && e.at < to {
			e.recv = to + (e.at-from)/(to-from)*2
		} else if e.at >= to {
			e.recv = max(e.at, to+2)
		}
	}
}

// messages numbers the events and gives what arrives, in order of arrival.
func (s *script) messages() []lab.Message {
	slices.SortStableFunc(s.events, func(a, b *event) int { return cmp.Compare(a.at, b.at) })
	seqs := map[string]int64{}
	var out []lab.Message
	for _, e := range s.events {
		m := e.m
		for _, at := range s.restarts {
			if e.at >= at && !m.Will {
				m.Boot += "'"
			}
		}
		m.Received = moment(e.recv).Add(20 * time.Millisecond)
		if !m.Will {
			seqs[m.Boot]++
			m.Seq = seqs[m.Boot]
			m.At = moment(e.at + e.shift)
			m.SentAt = m.At
			if s.upS {
				m.UpS = &e.up
			}
		}
		if !e.lost {
			out = append(out, m)
		}
	}
	slices.SortStableFunc(out, func(a, b lab.Message) int { return a.Received.Compare(b.Received) })
	return out
}

func moment(s float64) time.Time { return nine.Add(sec(s)) }

// bench plays telemetry to an engine as the live worker does, and keeps what
// came of it.
type bench struct {
	tb    testing.TB
	e     *Engine
	store map[string]lab.Message
	list  []lab.Message
	no    int64
	found map[string]OccurrenceChange
	runs  map[string]lab.Run
	clock time.Time
	ticks time.Duration
	due   []lab.Entry // what people will enter, by when
}

func newBench(tb testing.TB) *bench {
	return &bench{tb: tb, e: NewEngine(Config{}), store: map[string]lab.Message{}, found: map[string]OccurrenceChange{},
		runs: map[string]lab.Run{}, ticks: 5 * time.Second}
}

// UnitMessages implements History.
func (b *bench) UnitMessages(_ context.Context, u lab.UnitID, floor int64) ([]lab.Message, error) {
	var out []lab.Message
	for _, m := range b.list {
		if m.Unit == u && m.Arrival >= floor {
			out = append(out, m)
		}
	}
	return out, nil
}

func (b *bench) note(ch Changes, err error) {
	b.tb.Helper()
	if err != nil {
		b.tb.Fatal(err)
	}
	for _, o := range ch.Occurrences {
		if o.Was != "" && o.Was != o.ID {
			delete(b.found, o.Was)
		}
		if o.Withdrawn {
			delete(b.found, o.ID)
			continue
		}
		if r, ok := Builtin().Rules[o.Rule].Respond[o.Priority]; !ok || o.Facts["respond_s"] != r.WithinS {
			b.tb.Errorf("%s was raised as %s to be answered within %v s; its card says %+v", o.Rule, o.Priority, o.Facts["respond_s"], r)
		}
		b.found[o.ID] = o
	}
	for _, r := range ch.Runs {
		b.runs[r.ID] = r
	}
}

// stored keeps a message once, as the store does, and numbers it.
func (b *bench) stored(m lab.Message) (lab.Arrival, bool) {
	key := fmt.Sprint(m.Unit, m.Boot, m.Seq, m.Will && true, m.Received.UnixNano()*int64(btoi(m.Will)))
	if _, twice := b.store[key]; twice {
		return lab.Arrival{}, false
	}
	b.no++
	m.Arrival = b.no
	b.store[key] = m
	b.list = append(b.list, m)
	return lab.Arrival{Message: &m}, true
}

func btoi(v bool) int {
	if v {
		return 1
	}
	return 0
}

func (b *bench) tick(to time.Time) {
	if b.clock.IsZero() {
		return
	}
	for t := b.clock.Add(b.ticks); t.Before(to); t = t.Add(b.ticks) {
		b.note(b.e.Tick(b.tb.Context(), t, b))
	}
}

// play delivers messages one by one with the passing of time between them.
func (b *bench) play(msgs []lab.Message) *bench {
	b.tb.Helper()
	for _, m := range msgs {
		b.enterUntil(m.Received)
		b.tick(m.Received)
		b.clock = m.Received
		if a, ok := b.stored(m); ok {
			b.note(b.e.Feed(b.tb.Context(), []lab.Arrival{a}, b))
		}
	}
	return b
}

// entered gives what people have entered by then, numbered.
func (b *bench) entered(by time.Time) (out []lab.Arrival) {
	for len(b.due) > 0 && !b.due[0].Entered.After(by) {
		e := b.due[0]
		b.due = b.due[1:]
		b.no++
		e.Arrival = b.no
		out = append(out, lab.Arrival{Entry: &e})
	}
	return out
}

func (b *bench) enterUntil(by time.Time) {
	b.tb.Helper()
	for _, a := range b.entered(by) {
		b.tick(a.Entry.Entered)
		b.clock = maxTime(b.clock, a.Entry.Entered)
		b.note(b.e.Feed(b.tb.Context(), []lab.Arrival{a}, b))
	}
}

// until lets time pass with nothing arriving.
func (b *bench) until(s float64) *bench {
	b.enterUntil(moment(s))
	b.tick(moment(s))
	b.clock = moment(s)
	b.note(b.e.Tick(b.tb.Context(), b.clock, b))
	return b
}

// line writes an occurrence as the tables do: rule, step, subject, priority,
// raised, cleared, "late" if it was found afterwards.
func line(o OccurrenceChange) string {
	s := o.Rule + " " + o.Step
	if o.Subject != "" && o.Rule != RulePowerResumed {
		s += "/" + o.Subject
	}
	s += fmt.Sprintf(" %s %g-", o.Priority, o.RaisedAt.Sub(nine).Seconds())
	if !o.ClearedAt.IsZero() {
		s += fmt.Sprintf("%g", o.ClearedAt.Sub(nine).Seconds())
	}
	return s
}

// lines lists what was found, by time of raising.
func (b *bench) lines() []string {
	list := slices.Collect(maps.Values(b.found))
	slices.SortFunc(list, func(x, y OccurrenceChange) int {
		return cmp.Or(x.RaisedAt.Compare(y.RaisedAt), strings.Compare(line(x), line(y)))
	})
	var out []string
	for _, o := range list {
		out = append(out, line(o))
	}
	return out
}

func (b *bench) want(lines ...string) {
	b.tb.Helper()
	if got := b.lines(); !slices.Equal(got, lines) {
		b.tb.Errorf("\n got %s\nwant %s", strings.Join(got, "\n     "), strings.Join(lines, "\n     "))
	}
}

// case of a table.
type scenario struct {
	name    string
	process string
	write   func(s *script)
	want    []string
	until   float64
}

func runScenarios(t *testing.T, list []scenario) {
	t.Helper()
	for _, sc := range list {
		t.Run(sc.name, func(t *testing.T) {
			s := newScript(cmp.Or(sc.process, "c41"))
			sc.write(s)
			b := newBench(t).play(s.messages())
			if sc.until > 0 {
				b.until(sc.until)
			}
			b.want(sc.want...)
		})
	}
}

func sortByReceived(msgs []lab.Message) {
	slices.SortStableFunc(msgs, func(a, b lab.Message) int { return a.Received.Compare(b.Received) })
}
