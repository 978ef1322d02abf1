package report

import (
	"slices"

	"wetside/internal/lab"
)

// lookFor names for each reason what it does to film and what can still be
// done, in the order of the reasons.
func lookFor(run lab.Run, sp specs) []lab.LookFor {
	t, out, fam := theTable(), []lab.LookFor{}, family(run.Process)
	for _, r := range run.Reasons {
		asked := r
		if run.Outcome == lab.OutcomeAborted && r.Code == "missing-evidence" && r.Step == "" {
			asked.Code = "aborted"
		}
		row, ok := t.lookRow(asked, fam, stepKind(sp, r.Step))
		if !ok {
			continue
		}
		l := lab.LookFor{Code: r.Code, Step: r.Step, Look: row.Look, Remedy: row.Remedy}
		l.Source, l.Provenance = t.source(row.Source, row.Memory, fam)
		if !slices.Contains(out, l) {
			out = append(out, l)
		}
	}
	return out
}

func stepKind(sp specs, step string) string {
	if st := sp.of(step); st != nil {
		return st.Kind
	}
	return ""
}

// lookRow finds the first row that fits a reason.
func (t *table) lookRow(r lab.Reason, fam, kind string) (lookRow, bool) {
	i := slices.IndexFunc(t.Look, func(l lookRow) bool {
		return slices.Contains(l.Codes, r.Code) && holds(l.Families, fam) &&
			(l.Kind == "" || l.Kind == kind) && fits(l.Steps, r.Step)
	})
	if i < 0 {
		return lookRow{}, false
	}
	return t.Look[i], true
}
