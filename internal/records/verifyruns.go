package records

import (
	"strings"
	"time"

	"wetside/internal/lab"
)

// runs compares every run with its present record.
func (c *verification) runs() error {
	waiting := map[string]time.Time{}
	err := c.view.Waiting(c.ctx, func(run string, changed time.Time) error {
		waiting[run] = changed
		return nil
	})
	if err != nil {
		return err
	}
	met := map[string]bool{}
	err = c.view.Runs(c.ctx, func(r lab.RunRow, odd []string) error {
		c.found.Runs++
		c.progress("runs", c.found.Runs, 0)
		met[r.ID] = true
		_, waits := waiting[r.ID]
		if waits {
			c.found.Waiting++
		}
		for _, name := range odd {
			c.problem(-1, r.Unit, r.ID, "column %s of runs was changed: it does not follow from the run and what was entered of it", name)
		}
		c.checkRun(r, waits)
		return c.ctx.Err()
	})
	if err != nil {
		return err
	}
	for id, l := range c.latest {
		if !met[id] {
			c.problem(l.leaf, l.unit, id, "the run is missing in the table runs")
		}
	}
	return nil
}

func (c *verification) checkRun(r lab.RunRow, waits bool) {
	l := c.latest[r.ID]
	switch {
	case l == nil && r.Seal != nil:
		c.problem(r.Seal.Index, r.Unit, r.ID, "its record is missing: it was sealed at %s", r.Seal.SealedAt)
		return
	case l == nil && !waits && r.Outcome != lab.OutcomeRunning:
		c.problem(-1, r.Unit, r.ID, "it has ended and is neither sealed nor waits for its seal: its record was removed, or the run was put in")
		return
	case l == nil || l.hash == "" || l.row.ID == "":
		return // running, waiting, or named already
	}
	if r.Seal == nil || r.Seal.Index != l.leaf || r.Seal.Hash != l.hash || !r.Seal.SealedAt.Equal(l.sealedAt.Time) {
		c.problem(l.leaf, r.Unit, r.ID, "the run does not show the seal of its record")
	}
	if waits || SameJudgement(r, l.row) {
		return
	}
	c.problem(l.leaf, r.Unit, r.ID, "the run was changed after it was sealed: %s", strings.Join(changedParts(r, l.row), ", "))
}

// changedParts names what differs between a run and its record.
func changedParts(now, then lab.RunRow) []string {
	strip := func(r lab.RunRow) any {
		r.Seal, r.Rolls, r.Decision, r.Kind, r.Alerts = nil, nil, nil, "", nil
		return struct {
			lab.Run
			Loaded     []lab.Roll `json:"loaded"`
			FoldedKind string     `json:"folded_kind"`
			Imported   bool       `json:"imported"`
		}{r.Run, r.Loaded, r.FoldedKind, r.Imported}
	}
	return differences(strip(now), strip(then))
}
