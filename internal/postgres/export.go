package postgres

import (
	"context"
	"time"

	"wetside/internal/lab"
)

// Export calls each with every stored message of the filter as it was
// received, as of one moment: imported history by the time of its arrival,
// then what was heard live in arrival order. From is included, To is not;
// both are on the unit's time that counts. An error of each ends it.
func (s *Store) Export(ctx context.Context, f lab.ExportFilter, each func(lab.Raw) error) (err error) {
	defer s.wrap(&err, s.web, "export telemetry")
	rows, err := s.web.Query(ctx, `
		SELECT unit, channel, received_at, retained, payload
		FROM telemetry
		WHERE ($1 = '' OR unit = $1)
		  AND ($2::timestamptz IS NULL OR at >= $2)
		  AND ($3::timestamptz IS NULL OR at < $3)
		ORDER BY NOT imported, CASE WHEN imported THEN received_at END, arrival`, f.Unit, orNull(f.From), orNull(f.To))
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var unit, channel string
		var raw lab.Raw
		if err := rows.Scan(&unit, &channel, &raw.Received, &raw.Retained, &raw.Payload); err != nil {
			return err
		}
		raw.Topic = lab.TopicPrefix + unit + "/" + channel
		raw.Received = raw.Received.UTC()
		if err := each(raw); err != nil {
			return err
		}
	}
	return rows.Err()
}

// orNull is null for the zero time.
func orNull(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	t = t.UTC()
	return &t
}
