// Package sim is a lab of simulated film processors. Each unit is a small
// piece of physics (a bath that the tank and the film cool at the fill, a
// heater with a regulator, pumps, tanks with noisy sensors and bouncing
// floats, a battery) run by a controller that steps through a process as its
// sheet says, and that publishes what a real one would over a network that
// fails now and then.
//
// New builds a Lab from a Schedule (NormalDay, DemoPlan, EndlessPlan,
// historyPlan or one of your own); Advance moves virtual time and gives what
// reached the broker, in that order. The same seed and schedule give the same
// bytes. WriteCapture writes that as a capture, faster than real time;
// Publish sends it to a broker in real time, one connection a unit. Faults
// are injected by the schedule, and so is what people do by the unit in a cut
// (Actions). Faults, Runs and Units tell what really happened and what the units
// are like, which the telemetry alone does not; with Config.Trace moment by
// moment.
//
// The figures of the physics are plausible ones, chosen so that a healthy
// unit keeps the sheets' limits; they are measured on no real machine.
//
// A Lab may be used by one goroutine at a time for Advance; the Person
// methods, Faults, Runs, Actions, Units and Ended may be called at the same time from others.
package sim
