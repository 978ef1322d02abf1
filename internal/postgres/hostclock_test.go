package postgres_test

import (
	"testing"
	"time"

	"wetside/internal/labtest"
	"wetside/internal/postgres"
	"wetside/internal/postgres/pgtest"
)

// What is due moves with the clock; what a clock that was ahead has left is
// due when it would have been by the present one.
func TestDueMovesWithTheClock(t *testing.T) {
	t.Parallel()
	url := pgtest.New(t)
	clock := labtest.NewClock(noon)
	store := pgtest.Store(t, postgres.Config{URL: url, Clock: clock})
	term := pgtest.Lease(t, store)
	conn := connect(t, url)
	exec := func(sql string, args ...any) {
		t.Helper()
		if _, err := conn.Exec(t.Context(), sql, args...); err != nil {
			t.Fatal(err)
		}
	}
	insert := func(name string, opened, due time.Time) {
		exec(`INSERT INTO page_cases (grouped, priority, opened_at, step, base, due_at, why) VALUES ($1, 'urgent', $2, 0, 0, $3, '')`, name, opened, due)
		exec(`INSERT INTO page_messages (id, person, priority, created_at, body, only_way, tries, next_try) VALUES ($1, 'ines', 'urgent', $2, '{}', '', 1, $3)`, name, opened, due)
	}
	check := func(name string, due, next time.Duration) {
		t.Helper()
		if got := one[time.Time](t, conn, `SELECT due_at FROM page_cases WHERE grouped = $1`, name); !got.Equal(noon.Add(due)) {
			t.Errorf("%s: the next step is due at %v", name, got.Sub(noon))
		}
		if got := one[time.Time](t, conn, `SELECT next_try FROM page_messages WHERE id = $1`, name); !got.Equal(noon.Add(next)) {
			t.Errorf("%s: the next try is at %v", name, got.Sub(noon))
		}
	}
	insert("a", noon, noon.Add(2*time.Minute))
	clock.Set(noon.Add(-time.Hour))
	if err := store.ClockSet(t.Context(), term, -time.Hour); err != nil {
		t.Fatal(err)
	}
	check("a", -58*time.Minute, -58*time.Minute)

	insert("b", noon, noon.Add(3*time.Minute))
	clock.Set(noon.Add(-30 * time.Minute))
	for range 2 {
		if err := store.EndFutures(t.Context(), term); err != nil {
			t.Fatal(err)
		}
	}
	check("b", -27*time.Minute, -30*time.Minute)
	if err := store.ClockSet(t.Context(), term-1, time.Hour); err == nil {
		t.Error("a term that is over moves what is due")
	}
}
