package web

import (
	"context"
	"slices"
	"strings"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// What looking after a unit is called among the jobs, before what it is about.
const (
	jobCheck = "check "   // it is due
	jobFault = "look at " // the last check of it found a fault
)

// Checks that are no jobs of this kind, or not at any time.
const (
	checkStrip   = "strip"   // control strips have jobs of their own
	checkBattery = "battery" // the plug is pulled on an idle unit only
)

// checkStates works out where the checks of a unit stand, with the runs since
// each where the lab counts them.
func (s *Server) checkStates(ctx context.Context, unit string, entries []lab.Entry, settings lab.LabSettings) ([]process.CheckState, error) {
	var failed error
	ran := func(since time.Time, most int) int {
		runs, err := s.cfg.Store.Runs(ctx, lab.RunFilter{Unit: unit, From: since, Limit: most})
		if err != nil {
			failed = err
		}
		return len(runs)
	}
	states := process.CheckStates(entries, process.CheckEvery{Days: settings.CheckDays, Runs: settings.CheckRuns, Ran: ran}, s.cfg.Clock.Now())
	return states, failed
}

// allJobs are the jobs of the units and control strips, and behind them what is
// due of looking after units: of a check that was done on the unit before, or
// that the lab set an interval for. A lab that does neither is sent nowhere.
func (s *Server) allJobs(ctx context.Context) ([]lab.Job, error) {
	out := s.jobs()
	settings, err := s.cfg.Store.LabSettings(ctx)
	if err != nil {
		return nil, err
	}
	all, err := s.cfg.Store.Entries(ctx, lab.EntryFilter{What: []string{lab.EntryCheck, lab.EntryProbe, lab.EntryTakesBack}, Limit: maxLimit})
	if err != nil {
		return nil, err
	}
	if len(all) == 0 && len(settings.CheckDays) == 0 && len(settings.CheckRuns) == 0 {
		return out, nil
	}
	byUnit := map[string][]lab.Entry{}
	for _, e := range lab.InForce(all) {
		byUnit[e.Unit.String()] = append(byUnit[e.Unit.String()], e)
	}
	for _, u := range s.views() {
		if u.Link != lab.LinkOnline || u.Activity != lab.ActivityIdle || u.Standing == lab.UnitOutOfService || u.Standing == lab.UnitRetired {
			continue
		}
		states, err := s.checkStates(ctx, u.ID, byUnit[u.ID], settings)
		if err != nil {
			return nil, err
		}
		out = append(out, s.checkJobs(u, states)...)
	}
	slices.SortStableFunc(out, lab.SoonestFirst)
	return out, nil
}

// checkJobs are the checks of an idle unit that somebody should do. None of them
// is due by the minute.
func (s *Server) checkJobs(u lab.Unit, states []process.CheckState) (out []lab.Job) {
	for _, c := range states {
		if c.ID == checkStrip || !c.ToDo() || c.ID == checkBattery && (u.Power.Source == lab.SourceBattery || len(u.Film) > 0) {
			continue
		}
		what, due := jobCheck, c.DueAt
		if c.State == process.CheckFault {
			what, due = jobFault, c.Last.At
		}
		if now := s.cfg.Clock.Now(); due.IsZero() || due.After(now) {
			due = now // by its runs, or never done
		}
		out = append(out, lab.Job{Unit: u.ID, What: what + strings.ToLower(c.Label[:1]) + c.Label[1:], DueAt: lab.At(due), Patient: true})
	}
	return out
}
