package judge

import (
	"math"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
	"wetside/internal/simulation/sim"
)

// boardReading is what the board said at one moment of an outage.
type boardReading struct {
	at      time.Time
	cut     sim.FaultTruth
	outlook *lab.Outlook // nil: nothing
}

// lookEvery is how often the board is looked at in an outage.
const lookEvery = 15 * time.Second

// readBoard notes what the board says while the mains power of the judged run is
// lost.
func (p *playedScenario) readBoard(l *sim.Lab, at time.Time) {
	for _, f := range l.Faults() {
		if f.Fault.Run != p.last || f.Fault.Kind != sim.PowerCut && f.Fault.Kind != sim.Restart || !f.To.IsZero() {
			continue
		}
		if n := len(p.boardReadings); n > 0 && at.Sub(p.boardReadings[n-1].at) < lookEvery {
			return
		}
		u, ok := p.replay.engine.View(lab.UnitID{Lab: sim.DemoLab, Unit: unitName}, at)
		if ok {
			p.boardReadings = append(p.boardReadings, boardReading{at: at, cut: f, outlook: u.Outlook})
		}
		return
	}
}

// judgedOutlook sets what the board said at a moment beside the physics.
type judgedOutlook struct {
	Kind         sim.Kind
	AfterS       float64 // since the cut
	Missing      bool
	Action       string
	Right        bool    // the action fits the physics
	Costs        float64 // of draining when it says, against the best, stops
	OffS         float64
	NothingKnown bool // nothing read, and the unit never seen to cool
	Ranged       bool // it says where the push error would end
	Covered      bool // and the film would end there
	What         *lab.Outlook
}

// Within these times after a cut the board must say what to do: on battery
// the unit says so itself; a unit that went down is silent from its last
// will, a keep-alive and a half later, and the wait that the contract gives.
const (
	batteryKnownS = 10
	silentKnownS  = 45 + 15 + 10
)

// judgeOutlooks judges what the board said while film stood in a developer.
func (p *playedScenario) judgeOutlooks(steps []stepTruth) []judgedOutlook {
	var out []judgedOutlook
	for _, s := range p.boardReadings {
		for i := range steps {
			x := &steps[i]
			in := s.at.After(x.InBath) && s.cut.From.After(x.InBath) && (x.Drained.IsZero() || s.at.Before(x.Drained))
			least := float64(batteryKnownS)
			if s.cut.Fault.Kind == sim.Restart || p.name == "battery-weak" {
				least = silentKnownS
			}
			after := s.at.Sub(s.cut.From).Seconds()
			if in && x.sheet.Kind == process.Dev && after >= least && !x.ByHand {
				out = append(out, p.outlookOn(x, s, after))
			}
		}
	}
	return out
}

func (p *playedScenario) outlookOn(x *stepTruth, s boardReading, after float64) judgedOutlook {
	o := judgedOutlook{Kind: s.cut.Fault.Kind, AfterS: after, Missing: s.outlook == nil, What: s.outlook,
		NothingKnown: !p.known && (s.cut.Fault.Kind == sim.Restart || p.name == "battery-weak")}
	if s.outlook == nil {
		return o
	}
	o.Action = s.outlook.Action
	path := p.filmCooling(x, s.at, byProbe, x.sheet.Factor.Best)
	best := path.until(x.aimS())
	switch s.outlook.Action {
	case process.Hold:
		o.Right = x.pastOut(path.stops(process.ReactS, p.push))
	case process.DrainAt:
		o.Right = !x.pastOut(path.stops(process.ReactS, p.push) - 4*edgeStops)
		if s.outlook.ActAt == nil {
			o.Missing = true
			break
		}
		at := max(0, s.outlook.ActAt.Sub(s.at).Seconds()) + process.ReactS
		soonest := max(best, process.ReactS)
		o.OffS = at - soonest
		o.Costs = math.Abs(path.stops(at, p.push)) - math.Abs(path.stops(soonest, p.push))
		if w := s.outlook; w.PushLowStops != nil && w.PushHighStops != nil {
			const rounding = 0.01
			film := p.filmCooling(x, s.at, byFilm, p.trueFactor(x)).stops(at, p.push)
			o.Ranged, o.Covered = true, film >= *w.PushLowStops-rounding && film <= *w.PushHighStops+rounding
		}
	case process.GoOn:
		o.Right = best > process.ReactS-5
	}
	return o
}

// filmCooling is film at a moment of an outage, by its truth or by what the
// probe showed, and by a factor: what it has had, and how it goes on.
func (p *playedScenario) filmCooling(x *stepTruth, at time.Time, by int, factor float64) cooling {
	k := cooling{x: x, factor: factor}
	litres := 0.0
	for _, m := range x.wet {
		if m.At.After(at) {
			break
		}
		k.c, litres, k.room = p.at(m, by), m.Litres, m.Room
		k.had += tickS * k.rate(k.c)
	}
	k.tau = (litres*p.traits.LiquidJ + p.traits.WallJ) / p.traits.LossW
	return k
}

// trueFactor is the true factor of the judged run's developer.
func (p *playedScenario) trueFactor(x *stepTruth) float64 {
	if f := p.traits.Factors[p.process+"/"+x.Step]; f > 0 {
		return f
	}
	return x.sheet.Factor.Best
}

// cooling is film that stands in a bath without power: Newton's law, by what
// the unit really is.
type cooling struct {
	c, room, tau float64
	had          float64 // equivalent seconds
	factor       float64
	x            *stepTruth
}

// after is the equivalent time s seconds on, in steps of half a second.
func (k cooling) after(s float64) float64 {
	sum := k.had
	for t := 0.0; t < s; t += tickS {
		dt := min(tickS, s-t)
		c := k.room + (k.c-k.room)*math.Exp(-(t+dt/2)/k.tau)
		sum += dt * k.rate(c)
	}
	return sum
}

// until is when the film comes to an equivalent time, seconds; 0 where it has
// that already.
func (k cooling) until(eq float64) float64 {
	sum := k.had
	t := 0.0
	for ; sum < eq && t < 7200; t += tickS {
		c := k.room + (k.c-k.room)*math.Exp(-(t+tickS/2)/k.tau)
		sum += tickS * k.rate(c)
	}
	return t
}

// stops is the push error of draining s seconds on, as endStops gives it.
func (k cooling) stops(s, push float64) float64 {
	eq := k.after(s)
	if k.x.sheet.Push == nil {
		return (eq - k.x.sheetS) / 30
	}
	v, _ := k.x.stops(eq, push)
	return v
}

func (k cooling) rate(c float64) float64 { return math.Pow(k.factor, (c-k.x.sheet.AimC)/10) }
