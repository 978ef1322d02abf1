package rules

import (
	"fmt"
	"math"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// fillMixing is one fill of a developer: the temperature of the liquid before it,
// and what it came to in the tank.
type fillMixing struct {
	PreC   float64 `json:"pre_c"`
	StartC float64 `json:"start_c"`          // the first readings in the tank
	TauS   float64 `json:"tau_s,omitzero"`   // time constant with which the heater brought it to its set point; 0: it was there
	SumC   float64 `json:"sum_c,omitzero"`   // of the first readings
	N      int     `json:"n,omitempty"`      // how many of them
	Judged bool    `json:"judged,omitempty"` // preheat-off has been judged for this fill
	Known  bool    `json:"known,omitempty"`  // PreC is known
}

// Figures of preheat-off, until the unit's own fills tell: common practice, no
// source.
const (
	mixesKept   = 12
	mixStartS   = 10  // readings of the first seconds are what the mixing gave
	preheatOldS = 60  // an older reading of the preheat says nothing of a fill
	mixFarC     = 3   // until the unit's usual is known, only a difference of so many °C counts
	mixLeast    = 3   // so many fills, and the unit's usual is known
	mixTauS     = 60  // time constant of the heater, until the unit has shown it
	mixTauLeast = 0.3 // so many °C off, and a fill shows the heater's time constant
)

// takePreheat takes a reading of the liquid before it is on the film.
func (u *Unit) takePreheat(v float64, t time.Time) {
	s := u.s
	if !u.preheatBelieved(v, t) {
		return
	}
	s.Preheat = reading{v, t}
	if c := s.currentStep(); c != nil && s.Phase == lab.PhaseFilling && c.Fills == 1 {
		u.preheatOff(c)
	}
}

// preheatBelieved tells whether a reading of the preheat can be right: a possible
// temperature, and no jump since the one before.
func (u *Unit) preheatBelieved(v float64, t time.Time) bool {
	s, fig := u.s, u.fig()
	if !u.believable(v) {
		return false
	}
	if c := s.currentStep(); c != nil {
		if sp := u.spec(c); sp != nil && inFahrenheit(v, sp.LowC, sp.HighC) {
			return false
		}
	}
	dt := t.Sub(s.Preheat.T).Seconds()
	if !s.Preheat.known() || dt > preheatOldS {
		return true
	}
	return math.Abs(v-s.Preheat.V) <= min(max(fig.JumpC, fig.JumpRateC*dt), fig.ReachC)
}

// preheatOff judges the liquid for a developer's first fill before it is on the
// film, and raises preheat-off where the push error would be beyond the limits.
func (u *Unit) preheatOff(c *runStep) {
	s, sp, t := u.s, u.spec(c), u.s.Clock.T
	if sp == nil || sp.Kind != process.Dev || !u.judged() || c.Fills != 1 || c.Mix.Judged ||
		!s.Preheat.known() || t.Sub(s.Preheat.T) > lab.Seconds(preheatOldS) {
		return
	}
	c.Mix.Judged, c.Mix.Known, c.Mix.PreC = true, true, s.Preheat.V
	target, ok := sp.TimeFor(s.Run.Push, c.SetS)
	if !ok {
		return
	}
	m := u.mixModel(c, sp)
	if set := asCelsius(c.SetC, sp); set > 0 && (sp.FromUnit || sp.HasTimeAt(set)) && math.Abs(s.Preheat.V-set) < math.Abs(s.Preheat.V-m.UsualC) {
		m.UsualC = set // this run is at another temperature than the unit's last ones, with a time for it
	}
	off := s.Preheat.V - m.UsualC
	if math.Abs(off) <= m.SpreadC {
		return
	}
	a := process.Aim{Push: s.Run.Push, SetS: c.SetS}
	eq := sp.AfterFill(off*m.Share.Best, m.TauS, target)
	if sp.Off(eq, a) == 0 {
		return
	}
	add := lab.Round(target-eq, 0)
	w := alertContent{priority: lab.High, facts: map[string]any{"preheat_c": lab.Round(s.Preheat.V, 2), "usual_c": lab.Round(m.UsualC, 2),
		"off_c": lab.Round(off, 2), "add_s": add, "sheet_s": target, "fills_known": m.Fills,
		"mixing_share": lab.Round(m.Share.Best, 2), "mixing_share_low": lab.Round(m.Share.Low, 2), "mixing_share_high": lab.Round(m.Share.High, 2)}}
	if stops, ok := sp.Stops(eq, a); ok && sp.Side(eq, a) == 0 {
		w.facts["push_error_end_stops"] = lab.Round(stops, 2)
	}
	way, by := "cool", "more"
	if off > 0 {
		way, by = "warm", "less"
	}
	w.message = fmt.Sprintf("%s goes in %.1f °C too %s: preheat %.1f °C, usually %.1f °C", capital(sp.Label), math.Abs(off), way, s.Preheat.V, m.UsualC)
	w.response = fmt.Sprintf("Set the developer to %s at the unit (%s %s), or stop the fill and bring the developer to %.1f °C first. Check the preheat.",
		lab.SpanText(target+add), lab.SpanText(add), by, m.UsualC)
	u.raise(alertKey{rule: RulePreheatOff, step: c}, t, w)
}

// mixModel is what is known of how this unit's fills of a step go.
type mixModel struct {
	UsualC, SpreadC float64
	Share           process.Range // how much of a difference in the liquid is left once it is in the tank
	TauS            float64
	Fills           int
}

func (u *Unit) mixModel(c *runStep, sp *process.Step) mixModel {
	h := u.s.habit(u.habitKey(c), u.s.Clock.T)
	m := mixModel{UsualC: sp.AimC, SpreadC: mixFarC, TauS: mixTauS, Fills: len(h.Mix)}
	var fills []process.Fill
	var pre, tau lastValues
	for _, x := range h.Mix {
		fills = append(fills, process.Fill{LiquidC: x.PreC, MixedC: x.StartC})
		pre = append(pre, x.PreC)
		if x.TauS > 0 {
			tau = append(tau, x.TauS)
		}
	}
	m.Share = process.MixingShare(fills)
	if len(pre) >= mixLeast {
		m.UsualC = pre.median()
		var dev lastValues
		for _, v := range pre {
			dev = append(dev, math.Abs(v-m.UsualC))
		}
		m.SpreadC = max(0.3, 3*1.4826*dev.median())
	}
	if v := tau.median(); v > 0 {
		m.TauS = v
	}
	return m
}

// followMixing notes what a fill came to in the tank, and clears preheat-off once
// the heater has made up for it.
func (u *Unit) followMixing(c *runStep, v float64, t time.Time) {
	in := t.Sub(c.BathT).Seconds()
	if c.Fills == 1 && in <= mixStartS {
		c.Mix.SumC, c.Mix.N = c.Mix.SumC+v, c.Mix.N+1
		return
	}
	a := alertKey{rule: RulePreheatOff, step: c}
	sp := u.spec(c)
	if in < meanMostS || sp == nil || u.open(a) == nil {
		return
	}
	p, ok := u.project(c, sp, v, t)
	if ok && p.beyond == 0 {
		u.clear(a, t) // the heater has made up for it
	}
}

// learnMixing adds a fill whose bath was read all through to the unit's habits.
func (u *Unit) learnMixing(c *runStep, h *habit) {
	m, b := &c.Mix, &c.Bath
	if !m.Known || m.N == 0 || c.Fills > 1 || b.SumS < 2*meanMostS || c.unreadS() > 0 {
		return
	}
	out := fillMixing{PreC: m.PreC, StartC: m.SumC / float64(m.N), Known: true}
	if off := out.StartC - b.PrevC; math.Abs(off) >= mixTauLeast {
		out.TauS = min(max(b.SumS*(b.SumC/b.SumS-b.PrevC)/off, 5), 600)
	}
	h.Mix = append(h.Mix, out)
	if more := len(h.Mix) - mixesKept; more > 0 {
		h.Mix = slices.Delete(h.Mix, 0, more)
	}
}
