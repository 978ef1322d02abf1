package records

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"wetside/internal/lab"
	"wetside/internal/records/seal"
	"wetside/internal/report"
)

func stateBeforeIn(rec *seal.Record) *report.State {
	var ev struct {
		Before *report.State `json:"before"`
	}
	if json.Unmarshal(rec.Evidence, &ev) != nil {
		return nil
	}
	return ev.Before
}

// whySealAgain says why a run that has a record needs another, "" where it does
// not. A row that was changed without new evidence is no reason: a new
// record would seal what somebody wrote into the database.
func (w *Worker) whySealAgain(row lab.RunRow, d *draft, old *presentRecord) string {
	var why []string
	if n := added(d.MessageCount(), old.MessageCount()); n > 0 {
		why = append(why, fmt.Sprintf("%d more messages", n))
	}
	if n := added(countJudged(d.Entries), countJudged(old.Entries)); n > 0 {
		why = append(why, fmt.Sprintf("%d more entries that are judged", n))
	}
	same := SameJudgement(row, rowOf(old.Record))
	switch {
	case same && len(why) == 0:
		return ""
	case len(why) == 0 && SameJudgement(row, lab.RunRow{Run: d.Report.Run, Loaded: row.Loaded, FoldedKind: row.FoldedKind, Imported: row.Imported}):
		why = append(why, "judged anew by "+d.Program)
	case len(why) == 0:
		w.cfg.Log.Error("a run was changed in the database without new evidence; it is not sealed so, see wetside verify", "run", row.ID)
		return ""
	}
	return strings.Join(why, ", ")
}

func added(now, before int) int { return now - before }

// countJudged counts the entries that change a verdict.
func countJudged(entries []lab.Entry) (n int) {
	for _, e := range entries {
		if e.Kind().Rejudges {
			n++
		}
	}
	return n
}

func rowOf(rec *seal.Record) lab.RunRow {
	return lab.RunRow{Run: rec.Run, Loaded: rec.Loaded, FoldedKind: rec.FoldedKind, Imported: rec.Imported}
}

// reasonOutOfPattern is the one reason that the report gives and no rule does.
const reasonOutOfPattern = "out-of-pattern"

// SameJudgement tells whether two rows say the same of a run, what people
// said of it, its alerts and its seal set aside.
func SameJudgement(a, b lab.RunRow) bool {
	return bytes.Equal(judgement(a), judgement(b))
}

func judgement(r lab.RunRow) []byte {
	run := r.Run
	run.Seal, run.Rolls, run.Decision, run.Kind, run.Alerts = nil, nil, nil, "", nil
	// what stands out beside other runs is found by the report alone
	run.Reasons = slices.DeleteFunc(slices.Clone(run.Reasons), func(x lab.Reason) bool { return x.Code == reasonOutOfPattern })
	loaded := r.Loaded
	if len(loaded) == 0 {
		loaded = nil
	}
	b, err := json.Marshal(struct {
		lab.Run
		Loaded   []lab.Roll
		Folded   string
		Imported bool
	}{run, loaded, r.FoldedKind, r.Imported})
	if err != nil {
		return []byte(err.Error()) // numbers that JSON cannot hold never come out of JSON
	}
	return b
}

// isGood tells whether a run counts among those that others are compared with.
func isGood(f report.Features, run lab.Run) bool {
	return f.RunID != "" && f.Good() && run.Outcome == lab.OutcomeDone
}
