package records

import (
	"bytes"
	"strings"

	"wetside/internal/lab"
	"wetside/internal/records/seal"
)

// entryInLog is an entry as the log has it.
type entryInLog struct {
	leaf   int64
	unit   string
	run    string
	sealed seal.SealedEntry
	body   []byte
	found  bool
	broken bool
}

// sealedEntries checks every sealed entry against its leaf and its row.
func (c *verification) sealedEntries() error {
	return c.view.SealedEntries(c.ctx, func(e lab.StoredEntry) error {
		c.found.Entries++
		c.checkSealedEntry(e)
		return c.ctx.Err()
	})
}

func (c *verification) checkSealedEntry(e lab.StoredEntry) {
	hash := seal.LeafHash(e.Body)
	s := &entryInLog{leaf: e.Leaf, body: e.Body}
	c.entries[e.Entry] = s
	rec, err := seal.ParseEntry(e.Body)
	s.broken = err != nil
	if err == nil {
		s.unit, s.run, s.sealed = rec.Entry.Unit.String(), rec.Entry.RunID, rec
	}
	c.content[e.Leaf] = underLeaf{kind: seal.KindEntry, subject: e.Entry, unit: s.unit, run: s.run, hash: hash}
	c.checkLeaf(e.Leaf, seal.KindEntry, e.Entry, s.unit, s.run, hash)
	switch {
	case err != nil:
		c.problem(e.Leaf, "", "", "sealed entry %q was changed: %v", e.Entry, err)
	case rec.Entry.ID != e.Entry:
		c.problem(e.Leaf, s.unit, s.run, "sealed entry %q was changed: it is %q", e.Entry, rec.Entry.ID)
	case rec.Entry.Arrival != e.Arrival:
		c.problem(e.Leaf, s.unit, s.run, "column arrival of record_entries was changed: entry %q has number %d", e.Entry, rec.Entry.Arrival)
	}
}

// enteredRows compares every entry with what was sealed of it.
func (c *verification) enteredRows() error {
	sealedTo := int64(0)
	for _, s := range c.entries {
		sealedTo = max(sealedTo, s.sealed.Entry.Arrival)
	}
	err := c.view.Entries(c.ctx, func(e lab.Entry) error {
		s := c.entries[e.ID]
		switch {
		case s == nil && e.Arrival > sealedTo:
			c.found.Unsealed++
		case s == nil:
			c.problem(-1, e.Unit.String(), e.RunID, "entry %q (%s by %s) was put in, or its id changed: it is not in the log", e.ID, e.What, e.By)
		default:
			c.checkEntry(e, s)
		}
		return c.ctx.Err()
	})
	if err != nil {
		return err
	}
	for id, s := range c.entries {
		if !s.found {
			c.problem(s.leaf, s.unit, s.run, "entry %q is missing in the table entries", id)
		}
	}
	return nil
}

func (c *verification) checkEntry(e lab.Entry, s *entryInLog) {
	s.found = true
	if s.broken {
		return
	}
	b, err := seal.SealedEntry{SealedAt: s.sealed.SealedAt, Entry: e}.Encode()
	if err != nil || !bytes.Equal(b, s.body) {
		names := strings.Join(differences(comparableEntry(s.sealed.Entry), comparableEntry(e)), ", ")
		if names == "" {
			names = "form"
		}
		c.problem(s.leaf, e.Unit.String(), e.RunID, "entry %q was changed in the table entries: %s", e.ID, names)
	}
}

// comparableEntry is an entry with what its own JSON leaves out.
func comparableEntry(e lab.Entry) any {
	e.At, e.Entered = e.At.UTC(), e.Entered.UTC()
	return struct {
		Arrival  int64 `json:"arrival"`
		Imported bool  `json:"imported"`
		lab.Entry
		Body string `json:"body"`
	}{e.Arrival, e.Imported, e, string(e.Body)}
}
