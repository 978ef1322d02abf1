// Package rulestest helps the tests of rules and of rules/timeline: a Script is
// a unit's telemetry written by hand, in seconds from nine o'clock; a Bench
// plays it to an engine as the live worker does and keeps what was found.
package rulestest
