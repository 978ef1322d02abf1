package records

import (
	"slices"

	"wetside/internal/lab"
	"wetside/internal/records/seal"
)

// recordInParts is a record whose messages stand in parts.
type recordInParts struct {
	head seal.Head
	unit string
	next int // the last part that was met
	bad  bool
}

// parts checks every part against the head of its record, which the leaf
// covers.
func (c *verification) parts() error {
	err := c.view.Parts(c.ctx, func(p lab.StoredPart) error {
		c.checkPart(p)
		return c.ctx.Err()
	})
	if err != nil {
		return err
	}
	for _, leaf := range sortedLeaves(c.parted) {
		of := c.parted[leaf]
		for n := of.next + 1; n <= len(of.head.Parts); n++ {
			of.bad = true
			c.problem(leaf, of.unit, of.head.RunID, "part %d of the record is missing", n)
		}
	}
	return nil
}

func (c *verification) checkPart(p lab.StoredPart) {
	of := c.parted[p.Leaf]
	if of == nil {
		c.problem(p.Leaf, "", p.RunID, "part %d was put in, or its column leaf changed: no record at this leaf has it", p.N)
		return
	}
	for of.next+1 < p.N && of.next < len(of.head.Parts) {
		of.next++
		of.bad = true
		c.problem(p.Leaf, of.unit, of.head.RunID, "part %d of the record is missing", of.next)
	}
	of.next = max(of.next, p.N)
	if p.N > len(of.head.Parts) {
		c.problem(p.Leaf, of.unit, of.head.RunID, "part %d was put in: the record has %d", p.N, len(of.head.Parts))
		return
	}
	b, err := unpackPart(p)
	if err == nil {
		_, err = of.head.ParsePart(p.N, b)
	}
	if err != nil {
		of.bad = true
		c.problem(p.Leaf, of.unit, of.head.RunID, "the record was changed: %v", err)
		return
	}
	ref := of.head.Parts[p.N-1]
	for name, same := range map[string]bool{"run": p.RunID == of.head.RunID, "messages": p.Messages == ref.Messages, "size": p.Size == ref.Size} {
		if !same {
			c.problem(p.Leaf, of.unit, of.head.RunID, "column %s of record_parts was changed: part %d is not what the record says", name, p.N)
		}
	}
}

// makeAgainInParts makes the reports of records in parts again, a part in memory
// at a time.
func (c *verification) makeAgainInParts() error {
	if !c.o.Again {
		return nil
	}
	for _, leaf := range sortedLeaves(c.parted) {
		if c.parted[leaf].bad {
			continue // named already
		}
		r, err := c.view.RecordAt(c.ctx, leaf)
		if err != nil {
			return err
		}
		b, err := Unpack(r)
		if err != nil {
			return err // it was read a moment ago
		}
		brief, err := seal.Brief(b)
		if err != nil {
			return err
		}
		c.makeAgain(r, brief, b, func(n int) ([]byte, error) {
			p, err := c.view.PartAt(c.ctx, leaf, n)
			if err != nil {
				return nil, err
			}
			return unpackPart(p)
		})
	}
	return nil
}

func sortedLeaves(m map[int64]*recordInParts) []int64 {
	out := make([]int64, 0, len(m))
	for leaf := range m {
		out = append(out, leaf)
	}
	slices.Sort(out)
	return out
}
