// Package rules is the heart of wetside: one pure fold. A unit's timeline (its
// messages in order) and the passing of arrival time go in; findings come
// out: conditions that began and ended, runs, and the live view. It reads no
// clock, file, socket or database, so that live watching, recovery after a
// crash, replay of a capture and a trial of changed rules all run the same
// code and cannot disagree.
//
// How a message goes through it:
//
//	Engine.Feed   takes arrivals in the order in which they were stored
//	watch         one unit: puts them in the order of its timeline (order.go),
//	              waits a little for holes, notices late evidence and folds
//	              again from the checkpoint before it (refold.go)
//	state         the fold itself: timeline time (timeline.go), the run and its
//	              steps (steps.go, runend.go), then each rule (rule_*.go)
//	entries       what people state, do and set (entries.go): kept beside the
//	              state, counted in by their times (apply.go, figures.go)
//	kinetics      what a bath did to the film, with its range (bath.go, unread.go,
//	              kinetics.go); outages and advice (outage.go, outlook.go)
//	record        the run with its verdict and ranked reasons (report.go, verdict.go)
//	arrivals      what can only be judged on arrival: silence, the clock's
//	              offset, refused telemetry (arrivals.go)
//	View          what the board shows (view.go)
//
// Two clocks run here. Timeline time is the unit's own and decides every rule
// but three. Arrival time is ours: it decides how long to wait for a hole,
// what had already ended when it was noticed, and the three rules of
// arrivals.go.
//
// An Engine belongs to one goroutine.
package rules
