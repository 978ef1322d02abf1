package report

import "wetside/internal/lab"

// Causes gives the causes of the faults that people saw on the film, for a
// report that was made before they entered them: they change nothing else of
// it. Its Entries are to hold what was entered since.
func (j Judging) Causes(r lab.Report) []lab.SeenCauses {
	_, sp := judgedBy(r.Entries, r.Run, j.config())
	return seenCauses(r, sp)
}
