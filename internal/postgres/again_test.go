package postgres_test

import (
	"testing"
	"time"

	"wetside/internal/lab"
)

// A refused message that the broker sends again is one row with a count: for
// ever where it names boot and seq, within some minutes where it does not. The
// rules still hear of each that names none.
func TestRefusedAgainIsCounted(t *testing.T) {
	t.Parallel()
	store, term, conn := held(t)
	put := func(after time.Duration, payload string) {
		t.Helper()
		q := lab.Quarantined{Received: noon.Add(after), Topic: lab.Topic(plover, "temp"), Reason: "range: bath_c", Payload: []byte(payload), Unit: plover}
		if _, err := store.Append(t.Context(), term, nil, []lab.Quarantined{q}); err != nil {
			t.Fatal(err)
		}
	}
	keyed, plain := `{"boot":"b","seq":3,"bath_c":1e9}`, `{`
	put(0, keyed)
	put(0, keyed) // the same batch once more
	put(time.Minute, keyed)
	put(40*time.Hour, keyed)
	put(0, `{"boot":"b","seq":4,"bath_c":1e9}`)
	put(0, plain)
	put(5*time.Minute, plain)
	put(14*time.Minute, plain)
	put(30*time.Minute, plain)
	type row struct {
		payload string
		times   int64
	}
	rows, err := conn.Query(t.Context(), `SELECT convert_from(payload, 'UTF8'), times FROM quarantine ORDER BY arrival`)
	if err != nil {
		t.Fatal(err)
	}
	var got []row
	for rows.Next() {
		var r row
		if err := rows.Scan(&r.payload, &r.times); err != nil {
			t.Fatal(err)
		}
		got = append(got, r)
	}
	want := []row{{keyed, 3}, {`{"boot":"b","seq":4,"bath_c":1e9}`, 1}, {plain, 3}, {plain, 1}}
	if len(got) != len(want) {
		t.Fatalf("rows %v; want %v", got, want)
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("row %d is %v; want %v", i, got[i], want[i])
		}
	}
	arrivals, err := store.ArrivalsAfter(t.Context(), 0, 100)
	if err != nil || len(arrivals) != 6 {
		t.Errorf("%d arrivals, %v; want the four rows and two that came again", len(arrivals), err)
	}
	if list, err := store.Quarantine(t.Context(), 0); err != nil || len(list) != 4 {
		t.Errorf("%d listed, %v; want 4", len(list), err)
	}
}
