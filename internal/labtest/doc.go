// Package labtest helps the tests of wetside: a clock that is moved by hand,
// waiting with a deadline in place of sleeping, and a table of alerts in
// memory that keeps the invariants the database keeps.
//
// Only tests import it; internal/archtest proves that no program links it.
// Everything here is safe for concurrent use.
package labtest
