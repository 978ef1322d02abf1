package records

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strings"

	"wetside/internal/lab"
	"wetside/internal/records/seal"
	"wetside/internal/report"
	"wetside/rules"
)

// latestRecord is what is kept of the present record of a run.
type latestRecord struct {
	leaf     int64
	hash     string
	unit     string
	sealedAt lab.Time
	row      lab.RunRow
}

// records checks every record against its leaf and its row.
func (c *verification) records() error {
	return c.view.Records(c.ctx, func(r lab.StoredRecord) error {
		c.found.Records++
		c.progress("records", c.found.Records, int64(len(c.leafRows)))
		c.checkRecord(r)
		return c.ctx.Err()
	})
}

func (c *verification) checkRecord(r lab.StoredRecord) {
	before := c.latest[r.RunID]
	l := &latestRecord{leaf: r.Leaf, unit: r.Unit, row: lab.RunRow{Run: lab.Run{ID: r.RunID, Unit: r.Unit}}}
	c.latest[r.RunID] = l
	b, err := Unpack(r)
	if err != nil {
		c.content[r.Leaf] = underLeaf{kind: seal.KindRun, subject: r.RunID, unit: r.Unit, run: r.RunID, broken: true}
		c.problem(r.Leaf, r.Unit, r.RunID, "the record was changed: %v", err)
		return
	}
	hash := seal.LeafHash(b)
	c.content[r.Leaf] = underLeaf{kind: seal.KindRun, subject: r.RunID, unit: r.Unit, run: r.RunID, hash: hash}
	l.hash = hash.String()
	c.checkLeaf(r.Leaf, seal.KindRun, r.RunID, r.Unit, r.RunID, hash)
	rec, err := seal.Brief(b)
	if err != nil {
		c.problem(r.Leaf, r.Unit, r.RunID, "the record was changed: it does not read: %v", err)
		return
	}
	l.sealedAt, l.row = lab.At(rec.SealedAt), rowOf(rec)
	for _, name := range oddColumns(r, rec, b) {
		c.problem(r.Leaf, r.Unit, r.RunID, "column %s of records was changed: it is not what the record says", name)
	}
	c.supersedes(r, rec, before)
	if len(rec.Parts) > 0 {
		c.parted[r.Leaf] = &recordInParts{head: rec.Head, unit: r.Unit}
		return
	}
	if c.o.Again {
		c.makeAgain(r, rec, b, nil)
	}
}

// checkLeaf compares what stands under a leaf with the leaf.
func (c *verification) checkLeaf(leaf int64, kind, subject, unit, run string, hash [32]byte) {
	row := c.leaf(leaf)
	switch {
	case row == nil:
		c.problem(leaf, unit, run, "its leaf is missing in the log")
	case row.Kind != kind || row.Subject != subject:
		c.problem(leaf, unit, run, "the leaf was changed: it is of %s %q", row.Kind, row.Subject)
	case !bytes.Equal(row.Hash, hash[:]):
		c.problem(leaf, unit, run, "the %s is not the one that was sealed: record or leaf was changed", map[string]string{seal.KindRun: "record", seal.KindEntry: "entry"}[kind])
	}
}

// oddColumns names the columns of a record that differ from what stands in it.
func oddColumns(r lab.StoredRecord, rec *seal.Record, b []byte) (odd []string) {
	var f report.Features
	readable := json.Unmarshal(rec.Features, &f) == nil
	for _, x := range []struct {
		name string
		same bool
	}{
		{"run", r.RunID == rec.RunID},
		{"unit", r.Unit == rec.Run.Unit},
		{"process", r.Process == rec.Run.Process},
		{"push", r.Push == rec.Run.Push},
		{"started_at", r.StartedAt.Equal(rec.Run.StartedAt.Time)},
		{"sealed_at", r.SealedAt.Equal(rec.SealedAt)},
		{"supersedes", (r.Supersedes == nil) == (rec.Supersedes == nil) && (r.Supersedes == nil || *r.Supersedes == rec.Supersedes.Leaf)},
		{"good", readable && r.Good == isGood(f, rec.Run)},
		{"features", bytes.Equal(r.Features, rec.Features)},
		{"size", r.Size == len(b)},
	} {
		if !x.same {
			odd = append(odd, x.name)
		}
	}
	return odd
}

// supersedes checks that a run's records follow each other.
func (c *verification) supersedes(r lab.StoredRecord, rec *seal.Record, before *latestRecord) {
	switch s := rec.Supersedes; {
	case s == nil && before == nil:
	case s == nil:
		c.problem(r.Leaf, r.Unit, r.RunID, "it does not say that it supersedes the record at leaf %d", before.leaf)
	case before == nil:
		c.problem(s.Leaf, r.Unit, r.RunID, "the record is missing: the one at leaf %d supersedes it", r.Leaf)
	case s.Leaf != before.leaf || before.hash != "" && s.Hash != before.hash:
		c.problem(r.Leaf, r.Unit, r.RunID, "it supersedes another record (leaf %d) than the one that stands before it (leaf %d)", s.Leaf, before.leaf)
	}
}

// makeAgain makes the report anew from the record alone.
func (c *verification) makeAgain(r lab.StoredRecord, brief *seal.Record, b []byte, read partReader) {
	m := reportMaker{Making: c.o.Making}
	rec, err := seal.Parse(b)
	if err != nil {
		c.problem(r.Leaf, r.Unit, r.RunID, "the record does not read: %v", err)
		return
	}
	made, err := m.makeAgain(rec, read, nil)
	if err != nil {
		if !strings.Contains(strings.Join(brief.Report.Notes, " "), err.Error()) {
			c.problem(r.Leaf, r.Unit, r.RunID, "no report can be made from the record: %v", err)
		}
		return
	}
	names := differences(brief.Report, made.Report)
	switch sealed := max(rec.Judgement, 1); {
	case len(names) == 0:
	case sealed != rules.JudgementVersion:
		c.found.JudgedDifferently = append(c.found.JudgedDifferently, Problem{r.Leaf, r.Unit, r.RunID, fmt.Sprintf(
			"judged differently now, in %s: sealed by judgement %d (%s), this is %d", strings.Join(names, ", "), sealed, rec.Program, rules.JudgementVersion)})
	default:
		c.problem(r.Leaf, r.Unit, r.RunID, "the report made again differs in %s (sealed by %s, made again by %s)", strings.Join(names, ", "), rec.Program, c.o.Making.Program)
	}
}
