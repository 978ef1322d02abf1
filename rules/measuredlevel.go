package rules

import (
	"encoding/json"
	"math"
	"time"

	"wetside/internal/lab"
	"wetside/rules/level"
)

// measuredLevel is a level that a person measured, by dipstick or by the marks of
// the container. It is taken for right: a working sensor then only tells what
// came and went since. It counts until a person does something else to the
// container, or the sensor shows that somebody did without entering it.
type measuredLevel struct {
	L       float64   `json:"l"`
	T       time.Time `json:"t"`
	Sensor  bool      `json:"sensor,omitempty"` // a sensor works beside it
	SensorL float64   `json:"sensor_l"`         // what the sensor read at that moment, or would have read
	EndT    time.Time `json:"end_t,omitzero"`   // when it stopped counting
	Why     string    `json:"why,omitempty"`    // one of lab.MeasuredEnded...
}

// measuredLevelS is for how long a level that was measured while the unit was
// off counts when its sensor then begins to work, seconds: people look at the
// containers in the morning and then switch on. Common practice, no source.
const measuredLevelS = 3600

func (h *measuredLevel) counts() bool { return h != nil && h.EndT.IsZero() }

// sensorFresh tells whether the sensor works, by its last reading.
func (t *tank) sensorFresh(now time.Time) bool {
	return t.Known && !t.HeardT.IsZero() && now.Sub(t.HeardT) < lab.Seconds(sensorFreshS)
}

// pumps tells whether something may have been pumped in or out of a container
// since its last reading.
func (u *Unit) pumps(t *tank) bool {
	s := u.s
	return s.Pumping != nil || s.Phase == lab.PhaseFilling || s.Phase == lab.PhaseDraining || s.Unsure != nothingMissed || t.PumpT.After(t.HeardT)
}

// moves tells whether a pump moves the level of a container now, as far as is known.
func (u *Unit) moves(name string) bool {
	s := u.s
	if s.Phase != lab.PhaseFilling && s.Phase != lab.PhaseDraining || !s.running() || s.Unsure != nothingMissed {
		return false
	}
	p := s.Pumping
	return p == nil || p.From == name || p.To == name
}

// takeReading takes a reading of the sensor.
func (t *tank) takeReading(l, capacity float64, now time.Time, as arrivesAs) {
	switch h := t.Measured; {
	case !h.counts() || h.Sensor:
	case now.Sub(h.T) > lab.Seconds(measuredLevelS):
		h.EndT, h.Why = now, lab.MeasuredEndedOld
		t.beginByProbe(l, capacity, now)
	default: // it begins to work: the level that was counted from the measurement stands
		h.Sensor, h.SensorL = true, l-(t.Level-h.L)
		t.estimated(capacity, now).Unchecked(10 * (l - t.Est.L))
	}
	t.follow(l, capacity, now, as)
	t.Known, t.HeardT, t.HeardL = true, now, l
}

// peopleMoved tells whether a reading differs from the last by more than a
// leak or the sensor's noise can make it.
func (t *tank) peopleMoved(l float64, now time.Time) bool {
	return math.Abs(l-t.HeardL) > max(balancePeopleL, balancePeopleLS*now.Sub(t.HeardT).Seconds(), levelNoise*t.Diffs.sigma())
}

// takeEntered takes what a person did to the container or measured, and tells
// whether that changed the level.
func (t *tank) takeEntered(b lab.ContainerEvent, spec lab.ContainerSpec, now time.Time) bool {
	measured := b.What == lab.SetLevel && b.Litres != nil
	t.answerMoved()
	if t.sensorFresh(now) {
		switch {
		case measured:
			t.Measured = &measuredLevel{L: *b.Litres, T: now, Sensor: true, SensorL: t.HeardL}
			t.SaidT = now
			t.stated(*b.Litres, spec.CapacityL, now)
		case t.Measured == nil:
			return false
		default: // the sensor shows what was done
			t.Measured = nil
			t.beginByProbe(t.HeardL, spec.CapacityL, now)
			t.Level = t.HeardL
		}
		return true
	}
	l, spread, ok := levelAfter(b, spec, t)
	if t.Measured = nil; !ok {
		t.Known, t.Est = false, level.Estimate{Gain: t.Est.Gain, Var: level.Cov{GG: t.Est.Var.GG}}
		return false
	}
	if measured {
		t.Measured = &measuredLevel{L: l, T: now}
	}
	t.begin(level.Begin(l, spread, pumpGainShare, offsetL(spec.CapacityL)), now)
	t.Level, t.Known, t.SaidT = l, true, now
	return true
}

// shown is a container as the board shows it: with what people entered a moment
// ago, which is counted in only when the unit sends again.
func (u *Unit) shown(name string, spec lab.ContainerSpec) *tank {
	t := u.s.Tanks[name]
	now := u.s.now()
	for _, k := range u.entries {
		var b lab.ContainerEvent
		if k.What != lab.EntryContainer || !k.T.After(now) || !u.s.pending(k) || json.Unmarshal(k.Body, &b) != nil || b.Container != name {
			continue
		}
		later := tank{}
		if t != nil {
			later = *t
		}
		later.takeEntered(b, spec, u.s.Clock.T.Add(k.T.Sub(now)))
		t = &later
	}
	return t
}

// measuredView is what a person measured, as it is shown.
func (u *Unit) measuredView(t *tank) *lab.MeasuredLevel {
	h := t.Measured
	if h == nil {
		return nil
	}
	v := &lab.MeasuredLevel{Litres: lab.Round(h.L, 2), At: lab.At(u.s.Clock.report(h.T)), Used: h.counts(), Why: h.Why, EndedAt: lab.AtPtr(u.s.Clock.report(h.EndT))}
	if h.EndT.IsZero() {
		v.EndedAt = nil
	}
	if h.Sensor {
		v.SensorLitres = new(lab.Round(h.SensorL, 2))
	}
	return v
}
