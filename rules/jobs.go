package rules

import (
	"maps"
	"slices"
	"time"

	"wetside/internal/lab"
)

// dryingSet takes the time for which drying is set.
func (u *Unit) dryingSet(st *lab.Step) {
	if st.Phase != lab.PhaseDrying || st.SetS == nil {
		return
	}
	u.s.PhaseSetS = *st.SetS
	if !u.s.PhaseHeard && st.ElapsedS != nil { // its beginning was not received: the unit's own count tells when it was
		u.s.PhaseSetS = max(0, u.s.Clock.T.Sub(u.s.PhaseT).Seconds()+*st.SetS-*st.ElapsedS)
	}
}

// dryAt is when the film in the dryer will be dry, by the unit's own setting.
func (u *Unit) dryAt() time.Time { return u.s.PhaseT.Add(lab.Seconds(u.s.PhaseSetS)) }

// dryJob is when film has to be fetched from the dryer: at the end of the drying
// time that the unit sent, or since it said that it is done.
func (u *Unit) dryJob() (lab.Job, bool) {
	s := u.s
	j := lab.Job{Unit: u.id.String(), What: lab.JobFetchDry}
	switch {
	case s.Run == nil || !s.Run.film():
		return j, false
	case s.running() && s.Phase == lab.PhaseDrying && s.PhaseSetS > 0:
		j.Run, j.DueAt = s.Run.ID, lab.At(s.Clock.report(u.dryAt()))
		return j, true
	case !s.running() && s.Phase == lab.PhaseDone && s.Run.Away == nil:
		j.Run, j.DueAt = s.Run.ID, lab.At(s.Clock.report(s.PhaseT))
		return j, true
	}
	return j, false
}

// Jobs lists where a person is needed at the unit next. v is its outlook, nil
// for none.
func (u *Unit) Jobs(v *lab.Outlook) (jobs []lab.Job) {
	s := u.s
	add := func(what string, due lab.Time) {
		jobs = append(jobs, lab.Job{Unit: u.id.String(), What: what, DueAt: due, Run: s.Run.ID})
	}
	jobs = u.filmJobs()
	if j, ok := u.dryJob(); ok {
		jobs = append(jobs, j)
	}
	if !s.running() {
		return jobs
	}
	if s.Phase == lab.PhaseWaiting {
		add(waitWords(s.WaitsFor), lab.At(s.Clock.report(s.PhaseT)))
	} else if left, ok := u.toDryerS(); ok {
		add(waitWords(lab.WaitToDryer), lab.At(s.Clock.report(u.inSeconds(left))))
	}
	if v != nil && v.ActAt != nil {
		add(actJob(v), *v.ActAt)
	}
	for _, key := range slices.Sorted(maps.Keys(s.Open)) {
		o := s.Open[key]
		what := map[string]string{RuleWasteWillNotFit: "empty ", RuleWashWaterShort: "top up ", RuleChemistryShort: "fill "}[o.Rule]
		in, ok := o.Facts["drain_in_s"].(float64)
		if !ok {
			in, ok = o.Facts["draw_in_s"].(float64)
		}
		if what != "" && ok {
			add(what+u.containerName(o.Subject), lab.At(s.Clock.report(u.inSeconds(in))))
		}
	}
	return jobs
}

// IdleJob is what an idle unit waits for: to be loaded, or for its load to be
// started. Neither is due at a certain time. It is false where something known
// stands against a run: wet film, no room in a container, no mains power.
func IdleJob(u lab.Unit) (j lab.Job, ok bool) {
	j = lab.Job{Unit: u.ID, Patient: true}
	if u.Activity != lab.ActivityIdle || u.Link != lab.LinkOnline || u.LastHeardAt == nil || u.Fault != nil {
		return j, false
	}
	if u.Light.State == lab.LightDark || len(u.Film) > 0 || u.Power.Source == lab.SourceBattery {
		return j, false
	}
	j.DueAt = *u.LastHeardAt
	if u.Load != nil && (len(u.Load.Rolls) > 0 || u.Load.Process != "") {
		j.What = lab.JobStart
		return j, true
	}
	for _, c := range u.Containers {
		if c.FloatShut || c.RunsLeft != nil && *c.RunsLeft == 0 {
			return j, false
		}
	}
	j.What = lab.JobReady
	return j, true
}
