// Package records seals what happened in each run, gives reports of runs,
// and checks that no record was changed.
//
// A Worker takes runs that ended, and whatever people entered, into the
// record log: record, leaf and signed checkpoint in one transaction. It is
// made with NewWorker, started once and stopped. A kill at any moment loses
// no record and doubles none: what waits stands in the database beside what
// was sealed. Many runs are taken one after the other with rests between, so
// that live work feels nothing of it. When another wetside has taken the lab
// it ends with an error (Done, Err).
//
// Reports gives a run's report: from its sealed record with what was entered
// since, or made now while there is no record yet.
//
// Verify reads the whole log and names whatever is not as it was sealed.
//
// A seal proves "unchanged since", not "true" nor "complete"; see
// internal/records/seal.
//
// Worker, Reports and Verify are safe for concurrent use.
package records
