package records

import (
	"bytes"
	"encoding/base64"
	"errors"

	"golang.org/x/mod/sumdb/tlog"

	"wetside/internal/lab"
	"wetside/internal/records/seal"
)

// tree computes the tree anew and compares every stored hash with it.
func (c *verification) tree() error {
	stored := map[int64][]byte{}
	err := c.view.Hashes(c.ctx, func(h lab.LogHash) error {
		stored[h.Index] = h.Hash
		return c.ctx.Err()
	})
	if err != nil {
		return err
	}
	for at := range c.leafRows {
		leaf := int64(at)
		c.checkLeafContent(leaf)
		want, err := c.log.Add(c.leafHash(leaf, stored[tlog.StoredHashIndex(0, leaf)]))
		if err != nil {
			return err
		}
		for _, h := range want {
			got, there := stored[h.Index]
			delete(stored, h.Index)
			level, n := tlog.SplitStoredHashIndex(h.Index)
			switch {
			case !there:
				c.problem(-1, "", "", "log_hashes: hash %d (level %d, number %d) is missing", h.Index, level, n)
			case !bytes.Equal(got, h.Hash[:]):
				c.problem(-1, "", "", "log_hashes: hash %d (level %d, number %d) was changed, or what is below it", h.Index, level, n)
			}
		}
		c.progress("hashes", leaf+1, int64(len(c.leafRows)))
	}
	for index := range stored {
		c.problem(-1, "", "", "log_hashes: hash %d belongs to no leaf", index)
	}
	return nil
}

// checkLeafContent checks that each leaf has something under it.
func (c *verification) checkLeafContent(at int64) {
	leaf, under := c.leaf(at), c.content[at]
	switch {
	case leaf == nil && under.kind == "":
		c.problem(at, "", "", "leaf and record are missing")
	case leaf != nil && under.kind == "":
		unit, run := "", ""
		if leaf.Kind == seal.KindRun {
			run = leaf.Subject
			if l := c.latest[run]; l != nil {
				unit = l.unit
			}
		}
		c.problem(at, unit, run, "the sealed %s %q is missing", map[string]string{seal.KindRun: "record of run", seal.KindEntry: "entry"}[leaf.Kind], leaf.Subject)
	}
}

// leafHash is the hash that the tree is computed with: the one on which two of
// leaf, stored hash and record agree, so that a change in one of them is named
// there and does not make everything above it look changed.
func (c *verification) leafHash(at int64, stored []byte) (h tlog.Hash) {
	var leaf []byte
	if l := c.leaf(at); l != nil {
		leaf = l.Hash
	}
	content := c.content[at].hash
	known := c.content[at].kind != "" && !c.content[at].broken
	switch {
	case known && (bytes.Equal(content[:], leaf) || bytes.Equal(content[:], stored)):
		return content
	case len(leaf) == len(h) && bytes.Equal(leaf, stored):
		copy(h[:], leaf)
	case len(stored) == len(h):
		copy(h[:], stored)
	case len(leaf) == len(h):
		copy(h[:], leaf)
	case known:
		return content
	}
	return h
}

// checkpoints checks each signature and each root.
func (c *verification) checkpoints() error {
	named := map[string]bool{}
	err := c.view.Keys(c.ctx, func(k string) error {
		named[k] = true
		return nil
	})
	if err != nil {
		return err
	}
	trusted := c.o.Keys
	if c.found.KeysOfDatabase = len(trusted) == 0; c.found.KeysOfDatabase {
		for k := range named {
			if _, err := seal.ParseVerifier(k); err != nil {
				c.problem(-1, "", "", "log_keys was changed: %v", err)
				continue
			}
			trusted = append(trusted, k)
		}
	}
	p := &checkpointChecks{c: c, trusted: trusted, used: map[string]bool{}}
	if err := c.view.Checkpoints(c.ctx, p.check); err != nil {
		return err
	}
	switch {
	case p.last < c.found.Leaves:
		c.problem(-1, "", "", "log_checkpoints: the last is of %d leaves, the log has %d: one is missing, or leaves were added without the key", p.last, c.found.Leaves)
	case p.last > c.found.Leaves:
		c.problem(-1, "", "", "the log was cut short: a checkpoint was signed at %d leaves, it has %d", p.last, c.found.Leaves)
	}
	for k := range named {
		if !p.used[k] {
			c.problem(-1, "", "", "log_keys: key %s signed no checkpoint: it was changed or put there", k)
		}
	}
	for k := range p.used {
		if !named[k] {
			c.problem(-1, "", "", "log_keys: key %s, which signed checkpoints, is missing", k)
		}
	}
	if root, err := c.log.Root(c.log.Size()); err == nil {
		c.found.Root = root.String()
	}
	for from, text := range c.o.Kept {
		c.checkKept(from, text, trusted)
	}
	return nil
}

// checkpointChecks goes through the signed checkpoints.
type checkpointChecks struct {
	c       *verification
	trusted []string
	used    map[string]bool
	last    int64
}

func (p *checkpointChecks) check(size int64, note string) error {
	c := p.c
	c.found.Checkpoints++
	c.progress("checkpoints", c.found.Checkpoints, 0)
	before := p.last
	p.last, c.found.Last = size, note
	cp, key, err := openWith(note, p.trusted)
	switch {
	case errors.Is(err, seal.ErrUnknownKey):
		c.problem(-1, "", "", "checkpoint at %d leaves: it is not signed with the key given", size)
	case err != nil:
		c.problem(-1, "", "", "checkpoint at %d leaves was changed: %v", size, err)
	case cp.Size != size:
		c.problem(-1, "", "", "checkpoint at %d leaves was changed: it is of %d", size, cp.Size)
	case cp.After != before:
		c.problem(-1, "", "", "checkpoint at %d leaves follows the one at %d leaves, which is missing", size, cp.After)
		fallthrough
	default:
		p.used[key] = true
		c.checkRoot(cp, "")
	}
	return c.ctx.Err()
}

// openWith opens a checkpoint and says with which key.
func openWith(note string, keys []string) (cp seal.Checkpoint, key string, err error) {
	err = seal.ErrUnknownKey
	for _, k := range keys {
		cp, err = seal.OpenCheckpoint(note, k)
		if err == nil || !errors.Is(err, seal.ErrUnknownKey) {
			return cp, k, err
		}
	}
	return cp, "", err
}

// checkRoot compares the root of a checkpoint with that of the log.
func (c *verification) checkRoot(cp seal.Checkpoint, from string) {
	what := "checkpoint"
	if from != "" {
		what = "checkpoint of " + from
	}
	if cp.Size > c.log.Size() {
		c.problem(-1, "", "", "%s at %d leaves: the log was cut short, it has %d", what, cp.Size, c.log.Size())
		return
	}
	root, err := c.log.Root(cp.Size)
	if err != nil || root != cp.Root {
		c.problem(-1, "", "", "%s at %d leaves: the log is no longer what was signed then (root %s, now %s)", what, cp.Size, cp.Root, base64.StdEncoding.EncodeToString(root[:]))
	}
}

// checkKept checks a checkpoint that was kept elsewhere.
func (c *verification) checkKept(from, text string, keys []string) {
	cp, _, err := openWith(text, keys)
	if err != nil {
		c.problem(-1, "", "", "checkpoint of %s: %v", from, err)
		return
	}
	c.checkRoot(cp, from)
}
