package sim

import (
	"time"

	"wetside/internal/lab"
)

// Moment is what the film is in at a moment of a run.
type Moment struct {
	At     time.Time
	N      int // the step's place in the program, from 1
	Phase  lab.Phase
	Litres float64 // of liquid on the film
	C      float64 // of that liquid, °C
	ShownC float64 // what a perfect reading of the unit's probe would be
	RPM    float64 // of the unit's drive
	ByHand bool    // turned by a person
	Power  bool    // heaters, pumps and drive have mains
	Room   float64 // °C
}

// Said is a message that the unit sent, whether it arrived or not.
type Said struct {
	At   time.Time
	Boot string
	Seq  int64
	Bath bool // it carries a reading of the bath
}

// Own is what a unit is like: what nobody can read off its telemetry.
type Own struct {
	Unit    string  // "lab/unit"
	ProbeC  float64 // what its bath's probe shows too much
	LossW   float64 // heat that the processing tank loses to the room, W/K
	WallJ   float64 // heat capacity of the processing tank with reels and film, J/K
	LiquidJ float64 // of a litre of bath, J/K
	FillLS  float64 // l/s
	DrainLS float64 // l/s
	Factors map[string]float64
}

// Units tells what the units are like, in their order.
func (l *Lab) Units() []Own {
	l.mu.Lock()
	defer l.mu.Unlock()
	out := make([]Own, 0, len(l.units))
	for _, u := range l.units {
		out = append(out, Own{Unit: u.id.String(), ProbeC: u.plan.ProbeC, LossW: u.bath.wall.ua, WallJ: u.bath.wall.c,
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

// traceBath keeps the moment, from the first filling to the last draining.
func (u *unit) traceBath(powered bool) {
	r := u.run
	if !u.trace || r == nil || !r.wet() {
		return
	}
	r.truth.Trace = append(r.truth.Trace, Moment{At: u.now, N: r.cur + 1, Phase: r.phase, Litres: u.bath.litres,
		C: u.bath.liquid, ShownC: u.bath.liquid + u.plan.ProbeC + u.eff.probe, RPM: u.rpm, ByHand: u.eff.byHand,
		Power: powered, Room: u.room()})
}

// traceSaid keeps that a message was sent.
func (u *unit) traceSaid(payload []byte, c lab.Channel) {
	if !u.trace || u.run == nil {
		return
	}
	bath := c == lab.ChannelTemp && u.immersing() && !u.eff.noBath
	u.run.truth.Said = append(u.run.truth.Said, Said{At: u.moment(), Boot: u.boot, Seq: u.seq, Bath: bath})
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

// Moment tells what a unit is in now: the film's step and for how long it has
// been in that bath; false where there is no bath on it.
func (l *Lab) Moment(name string) (ordinal int, step string, in time.Duration, ok bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, u := range l.units {
		if u.plan.Name == name && u.inBath() && u.run.truth.last() != nil {
			return u.run.ordinal, u.run.at().id, u.now.Sub(u.run.truth.last().InBath), true
		}
	}
	return 0, "", 0, false
}
