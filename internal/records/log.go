package records

import (
	"context"
	"errors"
	"fmt"
	"time"

	"golang.org/x/mod/sumdb/tlog"

	"wetside/internal/lab"
	"wetside/internal/records/seal"
)

// ErrLogChanged says that the log is not what its checkpoints say.
var ErrLogChanged = errors.New("the record log was changed; nothing more is sealed until somebody has looked: run wetside verify")

// reader reads stored hashes within ctx.
func reader(ctx context.Context, store interface {
	LogHashes(ctx context.Context, indexes []int64) ([][]byte, error)
}) seal.Reader {
	return func(indexes []int64) ([]tlog.Hash, error) {
		got, err := store.LogHashes(ctx, indexes)
		if err != nil {
			return nil, err
		}
		out := make([]tlog.Hash, len(got))
		for i, b := range got {
			if len(b) != tlog.HashSize {
				return nil, fmt.Errorf("stored hash %d has %d bytes", indexes[i], len(b))
			}
			out[i] = tlog.Hash(b)
		}
		return out, nil
	}
}

// openLog gives the number of leaves, once it has checked the log against its
// last checkpoint and the witness.
func (w *Worker) openLog(ctx context.Context) (size int64, err error) {
	size, text, err := w.cfg.Store.LogHead(ctx)
	if err != nil {
		return 0, err
	}
	keys, err := w.cfg.Store.LogKeys(ctx)
	if err != nil {
		return 0, err
	}
	keys = append(keys, w.cfg.Key.Verifier())
	if text != "" || size > 0 {
		if err := w.checkCheckpoint(ctx, text, keys, size, true); err != nil {
			return 0, fmt.Errorf("its last checkpoint: %w", err)
		}
	}
	if w.cfg.Witness == nil {
		return size, nil
	}
	kept, err := w.cfg.Witness.Last()
	if err != nil || kept == "" {
		return size, err
	}
	if err := w.checkCheckpoint(ctx, kept, keys, size, false); err != nil {
		return 0, fmt.Errorf("the checkpoint kept beside the key (move it away if an older backup was restored on purpose): %w", err)
	}
	return size, nil
}

// checkCheckpoint tells whether a checkpoint is of this log. Errors of the database
// are given as they are.
func (w *Worker) checkCheckpoint(ctx context.Context, text string, keys []string, size int64, last bool) error {
	c, err := seal.OpenCheckpoint(text, keys...)
	switch {
	case err != nil:
		return fmt.Errorf("%w: %w", ErrLogChanged, err)
	case c.Size > size, last && c.Size != size:
		return fmt.Errorf("%w: it was signed at %d leaves, the log has %d", ErrLogChanged, c.Size, size)
	}
	root, err := seal.Root(c.Size, reader(ctx, w.cfg.Store))
	if err != nil && lab.KindOf(err) == lab.KindUnavailable {
		return err
	}
	if err != nil {
		return fmt.Errorf("%w: %w", ErrLogChanged, err)
	}
	if root != c.Root {
		return fmt.Errorf("%w: another root at %d leaves", ErrLogChanged, c.Size)
	}
	return nil
}

// newLeaf is one leaf to be added: the bytes that are hashed, and the rows that
// go with it.
type newLeaf struct {
	kind, subject string
	content       []byte
	record        *lab.StoredRecord
	entry         *lab.StoredEntry
	sealed        *lab.SealedRun
	parts         int // of the record, written before
}

// errLog says that the log itself takes nothing, so that no run can be sealed.
var errLog = errors.New("the record log takes nothing")

// append adds items to the log in one transaction.
func (w *Worker) append(ctx context.Context, now time.Time, items []newLeaf) error {
	size := w.size
	a := lab.LogAppend{Size: size, Verifier: w.cfg.Key.Verifier()}
	leaves := make([]tlog.Hash, len(items))
	for i, it := range items {
		leaf, hash := size+int64(i), seal.LeafHash(it.content)
		leaves[i] = hash
		a.Leaves = append(a.Leaves, lab.LogLeaf{Leaf: leaf, Kind: it.kind, Subject: it.subject, Hash: hash[:]})
		if it.record != nil {
			it.record.Leaf = leaf
			a.Records = append(a.Records, *it.record)
			if it.parts > 0 {
				a.Parted = append(a.Parted, lab.PartedRecord{Leaf: leaf, RunID: it.subject, Parts: it.parts})
			}
		}
		if it.entry != nil {
			it.entry.Leaf = leaf
			a.Entries = append(a.Entries, *it.entry)
		}
		if it.sealed != nil {
			it.sealed.Seal = lab.SealBrief{SealedAt: lab.At(now), Index: leaf, Hash: hash.String()}
			a.Sealed = append(a.Sealed, *it.sealed)
		}
	}
	grown, err := seal.Grow(size, reader(ctx, w.cfg.Store), leaves)
	if err != nil {
		return fmt.Errorf("%w: %w", errLog, err)
	}
	for _, h := range grown.Add {
		a.Hashes = append(a.Hashes, lab.LogHash{Index: h.Index, Hash: h.Hash[:]})
	}
	if a.Checkpoint, err = (seal.Checkpoint{Size: grown.Size, Root: grown.Root, After: size, At: now}).Sign(w.cfg.Key); err != nil {
		return fmt.Errorf("%w: %w", errLog, err)
	}
	// A stop does not interrupt it: only the answer says how far the log went.
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), storeWithin)
	defer cancel()
	if err := w.cfg.Store.AppendLog(ctx, w.cfg.Term, a); err != nil {
		return err
	}
	w.size = grown.Size
	if w.cfg.Witness != nil {
		if err := w.cfg.Witness.Keep(a.Checkpoint); err != nil {
			w.cfg.Log.Warn("the last checkpoint was not kept beside the key", "error", err)
		}
	}
	return nil
}
