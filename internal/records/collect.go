package records

import (
	"bytes"
	"context"
	"crypto/sha256"
	"iter"
	"time"

	"wetside/internal/lab"
	"wetside/internal/records/seal"
	"wetside/internal/service"
)

// collecting takes the messages of a run for its record: those of a record
// that it has, and what the store has beside them. What was sealed stands,
// whatever the store says now. Of a long run only one part is in memory at a
// time; the parts before are written already.
type collecting struct {
	w   *Worker
	ctx context.Context
	run string

	now   []seal.Message // those of no part yet
	size  int            // bytes of their payloads
	parts []seal.PartRef
	last  int64 // the highest arrival number
}

// collect goes through both in the order of the arrival numbers.
func (c *collecting) collect(row lab.RunRow, old *presentRecord) error {
	sealed, stop := iter.Pull2(c.sealed(old))
	defer stop()
	was, err, left := sealed()
	upTo := func(arrival int64) error { // what only the record has
		for ; left && err == nil && was.Arrival < arrival; was, err, left = sealed() {
			if err := c.add(was); err != nil {
				return err
			}
		}
		return err
	}
	pace := c.w.paces()
	storeErr := c.w.cfg.Store.RunMessages(c.ctx, row, func(m lab.Message) error {
		if err := upTo(m.Arrival); err != nil {
			return err
		}
		pace(c.ctx)
		sm := frozen(&m)
		if left && was.Arrival == m.Arrival {
			if !bytes.Equal(sm.Payload, was.Payload) || !sm.Received.Equal(was.Received) || !sm.At.Equal(was.At) {
				c.w.cfg.Log.Error("stored telemetry was changed after it was sealed; the sealed message counts", "run", c.run, "arrival", m.Arrival)
			}
			sm = was
			was, err, left = sealed()
		}
		return c.add(sm)
	})
	if storeErr != nil {
		return storeErr
	}
	const allThatIsLeft = 1<<63 - 1
	if err := upTo(allThatIsLeft); err != nil {
		return err
	}
	if len(c.parts) > 0 {
		return c.part()
	}
	return nil
}

// sealed goes through the messages of the record that the run has.
func (c *collecting) sealed(old *presentRecord) iter.Seq2[seal.Message, error] {
	return func(yield func(seal.Message, error) bool) {
		if old == nil {
			return
		}
		err := messagesOf(old.Record, c.w.make.storedParts(c.ctx, c.run, old.leaf), func(sm seal.Message) error {
			if !yield(sm, nil) {
				return context.Canceled
			}
			return nil
		})
		if err != nil && err != context.Canceled {
			yield(seal.Message{}, err)
		}
	}
}

func (c *collecting) add(sm seal.Message) error {
	if len(c.now) >= c.w.perPart || c.size+len(sm.Payload) > partBytes && len(c.now) > 0 {
		if err := c.part(); err != nil {
			return err
		}
	}
	c.now, c.size, c.last = append(c.now, sm), c.size+len(sm.Payload), max(c.last, sm.Arrival)
	return nil
}

// part writes what is in memory as the next part.
func (c *collecting) part() error {
	if len(c.now) == 0 {
		return nil
	}
	n := len(c.parts) + 1
	b, ref, err := seal.EncodePart(c.run, n, c.now)
	if err != nil {
		return err
	}
	packed := pack(b)
	sum := sha256.Sum256(packed)
	err = c.w.cfg.Store.DraftPart(c.ctx, c.w.cfg.Term, lab.StoredPart{RunID: c.run, N: n, Messages: ref.Messages, Size: ref.Size,
		PackedHash: sum[:], Packed: packed})
	if err != nil {
		return err
	}
	c.parts, c.now, c.size = append(c.parts, ref), nil, 0
	return nil
}

// letGo drops the parts that were written.
func (c *collecting) letGo() error {
	if len(c.parts) == 0 {
		return nil
	}
	return c.w.cfg.Store.DropDraftParts(c.ctx, c.w.cfg.Term, c.run)
}

// paceEvery is how long a long run is worked at without a rest.
const paceEvery = 50 * time.Millisecond

// paces gives a function that rests now and then for as long as was worked:
// live work has the other half, however long the run is.
func (w *Worker) paces() func(context.Context) {
	began := time.Now()
	return func(ctx context.Context) {
		if worked := time.Since(began); worked >= paceEvery {
			service.Pause(ctx, min(worked, restAtMost))
			began = time.Now()
		}
	}
}

// pacedReader reads parts with rests in between, and remembers why it could
// not.
type pacedReader struct {
	w      *Worker
	ctx    context.Context
	read   partReader
	pace   func(context.Context)
	failed error
}

func (p *pacedReader) part(n int) ([]byte, error) {
	if p.pace == nil {
		p.pace = p.w.paces()
	}
	p.pace(p.ctx)
	b, err := p.read(n)
	if err != nil {
		p.failed = err
	}
	return b, err
}
