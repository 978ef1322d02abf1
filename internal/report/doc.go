// Package report makes the report of a run from its evidence: what happened to
// the film, what to look for on it, what can still be done, how the run
// compares with the good runs of its process and unit, and the drawing of it.
//
// Make folds the frozen Evidence through rules, the same code that watched
// the run live, and adds what only a report needs. It is pure: no clock, no
// file, no network, no database, no chance. The same evidence gives the same
// report, byte for byte, so a report can be made again from a run's record
// alone.
//
//	made, err := report.MakeWhole(evidence)    // report, trace and features
//	rep, err := report.Make(evidence)       // the report alone
//	report.Text(w, rep, report.Options{})
//	report.PDF(w, rep, report.Options{})
//	report.SVG(w, rep, report.Options{})
//	report.CSV(w, made.Trace)
//
// The verdict and its reasons are those of rules; audit adds no judgement of
// the film but what stands out beside the good runs, and says so. It never
// says that film is spoiled: a person looks.
//
// All functions may be called from any number of goroutines; none changes
// what it is given.
package report
