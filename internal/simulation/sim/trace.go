package sim

import (
	"time"

	"wetside/internal/lab"
)

// FilmMoment is what the film is in at one step of time.
type FilmMoment struct {
	At     time.Time
	N      int // the step's place in the program, from 1
	Phase  lab.Phase
	Litres float64 // of liquid on the film
	C      float64 // of that liquid, °C
	ProbeC float64 // what a perfect reading of the unit's probe would be
	RPM    float64 // of the unit's drive
	ByHand bool    // turned by a person
	Power  bool    // heaters, pumps and drive have mains
	Room   float64 // °C
}

// Sent is a message that the unit sent, whether it arrived or not.
type Sent struct {
	At   time.Time
	Boot string
	Seq  int64
	Bath bool // it carries a reading of the bath
}

// UnitTraits are a unit's own figures, which its telemetry does not show.
type UnitTraits struct {
	Unit    string  // "lab/unit"
	ProbeC  float64 // by how much its bath's probe reads too high
	LossW   float64 // heat that the processing tank loses to the room, W/K
	WallJ   float64 // heat capacity of the processing tank with reels and film, J/K
	LiquidJ float64 // of a litre of bath, J/K
	FillLS  float64 // l/s
	DrainLS float64 // l/s
	Factors map[string]float64
}

// Units gives the traits of the units, in their order.
func (l *Lab) Units() []UnitTraits {
	l.mu.Lock()
	defer l.mu.Unlock()
	out := make([]UnitTraits, 0, len(l.units))
	for _, u := range l.units {
		out = append(out, UnitTraits{Unit: u.id.String(), ProbeC: u.plan.ProbeC, LossW: u.bath.wall.ua, WallJ: u.bath.wall.c,
			LiquidJ: waterJ, FillLS: u.filler.rate, DrainLS: u.drainer.rate, Factors: u.plan.Factors})
	}
	return out
}

// last is the newest step, nil before the first bath.
func (t *RunTruth) last() *StepTruth {
	if len(t.Steps) == 0 {
		return nil
	}
	return &t.Steps[len(t.Steps)-1]
}

// traceBath saves this step of time, from the first filling to the last
// draining.
func (u *unit) traceBath(powered bool) {
	r := u.run
	if !u.trace || r == nil || !r.wet() {
		return
	}
	r.truth.Trace = append(r.truth.Trace, FilmMoment{At: u.now, N: r.step + 1, Phase: r.phase, Litres: u.bath.litres,
		C: u.bath.liquid, ProbeC: u.bath.liquid + u.plan.ProbeC + u.eff.probe, RPM: u.rpm, ByHand: u.eff.byHand,
		Power: powered, Room: u.room()})
}

// traceSent saves that a message was sent.
func (u *unit) traceSent(payload []byte, c lab.Channel) {
	if !u.trace || u.run == nil {
		return
	}
	bath := c == lab.ChannelTemp && u.probeInBath() && !u.eff.noBath
	u.run.truth.Sent = append(u.run.truth.Sent, Sent{At: u.sendTime(), Boot: u.boot, Seq: u.seq, Bath: bath})
}

// Ended counts the runs that have come to their end.
func (l *Lab) Ended() int { return l.ended(func(*unit) bool { return true }) }

// EndedOf counts those of one unit, by its name.
func (l *Lab) EndedOf(name string) int {
	return l.ended(func(u *unit) bool { return u.plan.Name == name })
}

func (l *Lab) ended(of func(*unit) bool) int {
	l.mu.Lock()
	defer l.mu.Unlock()
	n := 0
	for _, u := range l.units {
		if !of(u) {
			continue
		}
		for _, r := range u.done {
			if !r.Ended.IsZero() {
				n++
			}
		}
	}
	return n
}

// FilmInBath tells in which step the film of a unit is now and for how long it
// has been in that bath; false where it is in none.
func (l *Lab) FilmInBath(name string) (ordinal int, step string, in time.Duration, ok bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, u := range l.units {
		if u.plan.Name == name && u.inBath() && u.run.truth.last() != nil {
			return u.run.ordinal, u.run.current().id, u.now.Sub(u.run.truth.last().InBath), true
		}
	}
	return 0, "", 0, false
}

// Began counts the runs that have begun.
func (l *Lab) Began() int {
	l.mu.Lock()
	defer l.mu.Unlock()
	n := 0
	for _, u := range l.units {
		n += len(u.done)
	}
	return n
}
