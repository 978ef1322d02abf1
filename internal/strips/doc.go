// Package strips judges control strips: pieces of film of known exposure that
// go through a process, whose densities tell whether it is where it was.
//
// Chart gives the signals of one parameter's values in order of time: the
// action and control limits that are published or a lab's own, the Western
// Electric run rules, six rising or falling, and EWMA and CUSUM charts for
// slow drift. Nothing restarts after a signal: each point is judged by the
// points before it as if nothing had been said.
//
// The package is pure: no clock, no files, no database. What it gives may be
// used from several goroutines at once.
package strips
