package watch

import "time"

// clockSetBy is by how much the clock must be off from steady time, since it
// was last looked at, to count as set: what disciplines a clock without
// setting it moves it far less.
const clockSetBy = 2 * time.Second

// reading is the clock and steady time at one moment.
type reading struct {
	clock  time.Time
	steady time.Duration
}

// hostClock notices that the machine's clock was set, before anything is
// judged by it.
func (f *folder) hostClock() {
	if f.cfg.Steady == nil {
		return
	}
	is := reading{f.cfg.Clock.Now().Round(0), f.cfg.Steady()} // Round: what the clock shows, and nothing else
	was := f.clockRead
	f.clockRead = is
	if was.clock.IsZero() {
		return
	}
	by := is.clock.Sub(was.clock) - (is.steady - was.steady)
	if by.Abs() < clockSetBy {
		return
	}
	f.cfg.Log.Warn("this machine's clock was set; what is counted on arrival moves along", "by", by)
	f.engine.ClockSet(is.clock, by)
	f.cfg.ClockSet(by)
}
