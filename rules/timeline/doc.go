// Package timeline puts what arrives of a unit in order and gives it to the
// film rules: a message behind a hole waits a little for what is missing, a
// backlog waits until it is whole, and what comes late has the unit folded
// again from a mark before it. It judges itself what only arrivals tell:
// silence, the clock's offset, refused telemetry, two controllers under one
// name. It keeps what was found, and gives out what is new of it.
//
//	Engine       any number of units; it belongs to one goroutine
//	unit         one unit: its order, its marks, what was found (unit.go)
//	order        boots, seqs, holes, what waits (order.go, refused.go)
//	refold       folding again from a mark (refold.go); the state before a run
//	             (runstate.go); a run given up, and what people enter ahead
//	             (lostrun.go, entries.go)
//	arrivals     what is judged on arrival (arrivals.go, silence.go, mixed.go)
//	Aside        a unit that cannot be judged, apart from the others (aside.go)
//
// Of the rules it knows rules.Unit and nothing inside it: that takes the
// messages of one unit in order and says what it finds. Like the rules it
// reads no clock, file, socket or database. Arrival time comes in with what
// arrives and with Tick; a History gives stored telemetry back.
package timeline
