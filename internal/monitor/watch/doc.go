// Package watch is the worker between the store, the rules, the alerts and
// the pages: it reads what arrived, lets the rules engine fold it, and writes
// what was found, the transitions of alerts, the pages and the state of the
// fold in one transaction.
//
// A Worker is made with New, started once and stopped. One goroutine makes
// all calls of the engine and all writes. What it holds in memory is a cache:
// at start, and whenever a write fails, it makes a new engine and takes up
// the stored states, so that nothing is repeated and nothing skipped. A wake
// is only a hint; the worker looks for itself four times a second, and always
// before it lets time pass, so that nobody is called silent who was heard. When another
// wetside has taken the lab, it ends with an error (Done, Err).
//
// Units, Unit, Jobs, OpenAlerts, Rebuilt, Done, Err, Nudge and Stop are safe
// to call from any goroutine; the first four give what was last written, and
// nothing of it is ever changed. Nudge may coalesce; nothing else drops anything.
package watch
