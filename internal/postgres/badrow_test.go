package postgres_test

import (
	"errors"
	"strings"
	"testing"

	"wetside/internal/lab"
	"wetside/internal/postgres"
	"wetside/internal/postgres/pgtest"
)

// A row that an older wetside accepted and the bounds of today refuse is read
// as refused, with its reason; what stands before and behind it is read as
// always. So is a message that came with no payload at all.
func TestStoredRowBeyondTheBounds(t *testing.T) {
	t.Parallel()
	url := pgtest.New(t)
	today := func(raw lab.Raw) (lab.Message, error) {
		m, err := decode(raw)
		if err == nil && m.Step != nil && m.Step.Push > 3 {
			err = errors.New("range: push is beyond 3")
		}
		return m, err
	}
	store := pgtest.Store(t, postgres.Config{URL: url, Decode: today})
	term, conn := pgtest.Lease(t, store), connect(t, url)
	ctx := t.Context()
	msgs := []lab.Message{
		temp(heron, "b1", 1, noon, 21),
		step(plover, "b1", 1, noon, lab.Step{Phase: lab.PhaseInBath, Run: "r-1", Process: "c41", Push: 1, Step: "developer", N: 1, Of: 6}),
		temp(plover, "b1", 2, noon, 38),
	}
	empty := lab.Quarantined{Received: noon, Topic: "wetside/v1/tern-street/heron/temp", Reason: "json: empty", Unit: heron}
	if _, err := store.Append(ctx, term, msgs, []lab.Quarantined{empty}); err != nil {
		t.Fatal(err)
	}
	tag, err := conn.Exec(ctx, `UPDATE telemetry SET payload = convert_to(replace(convert_from(payload, 'UTF8'), '"push":1', '"push":1.7e308'), 'UTF8') WHERE arrival = 2`)
	if err != nil || tag.RowsAffected() != 1 {
		t.Fatal(tag, err)
	}
	later := pgtest.Store(t, postgres.Config{URL: url, Decode: today}) // a program that begins with what is stored
	got, err := later.ArrivalsAfter(ctx, 0, 100)
	if err != nil || len(got) != 4 {
		t.Fatalf("%d arrivals, %v", len(got), err)
	}
	for i, a := range got {
		if want := i == 1 || i == 3; (a.Refused != nil) != want || a.Number() != int64(i+1) {
			t.Errorf("arrival %d: %+v; want refused: %v", i+1, a, want)
		}
	}
	if r := got[1].Refused; r == nil || r.Unit != plover || !strings.Contains(r.Reason, "push") || !strings.Contains(string(r.Payload), "1.7e308") {
		t.Errorf("the row is told as %+v", r)
	}
	if r := got[3].Refused; r == nil || len(r.Payload) != 0 || r.Unit != heron {
		t.Errorf("the empty message is told as %+v", r)
	}
	of, err := store.UnitMessages(ctx, plover, 0)
	if err != nil || len(of) != 1 || of[0].Arrival != 3 {
		t.Errorf("plover's own: %+v, %v", of, err)
	}
}
