package postgres_test

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"wetside/internal/lab"
	"wetside/internal/postgres"
	"wetside/internal/postgres/pgtest"
)

// drained reads all that arrived after a number, so many at a time.
func drained(t testing.TB, s *postgres.Store, after int64, limit int) (all []lab.Arrival) {
	t.Helper()
	for {
		list, err := s.ArrivalsAfter(t.Context(), after, limit)
		if err != nil {
			t.Fatal(err)
		}
		if len(list) == 0 {
			return all
		}
		all = append(all, list...)
		after = list[len(list)-1].Number()
	}
}

// Whoever wrote what in whatever order, what is read from memory is what the
// tables hold: each arrival once, in order, to the last field.
func TestArrivalsFromMemoryAreThoseOfTheTables(t *testing.T) {
	t.Parallel()
	for seed := range uint64(6) {
		t.Run(fmt.Sprint(seed), func(t *testing.T) {
			url := pgtest.New(t)
			cfg := postgres.Config{URL: url, Decode: decode}
			store, other, reads := pgtest.Store(t, cfg), pgtest.Store(t, cfg), pgtest.Store(t, cfg)
			term := pgtest.Lease(t, store)
			r := rand.New(rand.NewPCG(seed, 12))
			seq, ids := int64(0), 0
			some := func() (msgs []lab.Message) {
				for range 1 + r.IntN(5) {
					seq++
					at := noon.Add(time.Duration(seq)*time.Second + time.Duration(r.IntN(1e9)))
					m := temp([]lab.UnitID{plover, heron}[r.IntN(2)], fmt.Sprint("b", seq%3), seq, at, 38)
					m.Received = m.Received.Add(time.Duration(r.IntN(1e6))) // finer than the tables' resolution
					msgs = append(msgs, m)
				}
				return msgs
			}
			entry := func() lab.Entry {
				ids++
				return lab.Entry{ID: fmt.Sprint("e", ids), Unit: plover, What: lab.EntryNote, At: noon, Entered: noon, By: "Wren", Body: []byte(fmt.Sprintf(`{"text":"note %d"}`, ids))}
			}
			var cursor int64
			var live []lab.Arrival
			for range 60 {
				var err error
				switch r.IntN(10) {
				case 0, 1, 2:
					_, err = store.Append(t.Context(), term, some(), nil)
				case 3:
					_, err = store.Append(t.Context(), term, some(), []lab.Quarantined{{Received: noon, Topic: fmt.Sprint("t", seq), Reason: "topic: bad"}})
				case 4:
					_, err = store.Append(t.Context(), term, nil, []lab.Quarantined{{Received: noon, Topic: fmt.Sprint("u", seq, ids), Reason: "topic: bad"}})
				case 5:
					_, err = other.Append(t.Context(), term, some(), nil)
				case 6:
					_, err = []*postgres.Store{store, other}[r.IntN(2)].Import(t.Context(), some(), nil)
				case 7:
					e := entry()
					if _, err = other.ImportEntries(t.Context(), []lab.Entry{e}); err == nil {
						_, err = other.ImportEntries(t.Context(), []lab.Entry{e}) // takes a number and writes nothing
					}
				case 8:
					_, err = []*postgres.Store{store, other}[r.IntN(2)].AppendEntry(t.Context(), entry())
				case 9: // the worker looks
					got := drained(t, store, cursor, 1+r.IntN(9))
					if len(got) > 0 {
						cursor = got[len(got)-1].Number()
					}
					live = append(live, got...)
				}
				if err != nil {
					t.Fatal(err)
				}
			}
			live = append(live, drained(t, store, cursor, 7)...)
			want := drained(t, reads, 0, 1000)
			if diff := cmp.Diff(want, live); diff != "" {
				t.Errorf("tables (-) and memory (+) differ:\n%s", diff)
			}
			from := want[r.IntN(len(want))].Number()
			if diff := cmp.Diff(drained(t, reads, from, 5), drained(t, store, from, 5)); diff != "" {
				t.Errorf("from %d tables (-) and memory (+) differ:\n%s", from, diff)
			}
		})
	}
}

// What another holder of the lab wrote meanwhile, and what memory has no room
// for, is read from the tables.
func TestMemoryOfArrivalsHasAnEnd(t *testing.T) {
	t.Parallel()
	url := pgtest.New(t)
	store := pgtest.Store(t, postgres.Config{URL: url, Decode: decode})
	term := pgtest.Lease(t, store)
	const all = 9000 // more than it keeps
	msgs := make([]lab.Message, all)
	for i := range msgs {
		msgs[i] = temp(plover, "b1", int64(i+1), noon.Add(time.Duration(i)*time.Second), 38)
	}
	for i := 0; i < all; i += 500 {
		mustAppend(t, store, term, msgs[i:i+500]...)
	}
	got := drained(t, store, 0, 1000)
	if len(got) != all || got[0].Number() != 1 || got[all-1].Number() != all {
		t.Errorf("%d arrivals; want %d", len(got), all)
	}
}

// BenchmarkArrivals is a look of the worker in a lab that is a year old: when
// nothing has come, and when fifty messages have. The ceiling asks one row.
func BenchmarkArrivals(b *testing.B) {
	store, term, conn := held(b)
	if err := store.EnsurePartitions(b.Context(), noon.AddDate(-1, 0, 0), noon); err != nil {
		b.Fatal(err)
	}
	seq := int64(0)
	look := func(b *testing.B, n int) {
		var cursor int64
		if err := conn.QueryRow(b.Context(), `SELECT last FROM arrival_counter`).Scan(&cursor); err != nil {
			b.Fatal(err)
		}
		for b.Loop() {
			b.StopTimer()
			msgs := make([]lab.Message, n)
			for i := range msgs {
				seq++
				msgs[i] = temp(plover, "b1", seq, noon.Add(time.Duration(seq)*time.Millisecond), 38)
			}
			mustAppend(b, store, term, msgs...)
			b.StartTimer()
			got, err := store.ArrivalsAfter(b.Context(), cursor, 1000)
			if err != nil || len(got) != n {
				b.Fatalf("%d arrivals, %v; want %d", len(got), err, n)
			}
			cursor += int64(n)
		}
	}
	b.Run("nothing", func(b *testing.B) { look(b, 0) })
	b.Run("fifty", func(b *testing.B) { look(b, 50) })
	b.Run("ceiling", func(b *testing.B) {
		var last int64
		for b.Loop() {
			if err := conn.QueryRow(b.Context(), `SELECT last FROM arrival_counter`).Scan(&last); err != nil {
				b.Fatal(err)
			}
		}
	})
}

// BenchmarkNewBoots is a batch of which no boot was heard before, in a lab that
// is a year old: after a start every unit is one.
func BenchmarkNewBoots(b *testing.B) {
	for _, days := range []int{0, 365} {
		b.Run(fmt.Sprint(days), func(b *testing.B) {
			store, term, _ := held(b)
			if err := store.EnsurePartitions(b.Context(), noon.AddDate(0, 0, -days), noon); err != nil {
				b.Fatal(err)
			}
			n := 0
			for b.Loop() {
				msgs := make([]lab.Message, 50)
				for i := range msgs {
					n++
					msgs[i] = temp(plover, fmt.Sprint("boot-", n), 1, noon.Add(time.Duration(n)*time.Millisecond), 38)
				}
				mustAppend(b, store, term, msgs...)
			}
		})
	}
}
