// Package torture runs the real program, as people get it, on a real
// PostgreSQL and a real broker, does to it what can happen in a lab, and
// prints a table of what came of it: how often each fault was tried, how many
// messages were sent, lost and doubled, how long it took until wetside
// watched again, and what it told people meanwhile.
//
// It is all tests: nothing is exported and nobody imports it. The short form
// is part of make test; make torture runs the long one.
//
//	make torture TRIES=10 MINUTES=60 SEED=7
//
// Messages come from simulated units over connections that behave as a unit's
// do: in order, at QoS 1, again until they are acknowledged. What is sent is
// kept, so that in the end the export of the database is compared with it,
// message by message, and the alerts with those of a replay of the export.
package torture
