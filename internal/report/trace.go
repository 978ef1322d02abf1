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
	// RPM is the last rotation heard in this phase; nil where none was.
	RPM *float64
	// Limits of the step's bath, °C; nil where there is no sheet.
	LowC, HighC *float64
	// EquivalentS is the equivalent time of the step up to here, from the
	// readings alone (probe offset counted in), in a developer.
	EquivalentS *float64
}

// stretch is a time in one phase of one step.
type stretch struct {
	Step     string
	N        int
	Phase    lab.Phase
	From, To time.Time
	Whole    bool // heard from its beginning to its end
}

// turn is one report of the rotation.
type turn struct {
	T     time.Time
	RPM   float64
	N     int
	Phase lab.Phase
}

// walk is the course of a run as its messages tell it.
type walk struct {
	specs   specs
	offsetC float64

	Rows      []Row
	Stretches []stretch
	Turns     []turn
	First     time.Time
	Last      time.Time

	rpm  *float64
	eq   map[int]*equivalent // by step number
	prev *moment
}

// equivalent is the running integral of one step.
type equivalent struct {
	sum   float64
	fromT time.Time
	c     float64
	has   bool
}

// follow walks through the run.
func follow(list []moment, runName string, sp specs, offsetC float64) *walk {
	w := &walk{specs: sp, offsetC: offsetC, eq: map[int]*equivalent{}}
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
		w.prev = m
	}
	return w
}

// now is the stretch that the walk is in, nil before the first.
func (w *walk) now() *stretch {
	if len(w.Stretches) == 0 {
		return nil
	}
	return &w.Stretches[len(w.Stretches)-1]
}

// hole tells whether messages are missing right before m.
func (w *walk) hole(m *moment) bool {
	p := w.prev
	return p != nil && (p.Boot != m.Boot || m.Seq != p.Seq+1)
}

func (w *walk) step(m *moment) {
	s := m.Step
	now := w.now()
	if now != nil && now.N == s.N && now.Step == s.Step && now.Phase == s.Phase {
		now.To = m.T
		return
	}
	heard := !w.hole(m)
	if now != nil {
		now.To = m.T
		now.Whole = now.Whole && heard
		w.settle(now, m.T)
	}
	w.Stretches = append(w.Stretches, stretch{Step: s.Step, N: s.N, Phase: s.Phase, From: m.T, To: m.T, Whole: heard && now != nil})
	w.rpm = nil
	if s.Phase == lab.PhaseInBath {
		w.enterBath(s.N, m.T)
	}
}

// enterBath begins the integral of a step, or takes it up again at the
// temperature that was last measured in it.
func (w *walk) enterBath(n int, t time.Time) {
	e := w.eq[n]
	if e == nil {
		w.eq[n] = &equivalent{fromT: t}
		return
	}
	e.advance(t, e.c, w.devStep())
}

func (w *walk) devStep() *process.Step {
	now := w.now()
	if now == nil {
		return nil
	}
	if sp := w.specs.of(now.Step); sp != nil && sp.Kind == process.Dev {
		return sp
	}
	return nil
}

// settle carries the integral to the end of a bath.
func (w *walk) settle(was *stretch, t time.Time) {
	e := w.eq[was.N]
	if was.Phase != lab.PhaseInBath || e == nil || !e.has {
		return
	}
	e.advance(t, e.c, w.devStep())
}

func (e *equivalent) advance(t time.Time, c float64, sp *process.Step) {
	if sp != nil && e.has {
		e.sum += sp.Equivalent(e.c, c, t.Sub(e.fromT).Seconds()).Best
	}
	e.fromT, e.c = t, c
}

func (w *walk) temp(m *moment) {
	now := w.now()
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
		w.reading(now, m, &r)
	}
	w.Rows = append(w.Rows, r)
}

func (w *walk) reading(now *stretch, m *moment, r *Row) {
	e, sp := w.eq[now.N], w.devStep()
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

func (w *walk) motion(m *moment) {
	now := w.now()
	if now == nil {
		return
	}
	now.To = m.T
	v := *m.Motion.RPM
	w.rpm = &v
	w.Turns = append(w.Turns, turn{T: m.T, RPM: v, N: now.N, Phase: now.Phase})
}

// of gives the stretches of one step in one phase.
func (w *walk) of(n int, p lab.Phase) (out []stretch) {
	for _, s := range w.Stretches {
		if s.N == n && s.Phase == p {
			out = append(out, s)
		}
	}
	return out
}
