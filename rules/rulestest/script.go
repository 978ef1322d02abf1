package rulestest

import (
	"cmp"
	"slices"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// Script is a unit's telemetry written by hand, in seconds from nine o'clock
// by the unit's own clock. Events may be written in any order; Messages
// numbers them in the order of their times.
type Script struct {
	Unit     lab.UnitID
	Boot     string
	Run      string
	Process  string
	Push     float64
	Kind     string
	SetTimes map[string]float64 // set times that differ from the sheet's
	FillML   float64
	UpS      bool // with up_s
	Events   []*Event

	Restarts []float64 // when the controller starts again
}

// Event is one message on its way. Times are seconds from nine.
type Event struct {
	At, Recv float64 // by the unit's clock; of its arrival
	Shift    float64 // by how much At is off
	Up       float64
	Lost     bool
	M        lab.Message
}

// Nine is when every script begins.
var Nine = time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)

// NewScript begins a script of a run of a process, with nothing in it yet.
func NewScript(process string) *Script {
	return &Script{Unit: lab.UnitID{Lab: "tern-street", Unit: "plover"}, Boot: "b1", Run: "r1", Process: process,
		SetTimes: map[string]float64{}, FillML: 500}
}

// Add writes a message.
func (s *Script) Add(at float64, ch lab.Channel, m lab.Message) *Event {
	m.Unit, m.Boot, m.Channel = s.Unit, s.Boot, ch
	e := &Event{At: at, Recv: at, Up: at, M: m}
	s.Events = append(s.Events, e)
	return e
}

// Phase says a phase of the run once.
func (s *Script) Phase(at float64, p lab.Phase, step string, n int) *lab.Step {
	st := &lab.Step{Phase: p}
	if p != lab.PhaseIdle {
		*st = lab.Step{Phase: p, Run: s.Run, Process: s.Process, Push: s.Push, Kind: s.Kind, Step: step, N: n}
		if set, ok := s.SetS(step); ok {
			st.SetS = &set
		}
		if s.FillML > 0 {
			st.FillML = &s.FillML
		}
	}
	s.Add(at, lab.ChannelStep, lab.Message{Step: st})
	return st
}

// SetS is the time that a step is set to: the sheet's, unless SetTimes says otherwise.
func (s *Script) SetS(step string) (float64, bool) {
	if v, ok := s.SetTimes[step]; ok {
		return v, true
	}
	sh, _ := process.Builtin().Sheet(s.Process)
	if sp, ok := sh.Step(step); ok {
		return sp.TimeFor(s.Push, 390)
	}
	return 0, false
}

// SetC is the temperature that the unit says it is set to, in all it has said.
func (s *Script) SetC(c float64) {
	for _, e := range s.Events {
		if e.M.Step != nil && e.M.Step.Run != "" {
			e.M.Step.SetC = &c
		}
	}
}

// Preheat is the liquid before it is on the film.
func (s *Script) Preheat(at, c float64) {
	s.Add(at, lab.ChannelTemp, lab.Message{Temp: &lab.Temp{PreheatC: &c}})
}

// Stays says a phase from a moment to another, every ten seconds.
func (s *Script) Stays(from, to float64, p lab.Phase, step string, n int) {
	for at := from; at < to; at += 10 {
		s.Phase(at, p, step, n)
	}
}

// Temp is a reading of the bath.
func (s *Script) Temp(at, c float64) *Event {
	return s.Add(at, lab.ChannelTemp, lab.Message{Temp: &lab.Temp{BathC: &c}})
}

// Dryer is a reading of the dryer.
func (s *Script) Dryer(at, c float64) {
	s.Add(at, lab.ChannelTemp, lab.Message{Temp: &lab.Temp{DryerC: &c}})
}

// RPM is a reading of the rotation.
func (s *Script) RPM(at, v float64) {
	s.Add(at, lab.ChannelMotion, lab.Message{Motion: &lab.Motion{RPM: &v}})
}

// Level says what is in one container, and which floats are closed.
func (s *Script) Level(at float64, name string, l float64, full ...string) {
	s.Add(at, lab.ChannelTank, lab.Message{Tank: &lab.Tank{LevelsL: map[string]float64{name: l}, Full: full}})
}

// Power says where the electricity comes from, or what became of it.
func (s *Script) Power(at float64, source, ev string, pct, outageS float64) {
	p := &lab.Power{Source: source, Event: ev}
	if pct > 0 {
		p.BatteryPct = &pct
	}
	if outageS > 0 {
		p.OutageS = &outageS
	}
	s.Add(at, lab.ChannelPower, lab.Message{Power: p})
}

// Course is a temperature, or another figure, by time.
type Course func(t float64) float64

// Always is one temperature all the time.
func Always(c float64) Course { return func(float64) float64 { return c } }

// Between is other from a moment to another, aim elsewhere.
func Between(aim, from, to, other float64) Course {
	return func(t float64) float64 {
		if t >= from && t < to {
			return other
		}
		return aim
	}
}

// Bath is a bath from in-bath to the start of its draining: steps every 10 s,
// readings every 2 s, rotation every 4 s, the draining 10 s.
func (s *Script) Bath(from, to float64, step string, n int, c Course) {
	s.Stays(from, to, lab.PhaseInBath, step, n)
	for t := from + 2; t < to; t += 2 {
		s.Temp(t, c(t))
	}
	for t := from + 1; t < to; t += 4 {
		s.RPM(t, 30)
	}
	s.Phase(to, lab.PhaseDraining, step, n)
}

// WholeStep is a whole step: filling 5 s before, the bath.
func (s *Script) WholeStep(from, to float64, step string, n int, c Course) {
	s.Phase(from-5, lab.PhaseFilling, step, n)
	s.Bath(from, to, step, n, c)
}

// C41 is a whole run in good order, beginning with heating at from; it gives
// when it is done.
func (s *Script) C41(from float64) float64 {
	s.Phase(from, lab.PhaseIdle, "", 0)
	s.Phase(from+1, lab.PhaseHeating, "developer", 1)
	at := from + 20
	for i, st := range C41Steps {
		s.WholeStep(at, at+st.S, st.ID, i+1, Always(st.C))
		at += st.S + 20
	}
	s.Phase(at, lab.PhaseDone, "", 0)
	s.Phase(at+5, lab.PhaseIdle, "", 0)
	return at
}

// Cut takes what was written in [from, to) out of the telemetry that arrives.
func (s *Script) Cut(from, to float64) {
	for _, e := range s.Events {
		if e.At >= from && e.At < to {
			e.Lost = true
		}
	}
}

// Without forgets what pick chooses, as if it was never sent.
func (s *Script) Without(pick func(e *Event) bool) {
	s.Events = slices.DeleteFunc(s.Events, pick)
}

// Buffered lets what was written in [from, to) arrive at to, a burst of two
// seconds, and what is sent meanwhile after it.
func (s *Script) Buffered(from, to float64) {
	for _, e := range s.Events {
		if e.At >= from && e.At < to {
			e.Recv = to + (e.At-from)/(to-from)*2
		} else if e.At >= to {
			e.Recv = max(e.At, to+2)
		}
	}
}

// Messages numbers the events and gives what arrives, in order of arrival.
func (s *Script) Messages() []lab.Message {
	slices.SortStableFunc(s.Events, func(a, b *Event) int { return cmp.Compare(a.At, b.At) })
	seqs := map[string]int64{}
	var out []lab.Message
	for _, e := range s.Events {
		m := e.M
		for _, at := range s.Restarts {
			if e.At >= at && !m.Will {
				m.Boot += "'"
			}
		}
		m.Received = Moment(e.Recv).Add(20 * time.Millisecond)
		if !m.Will {
			seqs[m.Boot]++
			m.Seq = seqs[m.Boot]
			m.At = Moment(e.At + e.Shift)
			m.SentAt = m.At
			if s.UpS {
				m.UpS = &e.Up
			}
		}
		if !e.Lost {
			out = append(out, m)
		}
	}
	slices.SortStableFunc(out, func(a, b lab.Message) int { return a.Received.Compare(b.Received) })
	return out
}

// Moment is so many seconds after nine.
func Moment(s float64) time.Time { return Nine.Add(lab.Seconds(s)) }

// SortByReceived puts messages in the order of their arrival.
func SortByReceived(msgs []lab.Message) {
	slices.SortStableFunc(msgs, func(a, b lab.Message) int { return a.Received.Compare(b.Received) })
}

// C41Run is a run of C-41 in good order, with what write adds to it.
func C41Run(t *testing.T, write func(s *Script)) *Script {
	t.Helper()
	s := NewScript("c41")
	s.C41(0)
	if write != nil {
		write(s)
	}
	return s
}

// Drains says where a step drains to.
func (s *Script) Drains(step, to string, from, until float64) {
	for _, e := range s.Events {
		if e.M.Step != nil && e.M.Step.Step == step && e.At >= from && e.At < until {
			e.M.Step.DrainTo = to
		}
	}
}

// Slower lets the fill of a step that ends at or after from begin so many seconds earlier.
func (s *Script) Slower(step string, from, byS float64) {
	e := s.Events[slices.IndexFunc(s.Events, func(e *Event) bool {
		return e.M.Step != nil && e.M.Step.Step == step && e.M.Step.Phase == lab.PhaseFilling && e.At >= from
	})]
	e.At, e.Recv, e.Up = e.At-byS, e.Recv-byS, e.Up-byS
}

// Levels says what a container's sensor reads, from a moment to another.
func (s *Script) Levels(from, to, every float64, name string, l Course) {
	for t := from; t < to; t += every {
		s.Level(t, name, l(t))
	}
}

// Room is a reading of the room.
func (s *Script) Room(at, c float64) {
	s.Add(at, lab.ChannelTemp, lab.Message{Temp: &lab.Temp{RoomC: &c}})
}

// Renamed lets the unit call a step otherwise than the sheet.
func (s *Script) Renamed(pairs ...string) *Script {
	for _, e := range s.Events {
		for i := 0; e.M.Step != nil && i < len(pairs); i += 2 {
			if e.M.Step.Step == pairs[i] {
				e.M.Step.Step = pairs[i+1]
				break
			}
		}
	}
	return s
}

// Extra puts a short step of the unit's own behind the last.
func (s *Script) Extra(step string) {
	s.Without(func(e *Event) bool { return e.At >= 1575 })
	s.Phase(1570, lab.PhaseFilling, step, 7)
	s.Bath(1572, 1580, step, 7, Always(38))
	s.Phase(1595, lab.PhaseDone, "", 0)
	s.Phase(1600, lab.PhaseIdle, "", 0)
}

// WholeRun is a run of every step of the sheet in good order, at the times the
// unit is set to; c names baths that stand elsewhere than at their aim.
func (s *Script) WholeRun(t *testing.T, c map[string]float64) {
	t.Helper()
	sheet, _ := process.Builtin().Sheet(s.Process)
	s.Phase(0, lab.PhaseIdle, "", 0)
	s.Phase(1, lab.PhaseHeating, sheet.Steps[0].ID, 1)
	at := 20.0
	for i, st := range sheet.Steps {
		bath := st.AimC
		if v := c[st.ID]; v > 0 {
			bath = v
		}
		set, ok := s.SetS(st.ID)
		if !ok {
			t.Fatalf("%s has no time", st.ID)
		}
		s.WholeStep(at, at+set, st.ID, i+1, Always(bath))
		at += set + 20
	}
	s.Phase(at, lab.PhaseDone, "", 0)
	s.Phase(at+5, lab.PhaseIdle, "", 0)
}

// Developer begins a run: heard idle, heating, filling; the developer's bath is in
// at 100 and is drained at 295 if it keeps the sheet's time.
func Developer(s *Script, to float64, c Course) {
	s.Phase(0, "idle", "", 0)
	s.Phase(10, "heating", "developer", 1)
	s.WholeStep(100, to, "developer", 1, c)
}

// Bleached goes on after Developer with a bleach from 320 to 710.
func Bleached(s *Script, c Course) {
	Developer(s, 295, Always(37.8))
	s.WholeStep(320, 710, "bleach", 2, c)
}

// Warm gives the readings of [from, to) another value.
func (s *Script) Warm(from, to, c float64) {
	for _, e := range s.Events {
		if e.M.Temp != nil && e.At >= from && e.At < to {
			*e.M.Temp.BathC = c
		}
	}
}

// UpTo writes a run's steps from its first on, up to but without the step
// that stopped names; it gives when the next one may begin.
func UpTo(s *Script, stopped string) float64 {
	s.Phase(0, "idle", "", 0)
	s.Phase(1, "heating", "developer", 1)
	at := 20.0
	for i, st := range C41Steps {
		if st.ID == stopped {
			return at
		}
		s.WholeStep(at, at+st.S, st.ID, i+1, Always(st.C))
		at += st.S + 20
	}
	return at
}

// C41Steps are the steps of C-41 with their times and aims, by the sheet.
var C41Steps = []struct {
	ID   string
	S, C float64
}{{"developer", 195, 37.8}, {"bleach", 390, 38}, {"wash-1", 195, 38}, {"fixer", 390, 38}, {"wash-2", 195, 38}, {"final-rinse", 90, 38}}

// Rescue writes a run that begins with the step named and goes on to the end.
func Rescue(s *Script, at float64, run, from string) float64 {
	s.Run = run
	s.Phase(at, "heating", from, 1)
	n, on := 0, false
	at += 20
	for _, st := range C41Steps {
		if on = on || st.ID == from; !on {
			continue
		}
		n++
		s.WholeStep(at, at+st.S, st.ID, n, Always(st.C))
		at += st.S + 20
	}
	s.Phase(at, "done", "", 0)
	s.Phase(at+5, "idle", "", 0)
	return at
}

// Ends says that the unit stands idle.
func Ends(s *Script, from, to float64) { s.Stays(from, to, lab.PhaseIdle, "", 0) }

// Will is the unit's last will, which the broker sends.
func (s *Script) Will(at float64) {
	s.Add(at, lab.ChannelStatus, lab.Message{Will: true})
}
