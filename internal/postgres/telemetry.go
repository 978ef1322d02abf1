package postgres

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// errStale: the memory of stored sequence numbers was behind the database.
var errStale = errors.New("rows were stored that this process did not know of")

// Append writes a batch in one transaction: messages never seen before,
// conflicts and refused ones into quarantine; copies change nothing. It fills
// the arrival numbers (a copy gets that of the first) and returns after the
// commit. After any error nothing may be taken as stored, and the same call
// may be made again: if the commit had gone through, all are copies then.
func (s *Store) Append(ctx context.Context, term int64, msgs []lab.Message, refused []lab.Quarantined) (res lab.AppendResult, err error) {
	defer s.wrap(&err, s.ingest, "append telemetry")
	return s.append(ctx, &batch{store: s, term: term, msgs: msgs, refused: refused})
}

// Import is Append for history read in from a capture. It needs no term:
// what it writes is nothing that the holder of the lab watches, and it may be
// another process that does it.
func (s *Store) Import(ctx context.Context, msgs []lab.Message, refused []lab.Quarantined) (res lab.AppendResult, err error) {
	defer s.wrap(&err, s.ingest, "import telemetry")
	for i := range msgs {
		msgs[i].Imported = true
	}
	for i := range refused {
		refused[i].Imported = true
	}
	return s.append(ctx, &batch{store: s, imports: true, msgs: msgs, refused: refused})
}

func (s *Store) append(ctx context.Context, b *batch) (res lab.AppendResult, err error) {
	s.appendMu.Lock()
	defer s.appendMu.Unlock()
	msgs := b.msgs
	defer func() {
		if err != nil {
			s.heard.forget(msgs)
		}
	}()
	s.heard.shrink()
	err = b.write(ctx)
	if errors.Is(err, errStale) {
		s.heard.forget(msgs)
		err = b.write(ctx)
	}
	if badRow(err) {
		b.careful = true
		err = b.write(ctx)
	}
	if err != nil {
		return lab.AppendResult{}, err
	}
	for _, m := range b.fresh {
		if !m.Will {
			s.heard.sets[bootKey{m.Unit, m.Boot}].add(m.Seq)
		}
	}
	if b.imports {
		b.fresh = nil // none of it is for the worker
	}
	s.tail.add(b.first, b.result.LastArrival, b.fresh)
	if !b.imports {
		s.appended()
	}
	return b.result, nil
}

// batch is one Append under way.
type batch struct {
	store   *Store
	term    int64
	msgs    []lab.Message
	refused []lab.Quarantined
	imports bool // history: no term, and the worker is not told
	careful bool // a row is bad: insert within savepoints and split

	fresh     []*lab.Message    // to be inserted
	conflicts []lab.Quarantined // found by the store itself
	copies    int
	within    []pair // copies of messages of the same batch
	first     int64  // the first number given; behind LastArrival where none was
	result    lab.AppendResult
}

// write runs the whole transaction once.
func (b *batch) write(ctx context.Context) error {
	b.fresh, b.conflicts, b.within, b.copies = nil, nil, nil, 0
	return pgx.BeginFunc(ctx, b.store.ingest, func(tx pgx.Tx) error {
		if !b.imports {
			if err := fence(ctx, tx, b.term); err != nil {
				return err
			}
		}
		if err := b.sort(ctx, tx); err != nil {
			return err
		}
		last, err := b.number(ctx, tx)
		if err != nil {
			return err
		}
		if b.careful {
			err = b.insertSplitting(ctx, tx)
		} else {
			err = insertMessages(ctx, tx, b.fresh)
		}
		if err != nil {
			return err
		}
		if err := insertQuarantine(ctx, tx, b.conflicts, b.refused); err != nil {
			return err
		}
		b.result = lab.AppendResult{New: len(b.fresh), Copies: b.copies,
			Quarantined: len(b.conflicts) + len(b.refused), LastArrival: last}
		return nil
	})
}

// number gives arrival numbers to all that will be written. The counter's row
// stays locked until the commit, so numbers rise in the order of commits.
func (b *batch) number(ctx context.Context, tx pgx.Tx) (last int64, err error) {
	n := len(b.fresh) + len(b.conflicts) + len(b.refused)
	if n == 0 { // copies only: nothing is written
		err := tx.QueryRow(ctx, `SELECT last FROM arrival_counter`).Scan(&last)
		b.first = last + 1
		return last, err
	}
	err = tx.QueryRow(ctx, `UPDATE arrival_counter SET last = last + $1 RETURNING last`, n).Scan(&last)
	if err != nil {
		return 0, err
	}
	b.first = last - int64(n) + 1
	next := b.first
	for _, m := range b.fresh {
		m.Arrival = next
		next++
	}
	for _, p := range b.within {
		p.copy.Arrival = p.first.Arrival
	}
	for _, list := range [][]lab.Quarantined{b.conflicts, b.refused} {
		for i := range list {
			list[i].Arrival = next
			next++
		}
	}
	return last, nil
}

// insertMessages writes ms, a statement for each channel, in one round trip.
func insertMessages(ctx context.Context, tx pgx.Tx, ms []*lab.Message) error {
	byChannel := map[lab.Channel][]*lab.Message{}
	for _, m := range ms {
		byChannel[m.Channel] = append(byChannel[m.Channel], m)
	}
	var trip pgx.Batch
	var stored int64
	for _, channel := range lab.Channels {
		if list := byChannel[channel]; len(list) > 0 {
			in := insertions[channel]
			trip.Queue(in.sql, in.args(list)...)
		}
	}
	if trip.Len() == 0 {
		return nil
	}
	results := tx.SendBatch(ctx, &trip)
	for range trip.Len() {
		tag, err := results.Exec()
		if err != nil {
			_ = results.Close() // repeats the error
			return err
		}
		stored += tag.RowsAffected()
	}
	if err := results.Close(); err != nil {
		return err
	}
	if stored != int64(len(ms)) {
		return errStale
	}
	return nil
}

// insertSplitting finds the rows PostgreSQL refuses by halving, and moves
// them to quarantine under the numbers they have.
func (b *batch) insertSplitting(ctx context.Context, tx pgx.Tx) error {
	good := b.fresh[:0:0]
	var try func(ms []*lab.Message) error
	try = func(ms []*lab.Message) error {
		err := pgx.BeginFunc(ctx, tx, func(save pgx.Tx) error { return insertMessages(ctx, save, ms) })
		switch {
		case err == nil:
			good = append(good, ms...)
			return nil
		case !badRow(err):
			return err
		case len(ms) == 1:
			q := refusedByStore(ms[0], fmt.Sprintf("PostgreSQL cannot hold it: %v", err))
			q.Arrival = ms[0].Arrival
			b.conflicts = append(b.conflicts, q)
			return nil
		}
		half := len(ms) / 2
		if err := try(ms[:half]); err != nil {
			return err
		}
		return try(ms[half:])
	}
	if len(b.fresh) > 0 {
		if err := try(b.fresh); err != nil {
			return err
		}
	}
	b.fresh = good
	return nil
}

func refusedByStore(m *lab.Message, why string) lab.Quarantined {
	return quarantined(m, lab.RefusedByStore+": "+why)
}

func quarantined(m *lab.Message, reason string) lab.Quarantined {
	return lab.Quarantined{Received: m.Received, Topic: lab.Topic(m.Unit, m.Channel), Reason: reason,
		Payload: m.Payload, Unit: m.Unit, Imported: m.Imported}
}
