package bench

import (
	"fmt"
	"time"

	"wetside/internal/lab"
)

// past gives the lab so many days of history, straight into the store: each
// day's partition, and in each some telemetry of five units.
func (s *site) past(days int) {
	s.t.Helper()
	if days == 0 {
		return
	}
	ctx := s.t.Context()
	today := time.Now().UTC().Truncate(24 * time.Hour)
	if err := s.store.EnsurePartitions(ctx, today.AddDate(0, 0, -days), today); err != nil {
		s.t.Fatal(err)
	}
	conn := connect(s.t, s.database)
	for _, sql := range []string{
		fmt.Sprintf(`INSERT INTO telemetry (arrival, unit, channel, boot, seq, sent_at, at, at_replaced, received_at, retained, will, imported, payload, bath_c)
		SELECT n, '%s/old-' || n %% 5, 'temp', 'past', n, at, at, false, at, false, false, true, '\x7b7d', 37.8
		FROM generate_series(1, %d) n, LATERAL (SELECT now() - make_interval(secs => n * 864.0) AS at) AS x`, benchLab, days*100),
		`ANALYZE telemetry`,
	} {
		if _, err := conn.Exec(ctx, sql); err != nil {
			s.t.Fatal(err)
		}
	}
}

// readings gives a unit a temperature reading each five seconds for half a
// day until now, straight into the store.
func (s *site) readings(unit string) {
	s.t.Helper()
	conn := connect(s.t, s.database)
	_, err := conn.Exec(s.t.Context(), fmt.Sprintf(`INSERT INTO telemetry (arrival, unit, channel, boot, seq, sent_at, at, at_replaced, received_at, retained, will, imported, payload, bath_c)
		SELECT 1000000 + n, $1, 'temp', 'day', n, at, at, false, at, false, false, true, '\x7b7d', 37.8
		FROM generate_series(1, %d) n, LATERAL (SELECT now() - make_interval(secs => n * 5.0) AS at) AS x`, 12*3600/5), lab.UnitID{Lab: benchLab, Unit: unit}.String())
	if err != nil {
		s.t.Fatal(err)
	}
}
