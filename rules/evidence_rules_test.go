package rules_test

import (
	"testing"

	"wetside/internal/lab"
	"wetside/rules"
)

var allRenamed = []string{"developer", "dev-tank", "bleach", "blix-a", "wash-1", "rinse-1", "fixer", "fix-tank", "wash-2", "rinse-2", "final-rinse", "stabi"}

// Contract, section 2: step-unknown, and names alone make no step skipped.
func TestStepUnknown(t *testing.T) {
	const run = "r1"
	u := newScript("c41").Unit
	name := func(at float64, runID, name, step string) lab.Entry {
		return enters(u, at, lab.EntryStepName, runID, lab.StepName{Process: "c41", Name: name, Step: step})
	}
	for _, tt := range []struct {
		name    string
		write   func(s *script)
		entries []lab.Entry
		want    []string
		verdict string
		reasons []string
		says    string
	}{
		{name: "one step renamed", write: func(s *script) { s.Renamed("bleach", "blix-a") },
			want: []string{"step-unknown blix-a high 230-1595"}, verdict: lab.Inspect, reasons: []string{"step-unknown "},
			says: `Step name "blix-a" is not on the C-41 sheet`},
		{name: "all renamed: said at the first", write: func(s *script) { s.Renamed(allRenamed...) },
			want: []string{"step-unknown dev-tank high 1-1595"}, verdict: lab.Inspect, reasons: []string{"step-unknown "},
			says: `6 step names are not on the C-41 sheet: "dev-tank", "blix-a", "rinse-1" and 3 more`},
		{name: "mapped before the run: the sheet's step", write: func(s *script) { s.Renamed("bleach", "blix-a") },
			entries: []lab.Entry{name(-60, "", "blix-a", "bleach")}, verdict: lab.InControl},
		{name: "mapped in the run for that run: withdrawn", write: func(s *script) { s.Renamed("bleach", "blix-a") },
			entries: []lab.Entry{name(500, rules.RunID(u, run), "blix-a", "bleach")}, verdict: lab.InControl},
		{name: "mapped after its end: judged again", write: func(s *script) { s.Renamed("bleach", "blix-a") },
			entries: []lab.Entry{name(2000, rules.RunID(u, run), "blix-a", "bleach")}, verdict: lab.InControl},
		{name: "mapped for the runs to come only", write: func(s *script) { s.Renamed("bleach", "blix-a") },
			entries: []lab.Entry{name(500, "", "blix-a", "bleach")},
			want:    []string{"step-unknown blix-a high 230-1595"}, verdict: lab.Inspect, reasons: []string{"step-unknown "}},
		{name: "mapped for another process", write: func(s *script) { s.Renamed("bleach", "blix-a") },
			entries: []lab.Entry{enters(u, -60, lab.EntryStepName, "", lab.StepName{Process: "bw", Name: "blix-a", Step: "fixer"})},
			want:    []string{"step-unknown blix-a high 230-1595"}, verdict: lab.Inspect, reasons: []string{"step-unknown "}},
		{name: "an extra step, accepted: none", write: func(s *script) { s.Extra("hardener") },
			entries: []lab.Entry{name(-60, "", "hardener", "")}, verdict: lab.InControl},
		{name: "an extra step, not accepted", write: func(s *script) { s.Extra("hardener") },
			want: []string{"step-unknown hardener high 1570-1595"}, verdict: lab.Inspect, reasons: []string{"step-unknown "}},
		{name: "accepted in the place of the bleach: that is skipped", write: func(s *script) { s.Renamed("bleach", "hardener") },
			entries: []lab.Entry{name(-60, "", "hardener", "")},
			want:    []string{"step-skipped wash-1/bleach urgent 640-1595"}, verdict: lab.OutOfControl, reasons: []string{"step-skipped bleach"}},
		{name: "a name that the sheet has is not mapped away", entries: []lab.Entry{name(-60, "", "bleach", "fixer")}, verdict: lab.InControl},
		{name: "a flush carries no film", write: func(s *script) {
			s.Renamed("bleach", "blix-a")
			for _, e := range s.Events {
				if e.M.Step != nil {
					e.M.Step.Kind = lab.KindOfRunFlush
				}
			}
		}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			b := played(t, c41Run(t, tt.write), tt.entries...)
			b.Want(tt.want...)
			for _, o := range b.Found {
				if tt.says != "" && o.Message != tt.says {
					t.Errorf("says %q, want %q", o.Message, tt.says)
				}
			}
			b.Judged(t, run, tt.verdict, tt.reasons...)
		})
	}
}

// Drains and draws of a step that the sheet does not name are unknown: no
// shortage is told from a guess.
func TestStepUnknownDrains(t *testing.T) {
	for _, tt := range []struct {
		name  string
		write func(s *script)
		want  []string
	}{
		{name: "with the sheet's names the waste is too small", want: []string{"waste-nearly-full developer/waste high 6-", "waste-will-not-fit developer/waste high 6-860", "drain-not-arriving bleach/waste urgent 230-1595"}},
		{name: "with names of its own nothing is guessed", write: func(s *script) { s.Renamed(allRenamed...) },
			want: []string{"step-unknown dev-tank high 1-1595"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := c41Run(t, tt.write)
			for at := 0.0; at < 1600; at += 30 {
				s.Level(at+0.5, "waste", 15.8)
			}
			newBench(t).Play(s.Messages()).Want(tt.want...)
		})
	}
}

// Contract, section 1: what lies in a hole is missing evidence.
func TestMissingEvidence(t *testing.T) {
	for _, tt := range []struct {
		name     string
		from, to float64
		verdict  string
		reasons  []string
	}{
		// bleach is in from 235 to 625, wash-1 645 to 840, fixer 860 to 1250, wash-2 1270 to 1465
		{name: "the whole bleach", from: 228, to: 643, verdict: lab.Inspect, reasons: []string{"missing-evidence bleach"}},
		{name: "bleach and wash: the wash is said too", from: 228, to: 858, verdict: lab.Inspect, reasons: []string{"missing-evidence bleach", "missing-evidence wash-1"}},
		{name: "a wash alone: said, still in control", from: 635, to: 858, verdict: lab.InControl, reasons: []string{"missing-evidence wash-1"}},
		{name: "most of the bleach", from: 300, to: 643, verdict: lab.Inspect, reasons: []string{"missing-evidence bleach"}},
		{name: "the end of the bleach: long enough was received", from: 600, to: 643, verdict: lab.InControl},
		{name: "within the bleach: it was in before and after", from: 300, to: 500, verdict: lab.InControl},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := c41Run(t, nil)
			s.Cut(tt.from, tt.to)
			b := newBench(t).Play(s.Messages())
			for _, o := range b.Found {
				if o.Rule != rules.RuleUnitSilent {
					t.Errorf("%s was raised, want no more than unit-silent", line(o))
				}
			}
			b.Judged(t, "r1", tt.verdict, tt.reasons...)
		})
	}
}

// Contract, section 1: the time in a step, and a unit that counts otherwise.
func TestTimeInStep(t *testing.T) {
	u := newScript("c41").Unit
	counts := func(b lab.StepTime) lab.Entry { return enters(u, -60, lab.EntryStepTime, "", b) }
	times := func(b *bench) map[string]float64 {
		out := map[string]float64{}
		for _, st := range b.Runs[rules.RunID(u, "r1")].Steps {
			if st.TimeS != nil {
				out[st.Step] = *st.TimeS
			}
		}
		return out
	}
	// a developer that fills for 5 s, is in the bath for 185 s and drains for 10 s
	write := func(s *script) {
		s.Phase(0, lab.PhaseIdle, "", 0)
		s.Phase(1, lab.PhaseHeating, "developer", 1)
		s.Phase(15, lab.PhaseFilling, "developer", 1)
		s.Bath(20, 205, "developer", 1, always(37.8))
		s.WholeStep(220, 610, "bleach", 2, always(38))
		s.Phase(625, lab.PhaseFilling, "wash-1", 3)
		s.Bath(630, 690, "wash-1", 3, always(38)) // three fills of one wash
		s.Phase(700, lab.PhaseFilling, "wash-1", 3)
		s.Bath(705, 765, "wash-1", 3, always(38))
		s.Phase(775, lab.PhaseFilling, "wash-1", 3)
		s.Bath(780, 840, "wash-1", 3, always(38))
		s.WholeStep(860, 1250, "fixer", 4, always(38))
		s.WholeStep(1270, 1465, "wash-2", 5, always(38))
		s.WholeStep(1485, 1575, "final-rinse", 6, always(38))
		s.Phase(1590, lab.PhaseDone, "", 0)
		s.Phase(1595, lab.PhaseIdle, "", 0)
	}
	for _, tt := range []struct {
		name      string
		entries   []lab.Entry
		want      []string
		dev, wash float64
	}{
		{name: "from in-bath to the last draining", dev: 185, wash: 210, want: []string{"step-short developer high 205-1590"}},
		{name: "with fill", entries: []lab.Entry{counts(lab.StepTime{WithFill: true})}, dev: 190, wash: 215, want: []string{"step-short developer high 205-1590"}},
		{name: "with drain: until the draining is over", entries: []lab.Entry{counts(lab.StepTime{WithDrain: true})}, dev: 195, wash: 220},
		{name: "with both", entries: []lab.Entry{counts(lab.StepTime{WithFill: true, WithDrain: true})}, dev: 200, wash: 225},
		{name: "back to the contract's", entries: []lab.Entry{enters(u, -90, lab.EntryStepTime, "", lab.StepTime{WithDrain: true}), counts(lab.StepTime{})},
			dev: 185, wash: 210, want: []string{"step-short developer high 205-1590"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := newScript("c41")
			write(s)
			b := played(t, s, tt.entries...)
			b.Want(tt.want...)
			if got := times(b); got["developer"] != tt.dev || got["wash-1"] != tt.wash {
				t.Errorf("developer %v s, wash-1 %v s; want %v and %v", got["developer"], got["wash-1"], tt.dev, tt.wash)
			}
		})
	}
}
