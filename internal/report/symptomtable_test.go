package report

import (
	"slices"
	"testing"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// reasonCodes are the reasons that a verdict can have: those of the contract
// and an aborted run.
var reasonCodes = []string{"bath-warm", "bath-cool", "step-long", "step-short", "step-skipped", "rotation", "outage", "wrong-time",
	"wrong-process", "chemistry", "dryer", "missing-evidence", "out-of-pattern", "aborted", "bath-swings"}

// Every reason in every step of every built-in sheet has something to look
// for, with a source.
func TestEveryReasonHasAConsequence(t *testing.T) {
	book := process.Builtin()
	for _, id := range book.IDs() {
		sp := stepsJudgedBy(Criteria{}.config(), id, nil)
		for _, code := range reasonCodes {
			for _, step := range sp.sheet.Steps {
				run := lab.Run{Process: id, Reasons: []lab.Reason{{Code: code, Step: step.ID}}}
				got := lookFor(run, sp)
				if len(got) != 1 || got[0].Look == "" || got[0].Source == "" || got[0].Code != code {
					t.Errorf("%s in %s %s: %+v", code, id, step.ID, got)
				}
			}
		}
	}
}

// What is usually saved says so: a bleach or fixer too short or too cool, in
// every process that has one.
func TestWhatCanBeSaved(t *testing.T) {
	book := process.Builtin()
	for _, id := range book.IDs() {
		sp := stepsJudgedBy(Criteria{}.config(), id, nil)
		for _, step := range []string{"bleach", "fixer", "bleach-fix"} {
			if sp.of(step) == nil {
				continue
			}
			for _, code := range []string{"step-short", "bath-cool", "step-skipped"} {
				got := lookFor(lab.Run{Process: id, Reasons: []lab.Reason{{Code: code, Step: step}}}, sp)
				if len(got) != 1 || !containsAll(got[0].Remedy, "Usually saved", "again", "before drying") {
					t.Errorf("%s in %s %s: %+v", code, id, step, got)
				}
			}
		}
	}
}

// The tables name sources that exist, steps that sheets have, reasons that
// verdicts have; each fault once.
func TestTheTables(t *testing.T) {
	tab := builtinTable()
	steps := []string{"*", "wash*"}
	for _, id := range process.Builtin().IDs() {
		s, _ := process.Builtin().Sheet(id)
		for _, st := range s.Steps {
			steps = append(steps, st.ID)
		}
	}
	source := func(where, key string, memory bool) {
		if _, ok := tab.Sources[key]; !ok {
			t.Errorf("%s: source %q is not in the list", where, key)
		}
		if key == "practice" && !memory {
			t.Errorf("%s: common practice is from memory and must say so", where)
		}
	}
	known := func(where string, list, of []string) {
		for _, x := range list {
			if !slices.Contains(of, x) {
				t.Errorf("%s: there is no %q", where, x)
			}
		}
	}
	families := everyFamily
	for _, l := range tab.Look {
		source(l.Look, l.Source, l.Memory || l.Source != "practice")
		known(l.Look, l.Codes, reasonCodes)
		known(l.Look, l.Steps, steps)
	}
	seen := map[string]bool{}
	for _, s := range tab.Symptoms {
		if seen[s.Seen] || s.Label == "" || len(s.Causes) == 0 {
			t.Errorf("%s: twice, without label or without causes", s.Seen)
		}
		seen[s.Seen] = true
		known(s.Seen, s.Families, families)
		for _, c := range s.Causes {
			where := s.Seen + ": " + c.Text
			source(where, c.Source, c.Memory)
			known(where, c.Families, families)
			known(where, c.Steps, steps)
			known(where, c.Reasons, reasonCodes)
			known(where, []string{c.Way}, []string{"", wayMore, wayLess, wayOff, wayReasons, wayJump})
			if c.Way == "" && c.Tell == "" {
				t.Errorf("%s: neither measured nor told how to tell", where)
			}
		}
	}
}

func TestSymptomsByProcess(t *testing.T) {
	has := func(list []SymptomLabel, seen string) bool {
		return slices.ContainsFunc(list, func(s SymptomLabel) bool { return s.Seen == seen })
	}
	for _, tt := range []struct {
		process, seen string
		want          bool
	}{
		{"c41", "thin", true}, {"c41-kit", "magenta-cast", true}, {"c41", "too-light", false}, {"e6-3", "too-light", true},
		{"e6-7", "thin", false}, {"bw", "magenta-cast", false}, {"bw", "partly-positive", true}, {"", "too-dark", true},
		{"house-mix", "thin", true}, {"bw", "reticulated", true},
	} {
		if got := has(Symptoms(tt.process), tt.seen); got != tt.want {
			t.Errorf("%s on film of %q: %v, want %v", tt.seen, tt.process, got, tt.want)
		}
	}
}
