// Package chemistry knows what is in the bottles: which mix each step of a run
// used, how old a mix is and how much film went through it, beside the lab's
// limits, and how much of each part goes into a batch.
//
// Positions follows what people said of bottles; Positions.Mixes gives the mix
// of each step of a run from it. Nothing is stored between: what comes late,
// from a restart, an import or a capture, gives the same answer.
//
// The package is pure: no clock, no files, no database. What it gives may be
// used from several goroutines at once.
package chemistry
