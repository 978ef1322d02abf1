// Package oncall answers who is on call at a moment, from a lab's plan: hours by
// weekday on the lab's own wall clock, swaps for a day, quiet hours, and the
// stretches in which nobody is on.
//
// It is pure: the moment is given, the time zone's rules come with the
// program. Hours are kept by the clock on the wall, so that a shift which
// begins at 08:00 does so on both sides of a change to summer time; the hour
// that comes twice in autumn counts twice, the one that is missing in spring
// not at all.
//
// Everything here is safe for concurrent use.
package oncall
