package rules

import (
	"wetside/internal/lab"
)

// resumedByBoot notices by its boot that a controller started again and goes on
// with the run, whether it says so or not.
func (u *Unit) resumedByBoot(m *lab.Message) {
	s := u.s
	if m.Step.Run != s.Run.Name || s.Run.LastBoot == m.Boot {
		return
	}
	s.Run.LastBoot = m.Boot
	u.resumed(true, m, nil)
}

// resumed raises power-resumed, once for an outage however often its end is told.
func (u *Unit) resumed(restart bool, m *lab.Message, outageS *float64) {
	s := u.s
	now := s.Clock.T
	o := u.lastOutage()
	if u.sameReturn(o, m.Boot, restart, outageS) {
		if outageS != nil && o.S != *outageS {
			o.S = *outageS
			if u.advisable(o) {
				u.advise(o)
			}
			u.reportRun()
		}
		return
	}
	if o == nil || !o.BackT.IsZero() {
		lost := s.Run.LastT
		if restart && !s.DownT.IsZero() {
			lost = s.DownT
		}
		o = u.openOutage(lost)
		if outageS != nil {
			o.LostT = now.Add(-lab.Seconds(*outageS))
			o.LostAt = lab.At(s.Clock.report(o.LostT)).Time
		}
	}
	o.BackT, o.BackAt, o.Boot = now, lab.At(s.Clock.report(now)).Time, m.Boot
	o.S = now.Sub(o.LostT).Seconds()
	if outageS != nil {
		o.S = *outageS
	}
	if restart {
		o.Kind = "restart"
	}
	if restart {
		s.Run.LastBoot = m.Boot
	}
	o.Early = m.Step == nil && s.Unsure != nothingMissed
	u.advise(o)
	u.reportRun()
}

// adviseAtStep gives the advice once more when the first step message after a
// restart tells where the film is.
func (u *Unit) adviseAtStep() {
	if o := u.lastOutage(); o != nil && o.Early {
		o.Early = false
		u.advise(o)
		u.reportRun()
	}
}

// advisable tells whether the advice on an outage may still change. Afterwards the
// record must keep what was advised while people could act on it.
func (u *Unit) advisable(o *outage) bool {
	c, _ := u.inBath()
	return !o.Settled && (o.ActT.IsZero() || c != nil && c.N == o.N && c.ID == o.Step)
}

// sameReturnS is for how long after the power came back a second message of it
// counts as the same, seconds, where nothing else tells.
const sameReturnS = 60

// sameReturn tells whether the power came back as is known already: a restart is
// told by the new boot and by an event, in either order, and units repeat
// themselves. One outage is one alert.
func (u *Unit) sameReturn(o *outage, boot string, restart bool, outageS *float64) bool {
	if o == nil || o.BackT.IsZero() || !u.s.Power.LostT.IsZero() {
		return false
	}
	if o.Boot != boot {
		return false // a restart is an outage of its own
	}
	if restart {
		return o.Kind == "restart"
	}
	since := u.s.Clock.T.Sub(o.BackT).Seconds()
	return since <= sameReturnS || outageS != nil && *outageS >= since-1
}

func (u *Unit) lastOutage() *outage {
	if n := len(u.s.Run.Outages); n > 0 {
		return u.s.Run.Outages[n-1]
	}
	return nil
}

// resumedPriority is urgent while what was advised can still be done, then high
// until the last bath is over.
func (u *Unit) resumedPriority(o *outage) lab.Priority {
	switch {
	case u.s.Run.BathsEnd:
		return lab.Low
	case o.Over:
		return lab.High
	}
	return lab.Urgent
}

// settleResumed lowers the priority of power-resumed when it is too late for its
// advice, and again when the last bath is over.
func (u *Unit) settleResumed() {
	for _, o := range u.s.Run.Outages {
		a := alertKey{rule: RulePowerResumed, subject: lab.At(o.BackAt).String(), run: true}
		occ := u.open(a)
		if o.BackT.IsZero() || occ == nil || o.Early && !u.s.Run.BathsEnd {
			continue
		}
		o.Over = o.Over || u.overFor(o)
		want := u.resumedPriority(o)
		if want == lab.Urgent || occ.Priority == u.card(occ.Rule).priority(want) {
			continue
		}
		w := alertContent{priority: want, message: occ.Message, harm: occ.Consequence, facts: occ.Facts, response: u.overText(o)}
		u.change(a, w, true)
	}
}
