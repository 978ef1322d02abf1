package report

import (
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// Row is one line of the trace: one set of readings with the place in the run
// where it was taken.
type Row struct {
	At    lab.Time
	Step  string
	N     int
	Phase lab.Phase
	// Readings, °C, as the unit sent them; nil where not measured.
	BathC, PreheatC, RoomC *float64
	// RPM is the last rotation received in this phase; nil where none was.
	RPM *float64
	// Limits of the step's bath, °C; nil where there is no sheet.
	LowC, HighC *float64
	// EquivalentS is the equivalent time of the step up to here, from the
	// readings alone (probe offset counted in), in a developer.
	EquivalentS *float64
}

// phaseSpan is a time in one phase of one step.
type phaseSpan struct {
	Step     string
	N        int
	Phase    lab.Phase
	From, To time.Time
	Whole    bool // received from its beginning to its end
}

// rotation is one report of the rotation.
type rotation struct {
	T     time.Time
	RPM   float64
	N     int
	Phase lab.Phase
}

// runTrace is what happened in a run by its messages: readings, phases and
// rotation along one time axis.
type runTrace struct {
	specs   sheetSteps
	offsetC float64

	Rows      []Row
	Spans     []phaseSpan
	Rotations []rotation
	First     time.Time
	Last      time.Time

	rpm         *float64
	equivalents map[int]*runningEquivalent // by step number
	previous    *timedMessage
}

// runningEquivalent is the running integral of one step.
type runningEquivalent struct {
	sum   float64
	fromT time.Time
	c     float64
	has   bool
}

// traceRun goes through the messages of a run.
func traceRun(list []timedMessage, runName string, sp sheetSteps, offsetC float64) *runTrace {
	w := &runTrace{specs: sp, offsetC: offsetC, equivalents: map[int]*runningEquivalent{}}
	for i := range list {
		m := &list[i]
		if w.First.IsZero() {
			w.First = m.T
		}
		w.Last = m.T
		switch {
		case m.Step != nil && m.Step.Run == runName:
			w.step(m)
		case m.Temp != nil:
			w.temp(m)
		case m.Motion != nil && m.Motion.RPM != nil:
			w.motion(m)
		}
		w.previous = m
	}
	return w
}

// current is the phase that the trace has come to, nil before the first.
func (w *runTrace) current() *phaseSpan {
	if len(w.Spans) == 0 {
		return nil
	}
	return &w.Spans[len(w.Spans)-1]
}

// messagesMissing tells whether messages are missing right before m.
func (w *runTrace) messagesMissing(m *timedMessage) bool {
	p := w.previous
	return p != nil && (p.Boot != m.Boot || m.Seq != p.Seq+1)
}

func (w *runTrace) step(m *timedMessage) {
	s := m.Step
	now := w.current()
	if now != nil && now.N == s.N && now.Step == s.Step && now.Phase == s.Phase {
		now.To = m.T
		return
	}
	received := !w.messagesMissing(m)
	if now != nil {
		now.To = m.T
		now.Whole = now.Whole && received
		w.endBath(now, m.T)
	}
	w.Spans = append(w.Spans, phaseSpan{Step: s.Step, N: s.N, Phase: s.Phase, From: m.T, To: m.T, Whole: received && now != nil})
	w.rpm = nil
	if s.Phase == lab.PhaseInBath {
		w.enterBath(s.N, m.T)
	}
}

// enterBath begins the integral of a step, or takes it up again at the
// temperature that was last measured in it.
func (w *runTrace) enterBath(n int, t time.Time) {
	e := w.equivalents[n]
	if e == nil {
		w.equivalents[n] = &runningEquivalent{fromT: t}
		return
	}
	e.advance(t, e.c, w.devStep())
}

func (w *runTrace) devStep() *process.Step {
	now := w.current()
	if now == nil {
		return nil
	}
	if sp := w.specs.of(now.Step); sp != nil && sp.Kind == process.Dev {
		return sp
	}
	return nil
}

// endBath carries the integral on to the end of a bath, at the temperature that
// was measured last.
func (w *runTrace) endBath(was *phaseSpan, t time.Time) {
	e := w.equivalents[was.N]
	if was.Phase != lab.PhaseInBath || e == nil || !e.has {
		return
	}
	e.advance(t, e.c, w.devStep())
}

func (e *runningEquivalent) advance(t time.Time, c float64, sp *process.Step) {
	if sp != nil && e.has {
		e.sum += sp.Equivalent(e.c, c, t.Sub(e.fromT).Seconds()).Best
	}
	e.fromT, e.c = t, c
}

func (w *runTrace) temp(m *timedMessage) {
	now := w.current()
	if now == nil {
		return
	}
	now.To = m.T
	r := Row{At: lab.At(m.T), Step: now.Step, N: now.N, Phase: now.Phase,
		BathC: m.Temp.BathC, PreheatC: m.Temp.PreheatC, RoomC: m.Temp.RoomC, RPM: w.rpm}
	if sp := w.specs.of(now.Step); sp != nil && inStep(now.Phase) {
		low, high := sp.LowC, sp.HighC
		r.LowC, r.HighC = &low, &high
	}
	if now.Phase == lab.PhaseInBath && r.BathC != nil {
		w.bathReading(now, m, &r)
	}
	w.Rows = append(w.Rows, r)
}

func (w *runTrace) bathReading(now *phaseSpan, m *timedMessage, r *Row) {
	e, sp := w.equivalents[now.N], w.devStep()
	if e == nil || sp == nil {
		return
	}
	c := *r.BathC + w.offsetC
	if !e.has {
		e.has, e.c = true, c // the bath came in as it was first measured
	}
	e.advance(m.T, c, sp)
	v := e.sum
	r.EquivalentS = &v
}

func inStep(p lab.Phase) bool {
	return p == lab.PhaseFilling || p == lab.PhaseInBath || p == lab.PhaseDraining
}

func (w *runTrace) motion(m *timedMessage) {
	now := w.current()
	if now == nil {
		return
	}
	now.To = m.T
	v := *m.Motion.RPM
	w.rpm = &v
	w.Rotations = append(w.Rotations, rotation{T: m.T, RPM: v, N: now.N, Phase: now.Phase})
}

// spansOf gives the spans of one step in one phase.
func (w *runTrace) spansOf(n int, p lab.Phase) (out []phaseSpan) {
	for _, s := range w.Spans {
		if s.N == n && s.Phase == p {
			out = append(out, s)
		}
	}
	return out
}
