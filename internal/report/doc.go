// Package report makes the report of a run from its evidence: what happened to
// the film, what to look for on it, what can still be done, how the run
// compares with the good runs of its process and unit, and the drawing of it.
//
// Make replays the frozen Evidence through the rules, the same code that
// watched the run live, and adds what only a report needs. It is pure: no clock, no
// file, no network, no database, no chance. The same evidence gives the same
// report, byte for byte, so a report can be made again from a run's record
// alone.
//
//	made, err := report.Make(evidence) // report, trace and features
//	report.Text(w, made.Report, report.Options{})
//	report.PDF(w, made.Report, report.Options{})
//	report.CSV(w, made.Trace)
//
// The verdict and its reasons are those of the rules; the report adds no
// judgement of the film but what stands out beside the good runs, and says so. It never
// says that film is spoiled: a person looks.
//
// All functions may be called from any number of goroutines; none changes
// what it is given.
package report
