package records

import (
	"context"
	"fmt"
	"time"

	"wetside/internal/lab"
	"wetside/internal/records/seal"
)

// View is the record log, and what it seals, as of one moment.
type View interface {
	Keys(ctx context.Context, each func(string) error) error
	Checkpoints(ctx context.Context, each func(size int64, note string) error) error
	Leaves(ctx context.Context, each func(lab.LogLeaf) error) error
	Hashes(ctx context.Context, each func(lab.LogHash) error) error
	Records(ctx context.Context, each func(lab.StoredRecord) error) error
	// Parts goes through the parts of records by leaf and number.
	Parts(ctx context.Context, each func(lab.StoredPart) error) error
	RecordAt(ctx context.Context, leaf int64) (lab.StoredRecord, error)
	PartAt(ctx context.Context, leaf int64, n int) (lab.StoredPart, error)
	SealedEntries(ctx context.Context, each func(lab.StoredEntry) error) error
	Entries(ctx context.Context, each func(lab.Entry) error) error
	Waiting(ctx context.Context, each func(run string, changed time.Time) error) error
	// Runs gives each run with the names of its columns that do not say what
	// the run in it and the entries come to.
	Runs(ctx context.Context, each func(r lab.RunRow, odd []string) error) error
}

// VerifyOptions say what a log is checked with.
type VerifyOptions struct {
	// Keys are the verifier keys that are trusted. None: those that the
	// database itself names, which whoever changed it may have changed.
	Keys []string
	// Kept are checkpoints that were kept elsewhere, by where they come from.
	Kept map[string]string
	// Again makes every report again from its record and compares. Needs Making.
	Again  bool
	Making Making
	// Progress is told now and then. Defaults to nobody.
	Progress func(what string, done, of int64)
}

// Verified is what Verify found.
type Verified struct {
	Leaves, Records, Entries, Checkpoints, Runs int64
	Waiting                                     int64 // runs that are not sealed yet, or changed since
	Unsealed                                    int64 // entries that are not sealed yet
	KeysOfDatabase                              bool  // no trusted key was given
	Root                                        string
	Last                                        string // the last signed checkpoint
	Problems                                    []Problem
	// JudgedDifferently are records that this version judges differently than the
	// one that sealed them: nobody changed them. Only with VerifyOptions.Again.
	JudgedDifferently []Problem
}

// Problem is one thing that is not as it was sealed.
type Problem struct {
	Leaf int64  // -1 where it is of no leaf
	Unit string // "" where it is not known
	Run  string // Run.ID; "" where it is of no run
	Text string
}

// String says it in one line.
func (p Problem) String() string {
	s := p.Text
	if p.Run != "" {
		s = "run " + p.Run + ": " + s
	}
	if p.Unit != "" {
		s = p.Unit + ", " + s
	}
	if p.Leaf >= 0 {
		s = fmt.Sprintf("leaf %d, %s", p.Leaf, s)
	}
	return s
}

// Verify checks the whole log: every record and entry against its leaf, every
// stored hash, every signed checkpoint, every run and entry against what was
// sealed of it. An error says that it could not be read; what it found wrong
// is in Verified.Problems.
func Verify(ctx context.Context, v View, o VerifyOptions) (Verified, error) {
	if o.Progress == nil {
		o.Progress = func(string, int64, int64) {}
	}
	if o.Again {
		if err := o.Making.complete(); err != nil {
			return Verified{}, err
		}
	}
	c := &verification{ctx: ctx, view: v, o: o, content: map[int64]underLeaf{}, latest: map[string]*latestRecord{}, entries: map[string]*entryInLog{},
		parted: map[int64]*recordInParts{}}
	for _, step := range []func() error{c.leaves, c.records, c.parts, c.makeAgainInParts, c.sealedEntries, c.tree, c.checkpoints, c.enteredRows, c.runs} {
		if err := step(); err != nil {
			return c.found, err
		}
	}
	return c.found, nil
}

// verification is one Verify under way.
type verification struct {
	ctx   context.Context
	view  View
	o     VerifyOptions
	found Verified

	leafRows []lab.LogLeaf
	content  map[int64]underLeaf      // what stands under each leaf
	latest   map[string]*latestRecord // the present record of each run
	entries  map[string]*entryInLog
	log      seal.MemoryLog
	parted   map[int64]*recordInParts // records whose messages stand in parts
}

// underLeaf is what was found under a leaf.
type underLeaf struct {
	kind, subject string
	unit, run     string
	hash          [32]byte
	broken        bool // it does not read: its hash is not known
}

func (c *verification) problem(leaf int64, unit, run, format string, args ...any) {
	c.found.Problems = append(c.found.Problems, Problem{leaf, unit, run, fmt.Sprintf(format, args...)})
}

const progressEvery = 500

func (c *verification) progress(what string, done, of int64) {
	if done%progressEvery == 0 || done == of {
		c.o.Progress(what, done, of)
	}
}

// leaves reads the leaves and finds those that are missing.
func (c *verification) leaves() error {
	next := int64(0)
	return c.view.Leaves(c.ctx, func(l lab.LogLeaf) error {
		for ; next < l.Leaf; next++ {
			c.leafRows = append(c.leafRows, lab.LogLeaf{Leaf: next})
		}
		next = l.Leaf + 1
		c.leafRows = append(c.leafRows, l)
		c.found.Leaves = next
		return c.ctx.Err()
	})
}

func (c *verification) leaf(at int64) *lab.LogLeaf {
	if at < 0 || at >= int64(len(c.leafRows)) || c.leafRows[at].Kind == "" {
		return nil
	}
	return &c.leafRows[at]
}
