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
//	              (clock.go): the run and its steps (steps.go, runend.go)
//	rule_*.go     each rule, by readings that last (cond.go)
//	entries       what people state, do and set (entries.go): kept beside the
//	              state, counted in by their times (apply.go, figures.go)
//	kinetics      what a bath did to the film, with its range (bath.go, unread.go,
//	              kinetics.go); outages and advice (outage.go, outlook.go)
//	record        the run with its verdict and ranked reasons (report.go, verdict.go)
//	View          what the board shows (view.go)
//
// Timeline time is the unit's own and decides every rule here. Arrival time is
// ours, and belongs to rules/timeline.
//
// A Unit belongs to one goroutine.
package rules
