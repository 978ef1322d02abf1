package postgres

import (
	"cmp"
	"context"
	"slices"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// ArrivalsAfter gives what arrived after a number, messages, refused ones and
// what people entered together, in arrival order, at most limit. Imported
// history is not in it. Fewer than limit may be given while more is being
// written; none only where there is none.
func (s *Store) ArrivalsAfter(ctx context.Context, after int64, limit int) (_ []lab.Arrival, err error) {
	defer s.wrap(&err, s.control, "read arrivals")
	if messages := s.tail.only(after, limit); len(messages) > 0 {
		return asArrivals(nil, messages), nil
	}
	// Asked for several times a second: where nothing arrived, this is all.
	var last int64
	if err := s.control.QueryRow(ctx, `SELECT last FROM arrival_counter`).Scan(&last); err != nil || last <= after {
		return nil, err
	}
	// One snapshot for all tables: else a number could be passed over that
	// was committed in between.
	var all []lab.Arrival
	err = pgx.BeginTxFunc(ctx, s.control, pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly},
		func(tx pgx.Tx) error {
			all, err = s.arrivalsAfter(ctx, tx, after, limit)
			return err
		})
	return all, err
}

func (s *Store) arrivalsAfter(ctx context.Context, tx pgx.Tx, after int64, limit int) ([]lab.Arrival, error) {
	var last int64
	if err := tx.QueryRow(ctx, `SELECT last FROM arrival_counter`).Scan(&last); err != nil {
		return nil, err
	}
	all, err := otherArrivals(ctx, tx, after, limit)
	if err != nil {
		return nil, err
	}
	if len(all) == limit { // what is behind them is not known yet
		last = min(last, all[limit-1].Number())
	}
	others := make([]int64, len(all))
	for i, a := range all {
		others[i] = a.Number()
	}
	messages, upTo := s.tail.after(after, last, others)
	known := slices.IndexFunc(all, func(a lab.Arrival) bool { return a.Number() > upTo })
	if known < 0 {
		known = len(all)
	}
	if upTo == last || len(messages)+known > 0 { // else what is behind a gap would never be reached
		all = asArrivals(all[:known], messages)
	} else {
		stored, err := s.storedAfter(ctx, tx, after, limit)
		if err != nil {
			return nil, err
		}
		if len(stored) == 0 {
			s.tail.empty(after+1, last)
		}
		all = append(all, stored...)
	}
	slices.SortFunc(all, func(a, b lab.Arrival) int { return cmp.Compare(a.Number(), b.Number()) })
	return all[:min(len(all), limit)], nil
}

func asArrivals(all []lab.Arrival, messages []lab.Message) []lab.Arrival {
	for i := range messages {
		all = append(all, lab.Arrival{Message: &messages[i]})
	}
	return all
}

// otherArrivals gives what arrived after a number and is no telemetry.
func otherArrivals(ctx context.Context, tx pgx.Tx, after int64, limit int) ([]lab.Arrival, error) {
	rows, err := tx.Query(ctx, `
		SELECT arrival, received_at, topic, unit, reason, payload FROM quarantine WHERE arrival > $1 AND NOT imported
		UNION ALL
		SELECT a.arrival, a.received_at, q.topic, q.unit, q.reason, q.payload
		FROM quarantine_again a JOIN quarantine q ON q.arrival = a.first WHERE a.arrival > $1 AND NOT q.imported
		ORDER BY arrival LIMIT $2`, after, limit)
	if err != nil {
		return nil, err
	}
	refused, err := pgx.CollectRows(rows, scanQuarantined)
	if err != nil {
		return nil, err
	}
	rows, err = tx.Query(ctx, `SELECT `+entryColumns+` FROM entries e WHERE arrival > $1 AND NOT imported ORDER BY arrival LIMIT $2`, after, limit)
	if err != nil {
		return nil, err
	}
	entries, err := pgx.CollectRows(rows, scanEntry)
	if err != nil {
		return nil, err
	}
	all := make([]lab.Arrival, 0, len(refused)+len(entries))
	for i := range refused {
		all = append(all, lab.Arrival{Refused: &refused[i]})
	}
	for i := range entries {
		all = append(all, lab.Arrival{Entry: &entries[i]})
	}
	slices.SortFunc(all, func(a, b lab.Arrival) int { return cmp.Compare(a.Number(), b.Number()) })
	return all[:min(len(all), limit)], nil
}

// storedAfter gives the telemetry after a number from its table: every day's
// partition has to be asked.
func (s *Store) storedAfter(ctx context.Context, tx pgx.Tx, after int64, limit int) ([]lab.Arrival, error) {
	rows, err := tx.Query(ctx, `
		SELECT arrival, unit, channel, at, at_replaced, received_at, retained, payload
		FROM telemetry WHERE arrival > $1 AND NOT imported ORDER BY arrival LIMIT $2`, after, limit)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, s.scanArrival)
}

// UnitMessages gives every stored message of a unit from an arrival number
// on, in arrival order. Imported history is not in it.
func (s *Store) UnitMessages(ctx context.Context, unit lab.UnitID, floor int64) (_ []lab.Message, err error) {
	defer s.wrap(&err, s.control, "read the telemetry of "+unit.String())
	rows, err := s.control.Query(ctx, `
		SELECT arrival, unit, channel, at, at_replaced, received_at, retained, payload
		FROM telemetry WHERE unit = $1 AND arrival >= $2 AND NOT imported ORDER BY arrival`, unit.String(), floor)
	if err != nil {
		return nil, err
	}
	all, err := pgx.CollectRows(rows, s.scanArrival)
	if err != nil {
		return nil, err
	}
	msgs := make([]lab.Message, 0, len(all))
	for _, a := range all {
		if a.Message != nil {
			msgs = append(msgs, *a.Message)
		}
	}
	return msgs, nil
}

// scanArrival decodes a stored message with the code that accepted it. The
// time that counts is kept as it was stored. A message that a later version
// of that code refuses is given as refused: it must not stop the worker.
func (s *Store) scanArrival(row pgx.CollectableRow) (lab.Arrival, error) {
	var (
		kept lab.Message
		raw  lab.Raw
		unit string
	)
	err := row.Scan(&kept.Arrival, &unit, &kept.Channel, &kept.At, &kept.AtReplaced, &raw.Received, &raw.Retained, &raw.Payload)
	if err != nil {
		return lab.Arrival{}, err
	}
	if s.cfg.Decode == nil {
		return lab.Arrival{}, lab.Errorf(lab.KindInternal, "stored telemetry cannot be decoded: Config.Decode is not set")
	}
	raw.Topic = lab.TopicPrefix + unit + "/" + string(kept.Channel)
	raw.Received = raw.Received.UTC()
	m, err := s.cfg.Decode(raw)
	if err != nil {
		s.log.Warn("stored telemetry is no longer understood", "arrival", kept.Arrival, "topic", raw.Topic, "error", err)
		id, _ := lab.ParseUnitID(unit)
		return lab.Arrival{Refused: &lab.Quarantined{Received: raw.Received, Topic: raw.Topic, Payload: raw.Payload,
			Reason: err.Error(), Unit: id, Arrival: kept.Arrival}}, nil
	}
	m.Arrival, m.AtReplaced, m.Payload = kept.Arrival, kept.AtReplaced, raw.Payload
	m.At, m.Received, m.Retained = kept.At.UTC(), raw.Received, raw.Retained
	return lab.Arrival{Message: &m}, nil
}
