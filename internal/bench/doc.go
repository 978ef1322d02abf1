// Package bench measures the real program on a real PostgreSQL that keeps
// what it is given, behind a real broker, and prints a table: each figure
// beside its ceiling, which is what the same machine does in the same run with
// nothing but the bare work. A ratio holds on any machine, a figure does not.
//
// It is all tests: nothing is exported and nobody imports it. The short form
// is part of make test: it takes seconds for some of the rows, prints ratios and fails on no time,
// only where something that was sent does not come through. make bench runs
// the whole and draws the curves of DEVELOPERS.md.
//
//	make bench              # everything
//	make bench ROW=backlog  # one row
package bench
