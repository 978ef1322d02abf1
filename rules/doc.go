// Package rules is the heart of wetside: the film rules, one pure fold. A
// unit's messages in the order of its timeline go in; findings come out:
// conditions that began and ended, runs, and the live view. It reads no
// clock, file, socket or database, so that live watching, recovery after a
// crash, replay of a capture and a trial of changed rules all run the same
// code and cannot disagree.
//
// Who puts messages in order, waits for holes, folds again when late evidence
// comes and keeps what was found is rules/timeline. It drives Unit:
//
//	Unit          one unit (unit.go); Take folds the next message of its
//	              timeline (fold.go), what it finds goes to Findings
//	state         what is known of the unit (state.go), in timeline time
//	              (clock.go): the run (run.go, enterrun.go, runend.go), its
//	              steps (steps.go) and their phases (phases.go)
//	rule_*.go     each rule, by what lasts long enough (conditions.go)
//	entries       what people state, do and set (entries.go): kept beside the
//	              state, counted in by their times (applyentries.go, runfigures.go)
//	kinetics      what a bath did to the film, with its range (bath.go, estimate.go,
//	              kinetics.go); outages and advice (outage.go, outlook.go)
//	record        the run with its verdict and ranked reasons (runrecord.go,
//	              verdict.go)
//	View          what the board shows (view.go)
//
// Timeline time is the unit's own and decides every rule here. Arrival time is
// ours, and belongs to rules/timeline.
//
// A Unit belongs to one goroutine.
package rules
