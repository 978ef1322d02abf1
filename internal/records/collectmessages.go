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

// messageCollector collects the messages of a run for its record: those of the
// record that it has already, and those that the store has besides. What was
// sealed counts, whatever the store says now. Of a long run only one part is in
// memory at a time; the parts before it are written already.
type messageCollector struct {
	w   *Worker
	ctx context.Context
	run string

	pending []seal.Message // those that no part holds yet
	size    int            // bytes of their payloads
	parts   []seal.PartRef
	last    int64 // the highest arrival number
}

// collect goes through record and store together, by arrival number.
func (c *messageCollector) collect(row lab.RunRow, old *presentRecord) error {
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
	pace := c.w.pacer()
	storeErr := c.w.cfg.Store.RunMessages(c.ctx, row, func(m lab.Message) error {
		if err := upTo(m.Arrival); err != nil {
			return err
		}
		pace(c.ctx)
		sm := sealedMessage(&m)
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
		return c.writePart()
	}
	return nil
}

// sealed goes through the messages of the record that the run has.
func (c *messageCollector) sealed(old *presentRecord) iter.Seq2[seal.Message, error] {
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

func (c *messageCollector) add(sm seal.Message) error {
	if len(c.pending) >= c.w.perPart || c.size+len(sm.Payload) > partBytes && len(c.pending) > 0 {
		if err := c.writePart(); err != nil {
			return err
		}
	}
	c.pending, c.size, c.last = append(c.pending, sm), c.size+len(sm.Payload), max(c.last, sm.Arrival)
	return nil
}

// writePart writes what is in memory as the next part.
func (c *messageCollector) writePart() error {
	if len(c.pending) == 0 {
		return nil
	}
	n := len(c.parts) + 1
	b, ref, err := seal.EncodePart(c.run, n, c.pending)
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
	c.parts, c.pending, c.size = append(c.parts, ref), nil, 0
	return nil
}

// dropParts drops the parts that were written.
func (c *messageCollector) dropParts() error {
	if len(c.parts) == 0 {
		return nil
	}
	return c.w.cfg.Store.DropDraftParts(c.ctx, c.w.cfg.Term, c.run)
}

// paceEvery is how long a long run is worked at without a rest.
const paceEvery = 50 * time.Millisecond

// pacer gives a function that rests now and then for as long as was worked, so
// that live work has the other half of the time however long the run is.
func (w *Worker) pacer() func(context.Context) {
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
	w    *Worker
	ctx  context.Context
	read partReader
	pace func(context.Context)
	err  error
}

func (p *pacedReader) part(n int) ([]byte, error) {
	if p.pace == nil {
		p.pace = p.w.pacer()
	}
	p.pace(p.ctx)
	b, err := p.read(n)
	if err != nil {
		p.err = err
	}
	return b, err
}
