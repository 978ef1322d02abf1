package postgres

import "context"

// What is kept of refused messages: the newest of each unit, and of all. They
// are kept for whoever mends a unit, and a unit that is never mended may send
// them for months. Read when somebody looks for a fault, they prove nothing of
// a run: what a run rests on is telemetry, and is sealed with it.
const (
	QuarantineOfUnit = 10_000
	QuarantineOfAll  = 200_000
)

// TrimQuarantine drops the oldest refused messages beyond what is kept, and
// gives how many. A unit that has many does not push out another one's few
// before all of them together are too many.
func (s *Store) TrimQuarantine(ctx context.Context, ofUnit, ofAll int) (dropped int64, err error) {
	defer s.wrap(&err, s.control, "trim quarantine")
	tag, err := s.control.Exec(ctx, `
		DELETE FROM quarantine WHERE arrival IN (
			SELECT arrival FROM (
				SELECT arrival, row_number() OVER (PARTITION BY unit ORDER BY arrival DESC) AS of_unit,
				       row_number() OVER (ORDER BY arrival DESC) AS of_all
				FROM quarantine) AS q
			WHERE of_unit > $1 OR of_all > $2)`, ofUnit, ofAll)
	if err != nil {
		return 0, err
	}
	_, err = s.control.Exec(ctx, `DELETE FROM quarantine_again a WHERE NOT EXISTS (SELECT FROM quarantine q WHERE q.arrival = a.first)`)
	return tag.RowsAffected(), err
}
