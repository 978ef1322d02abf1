// Package wastebook makes the waste log of a lab: what was emptied when, where
// it went and who says so, what was looked at each week, what is missing, the
// totals of each month; as a table and on paper.
//
// Rows are made of two things each time: the emptyings that people entered of
// units' containers, and the lines that they wrote and corrected by hand.
// Nothing else is stored, so that what was imported, undone or came late is
// told as it stands.
//
// The package is pure: no clock, no files, no database. What it gives may be
// used from several goroutines at once.
package wastebook
