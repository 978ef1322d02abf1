package postgres

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// messageKey names a message for ever; a will, which has no number, by its
// arrival.
type messageKey struct {
	unit lab.UnitID
	boot string
	seq  int64
	will time.Time
}

func keyOf(m *lab.Message) messageKey {
	k := messageKey{unit: m.Unit, boot: m.Boot, seq: m.Seq}
	if m.Will {
		k.will = receivedTime(m)
	}
	return k
}

// stored is what is already there under a key.
type stored struct {
	arrival int64
	channel lab.Channel
	payload []byte
}

// sort tells the batch's messages apart: fresh ones, copies and conflicts
// with what is stored or stands earlier in the batch.
func (b *batch) sort(ctx context.Context, tx pgx.Tx) error {
	msgs := b.holdable()
	if err := b.store.loadBoots(ctx, tx, msgs); err != nil {
		return err
	}
	var suspects []*lab.Message
	for _, m := range msgs {
		if m.Will || b.store.heard.sets[bootKey{m.Unit, m.Boot}].has(m.Seq) {
			suspects = append(suspects, m)
		}
	}
	there, err := lookUp(ctx, tx, suspects)
	if err != nil {
		return err
	}
	first := map[messageKey]*lab.Message{}
	for _, m := range msgs {
		k := keyOf(m)
		if old, ok := there[k]; ok {
			b.compare(m, old)
		} else if f, ok := first[k]; ok {
			b.compareWithin(m, f)
		} else {
			first[k] = m
			b.fresh = append(b.fresh, m)
		}
	}
	return nil
}

// holdable leaves out what cannot even be looked for, since its key is no
// text to PostgreSQL, and what lacks its body.
func (b *batch) holdable() []*lab.Message {
	msgs := make([]*lab.Message, 0, len(b.msgs))
	for i := range b.msgs {
		m := &b.msgs[i]
		switch {
		case !isStorable(m.Boot):
			b.conflicts = append(b.conflicts, refusedByStore(m, "boot holds a NUL or is not UTF-8"))
		case !hasBody(m):
			b.conflicts = append(b.conflicts, refusedByStore(m, fmt.Sprintf("a message of channel %q without its body", m.Channel)))
		default:
			msgs = append(msgs, m)
		}
	}
	return msgs
}

// loadBoots reads which sequence numbers are stored of boots that were not
// heard since this process began to write. It asks once for all of them: every
// day's partition has to be opened for it.
func (s *Store) loadBoots(ctx context.Context, tx pgx.Tx, msgs []*lab.Message) error {
	var keys []bootKey
	var units, boots []string
	asked := map[bootKey]*seqSet{}
	for _, m := range msgs {
		k := bootKey{m.Unit, m.Boot}
		if m.Will || s.heard.sets[k] != nil || asked[k] != nil {
			continue
		}
		asked[k] = &seqSet{}
		keys, units, boots = append(keys, k), append(units, k.unit.String()), append(boots, k.boot)
	}
	if len(asked) == 0 {
		return nil
	}
	// numbers that follow each other differ from their rank by the same
	rows, err := tx.Query(ctx, `
		SELECT n, min(seq), max(seq)
		FROM (SELECT k.n, t.seq, t.seq - row_number() OVER (PARTITION BY k.n ORDER BY t.seq) AS stretch
		      FROM unnest($1::text[], $2::text[]) WITH ORDINALITY AS k (unit, boot, n)
		      CROSS JOIN LATERAL (SELECT DISTINCT seq FROM telemetry WHERE unit = k.unit AND boot = k.boot) AS t) AS ranked
		GROUP BY n, stretch ORDER BY 1, 2`, units, boots)
	if err != nil {
		return err
	}
	var n int64
	var sp span
	_, err = pgx.ForEachRow(rows, []any{&n, &sp.lo, &sp.hi}, func() error {
		set := asked[keys[n-1]]
		set.spans = append(set.spans, sp)
		return nil
	})
	if err != nil {
		return err
	}
	for k, set := range asked {
		s.heard.sets[k] = set
	}
	return nil
}

// lookUp finds what is stored under the keys of ms: first where a true copy
// must lie, in the partition of the time it was sent; the same key with other
// content may have been sent at any time.
func lookUp(ctx context.Context, tx pgx.Tx, ms []*lab.Message) (map[messageKey]stored, error) {
	there := map[messageKey]stored{}
	if len(ms) == 0 {
		return there, nil
	}
	err := lookUpBy(ctx, tx, ms, there, `
		SELECT t.unit, t.boot, t.seq, t.sent_at, t.will, t.arrival, t.channel, t.payload
		FROM unnest($1::text[], $2::text[], $3::bigint[], $4::timestamptz[]) AS k (unit, boot, seq, sent_at)
		JOIN telemetry t USING (unit, boot, seq, sent_at)`, values(partitionTime))
	if err != nil {
		return nil, err
	}
	var rest []*lab.Message
	for _, m := range ms {
		if _, ok := there[keyOf(m)]; !ok && !m.Will {
			rest = append(rest, m)
		}
	}
	if len(rest) == 0 {
		return there, nil
	}
	return there, lookUpBy(ctx, tx, rest, there, `
		SELECT t.unit, t.boot, t.seq, t.sent_at, t.will, t.arrival, t.channel, t.payload
		FROM unnest($1::text[], $2::text[], $3::bigint[]) AS k (unit, boot, seq)
		JOIN telemetry t USING (unit, boot, seq)`, nil)
}

func lookUpBy(ctx context.Context, tx pgx.Tx, ms []*lab.Message, into map[messageKey]stored, sql string, sentAt func([]*lab.Message) any) error {
	args := []any{
		values(func(m *lab.Message) string { return m.Unit.String() })(ms),
		values(func(m *lab.Message) string { return m.Boot })(ms),
		values(func(m *lab.Message) int64 { return m.Seq })(ms),
	}
	if sentAt != nil {
		args = append(args, sentAt(ms))
	}
	rows, err := tx.Query(ctx, sql, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var (
			unit   string
			k      messageKey
			sent   time.Time
			isWill bool
			found  stored
		)
		if err := rows.Scan(&unit, &k.boot, &k.seq, &sent, &isWill, &found.arrival, &found.channel, &found.payload); err != nil {
			return err
		}
		if k.unit, err = lab.ParseUnitID(unit); err != nil {
			return err
		}
		if isWill {
			k.will = sent.UTC()
		}
		into[k] = found
	}
	return rows.Err()
}

// compare takes m as a copy of what is stored, or as a conflict with it.
func (b *batch) compare(m *lab.Message, old stored) {
	if m.Channel == old.channel && lab.SamePayload(m.Payload, old.payload) {
		m.Arrival = old.arrival
		b.copies++
		return
	}
	b.conflicts = append(b.conflicts, keyConflict(m, fmt.Sprintf("arrival %d", old.arrival)))
}

// compareWithin is compare with an earlier message of the same batch.
func (b *batch) compareWithin(m, first *lab.Message) {
	if m.Channel == first.Channel && lab.SamePayload(m.Payload, first.Payload) {
		b.copies++
		b.within = append(b.within, pair{m, first})
		return
	}
	b.conflicts = append(b.conflicts, keyConflict(m, "the message before it"))
}

func keyConflict(m *lab.Message, with string) lab.Quarantined {
	return quarantined(m, fmt.Sprintf("%s: boot %q seq %d was already taken by %s with other content; use a new seq for each message and a new boot at each start",
		lab.RefusedKeyConflict, m.Boot, m.Seq, with))
}

// pair is a copy and the first of its key, of one batch.
type pair struct{ copy, first *lab.Message }
