package postgres_test

import (
	"errors"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
	"wetside/internal/postgres"
	"wetside/internal/postgres/pgtest"
)

// Several programs may hand batches over at once; a reader that follows by
// number must never find one behind what it has read.
func TestArrivalNumbersRiseInTheOrderOfCommits(t *testing.T) {
	t.Parallel()
	url := pgtest.New(t)
	store := pgtest.Store(t, postgres.Config{URL: url, Decode: decode})
	other := pgtest.Store(t, postgres.Config{URL: url, Decode: decode})
	term := pgtest.Lease(t, store)
	const writers, batches, size = 4, 15, 4
	var wg sync.WaitGroup
	for w := range writers {
		by := store
		if w%2 == 1 {
			by = other
		}
		wg.Go(func() {
			for b := range batches {
				var msgs []lab.Message
				for i := range size {
					msgs = append(msgs, temp(plover, fmt.Sprint("w", w), int64(b*size+i+1), noon, 38))
				}
				bad := lab.Quarantined{Received: noon, Topic: fmt.Sprint("t", w, b), Reason: "topic: bad"}
				if _, err := by.Append(t.Context(), term, msgs, []lab.Quarantined{bad}); err != nil {
					t.Error(err)
				}
			}
		})
	}
	const all = writers * batches * (size + 1)
	var cursor int64
	var seen int
	deadline := time.Now().Add(time.Minute)
	for seen < all && time.Now().Before(deadline) && !t.Failed() {
		list, err := store.ArrivalsAfter(t.Context(), cursor, 7)
		if err != nil {
			t.Fatal(err)
		}
		for _, a := range list {
			if a.Number() != cursor+1 {
				t.Fatalf("number %d after %d", a.Number(), cursor)
			}
			cursor = a.Number()
			seen++
		}
	}
	wg.Wait()
	if seen != all {
		t.Errorf("the reader saw %d of %d", seen, all)
	}
}

func TestArrivalsAreWhatCameIn(t *testing.T) {
	t.Parallel()
	store, term, _ := held(t)
	lost := temp(heron, "b1", 1, time.Unix(9, 0), 21)
	lost.Received = noon.Add(123456 * time.Microsecond)
	lost.At = lost.Received
	msgs := []lab.Message{
		step(plover, "b1", 1, noon, lab.Step{Phase: lab.PhaseInBath, Run: "r-1", Process: "c41", Push: 0.5, Step: "developer", N: 1, Of: 6}),
		lost, will(heron, noon.Add(time.Minute)), temp(plover, "b1", 2, noon, 38),
	}
	refused := lab.Quarantined{Received: noon, Topic: "wetside/v1/tern-street/plover/temp", Reason: "range: bath_c", Payload: []byte("{}"), Unit: plover}
	if _, err := store.Append(t.Context(), term, msgs, []lab.Quarantined{refused}); err != nil {
		t.Fatal(err)
	}
	got, err := store.ArrivalsAfter(t.Context(), 0, 100)
	if err != nil {
		t.Fatal(err)
	}
	refused.Arrival = 5
	want := []lab.Arrival{{Message: &msgs[0]}, {Message: &msgs[1]}, {Message: &msgs[2]}, {Message: &msgs[3]}, {Refused: &refused}}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	if got, _ = store.ArrivalsAfter(t.Context(), 3, 1); len(got) != 1 || got[0].Number() != 4 {
		t.Errorf("one after 3: %v", got)
	}
	of, err := store.UnitMessages(t.Context(), plover, 2)
	if diff := cmp.Diff([]lab.Message{msgs[3]}, of); diff != "" || err != nil {
		t.Errorf("plover from 2: %v (-want +got):\n%s", err, diff)
	}
}

// The reply to COMMIT is lost: the caller sees an error, the rows are there.
// The same call again reports copies and refuses nothing twice.
func TestLostReplyToCommit(t *testing.T) {
	t.Parallel()
	url := pgtest.New(t)
	store := pgtest.Store(t, postgres.Config{URL: url, Decode: decode})
	term := pgtest.Lease(t, store)
	conn := connect(t, url)
	// A deferred trigger runs inside COMMIT. It ends nothing, it only waits
	// for a lock that the test holds, so that the caller can give up meanwhile.
	for _, sql := range []string{
		`CREATE TABLE gate ()`,
		`CREATE FUNCTION wait_at_gate() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN LOCK TABLE gate IN SHARE MODE; RETURN NULL; END $$`,
		`CREATE CONSTRAINT TRIGGER gate AFTER INSERT ON quarantine DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION wait_at_gate()`,
	} {
		if _, err := conn.Exec(t.Context(), sql); err != nil {
			t.Fatal(err)
		}
	}
	gate, err := conn.Begin(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := gate.Exec(t.Context(), `LOCK TABLE gate IN ACCESS EXCLUSIVE MODE`); err != nil {
		t.Fatal(err)
	}
	batch := []lab.Message{temp(plover, "b1", 1, noon, 38), temp(plover, "b1", 2, noon, 38)}
	bad := []lab.Quarantined{{Received: noon, Topic: "t", Reason: "topic: bad", Payload: []byte("x")}}
	failed := make(chan error, 1)
	proxy := newCutter(t, url)
	through := pgtest.Store(t, postgres.Config{URL: proxy.url, Decode: decode, App: "through"})
	go func() {
		_, err := through.Append(t.Context(), term, batch, bad)
		failed <- err
	}()
	watcher := connect(t, url)
	waitFor(t, "the commit is under way", func() bool {
		return one[int](t, watcher, `SELECT count(*) FROM pg_stat_activity WHERE application_name = 'through ingest'
			AND wait_event_type = 'Lock' AND query ILIKE 'commit%'`) == 1
	})
	proxy.cut()
	if err := <-failed; err == nil || lab.KindOf(err) != lab.KindUnavailable {
		t.Errorf("got %v; want unavailable", err)
	}
	if err := gate.Rollback(t.Context()); err != nil {
		t.Fatal(err)
	}
	waitFor(t, "the commit goes through", func() bool { return one[int](t, watcher, `SELECT count(*) FROM telemetry`) == 2 })
	proxy.mend()
	res, err := through.Append(t.Context(), term, batch, bad)
	if err != nil || res.New != 0 || res.Copies != 2 {
		t.Errorf("again: %+v, %v; want two copies", res, err)
	}
	if n := one[int](t, watcher, `SELECT count(*) FROM quarantine`); n != 1 {
		t.Errorf("%d in quarantine; want 1", n)
	}
}

func TestExportInArrivalOrder(t *testing.T) {
	t.Parallel()
	store, term, _ := held(t)
	late := temp(plover, "b1", 1, noon.Add(-time.Hour), 38)
	msgs := []lab.Message{temp(plover, "b1", 2, noon, 38), temp(heron, "b7", 1, noon, 38), late, will(heron, noon.Add(time.Hour))}
	msgs[0].Payload = []byte("{ \"at\":\"2026-03-01T12:00:00.000Z\",\n\"boot\":\"b1\", \"seq\":2,\"bath_c\":38, \"unknown\":[1] }")
	mustAppend(t, store, term, msgs[:2]...)
	mustAppend(t, store, term, msgs[2:]...)
	for name, c := range map[string]struct {
		filter lab.ExportFilter
		want   []int
	}{
		"all":     {lab.ExportFilter{}, []int{0, 1, 2, 3}},
		"a unit":  {lab.ExportFilter{Unit: plover.String()}, []int{0, 2}},
		"from":    {lab.ExportFilter{From: noon}, []int{0, 1, 3}},
		"to":      {lab.ExportFilter{To: noon}, []int{2}},
		"nothing": {lab.ExportFilter{Unit: "tern-street/avocet"}, nil},
	} {
		var want, got []lab.Raw
		for _, i := range c.want {
			m := msgs[i]
			want = append(want, lab.Raw{Topic: lab.Topic(m.Unit, m.Channel), Payload: m.Payload, Received: m.Received, Retained: m.Retained})
		}
		err := store.Export(t.Context(), c.filter, func(r lab.Raw) error { got = append(got, r); return nil })
		if diff := cmp.Diff(want, got); diff != "" || err != nil {
			t.Errorf("%s: %v (-want +got):\n%s", name, err, diff)
		}
	}
	full := errors.New("disk full")
	if err := store.Export(t.Context(), lab.ExportFilter{}, func(lab.Raw) error { return full }); !errors.Is(err, full) {
		t.Errorf("got %v; want the writer's error", err)
	}
}

func TestTrace(t *testing.T) {
	t.Parallel()
	store, term, _ := held(t)
	lost := temp(plover, "b2", 1, time.Unix(9, 0), 21)
	lost.Received = noon.Add(90 * time.Second)
	lost.At = lost.Received
	mustAppend(t, store, term, temp(plover, "b1", 2, noon.Add(time.Minute), 38.5), temp(plover, "b1", 1, noon, 38),
		temp(plover, "b1", 3, noon.Add(time.Hour), 39), temp(heron, "b1", 1, noon, 30), lost,
		step(plover, "b1", 4, noon, lab.Step{Phase: lab.PhaseIdle}))
	got, err := store.Trace(t.Context(), plover, noon, noon.Add(time.Hour))
	if err != nil {
		t.Fatal(err)
	}
	var text []string
	for _, p := range got {
		text = append(text, fmt.Sprintf("%s %g", p.At, *p.BathC))
	}
	want := "2026-03-01T12:00:00.000Z 38, 2026-03-01T12:01:00.000Z 38.5, 2026-03-01T12:01:30.000Z 21"
	if s := strings.Join(text, ", "); s != want {
		t.Errorf("got  %s\nwant %s", s, want)
	}
}

func TestViewsReadable(t *testing.T) {
	t.Parallel()
	store, term, conn := held(t)
	raw := func(c lab.Channel, seq int, body string) lab.Message {
		return decoded(lab.Raw{Topic: lab.Topic(plover, c), Received: noon,
			Payload: fmt.Appendf(nil, `{"at":"2026-03-01T12:00:00Z","boot":"b1","seq":%d,%s}`, seq, body)})
	}
	mustAppend(t, store, term,
		raw(lab.ChannelStatus, 1, `"online":true,"model":"M6","processes":["c41","bw"],"containers":{"waste":{"role":"waste","capacity_l":18.9}}`),
		raw(lab.ChannelStep, 2, `"phase":"in-bath","run":"r","process":"c41","push":1.5,"step":"developer","n":1,"of":6,"set_s":195,"drain_to":"waste"`),
		raw(lab.ChannelTemp, 3, `"bath_c":37.8,"room_c":21`),
		raw(lab.ChannelTank, 4, `"levels_l":{"waste":3.5},"full":["waste"]`),
		raw(lab.ChannelPower, 5, `"source":"battery","event":"lost","battery_pct":88`),
		raw(lab.ChannelMotion, 6, `"rpm":45,"reversals":3`))
	for sql, want := range map[string]string{
		`SELECT model || array_to_string(processes, '+') || (containers -> 'waste' ->> 'capacity_l') || online FROM telemetry_status`: "M6c41+bw18.9true",
		`SELECT concat_ws(' ', phase, run, process, push, step, n, of_n, set_s, drain_to, waits_for) FROM telemetry_step`:             "in-bath r c41 1.5 developer 1 6 195 waste",
		`SELECT concat_ws(' ', bath_c, preheat_c, room_c) FROM telemetry_temp`:                                                        "37.8 21",
		`SELECT (levels_l ->> 'waste') || full_containers[1] FROM telemetry_tank`:                                                     "3.5waste",
		`SELECT concat_ws(' ', power_source, power_event, outage_s, battery_pct) FROM telemetry_power`:                                "battery lost 88",
		`SELECT concat_ws(' ', rpm, reversals) FROM telemetry_motion`:                                                                 "45 3",
	} {
		if got := one[string](t, conn, sql); got != want {
			t.Errorf("%s: %q; want %q", sql, got, want)
		}
	}
}

func BenchmarkAppend(b *testing.B) {
	store, term, _ := held(b)
	const size = 1000
	seq := int64(0)
	for b.Loop() {
		msgs := make([]lab.Message, size)
		for i := range msgs {
			seq++
			msgs[i] = temp(plover, "bench", seq, noon.Add(time.Duration(seq)*time.Millisecond), 38)
		}
		mustAppend(b, store, term, msgs...)
	}
	b.ReportMetric(float64(seq)/b.Elapsed().Seconds(), "rows/s")
}

// BenchmarkCopyCeiling is what the same rows cost with COPY alone: no copies
// told apart, no numbers, no term.
func BenchmarkCopyCeiling(b *testing.B) {
	_, _, conn := held(b)
	const size = 1000
	seq := int64(0)
	columns := []string{"arrival", "unit", "channel", "boot", "seq", "sent_at", "at", "at_replaced", "received_at", "retained", "will", "payload", "bath_c"}
	for b.Loop() {
		rows := make([][]any, size)
		for i := range rows {
			seq++
			m := temp(plover, "bench", seq, noon.Add(time.Duration(seq)*time.Millisecond), 38)
			rows[i] = []any{seq, m.Unit.String(), "temp", m.Boot, seq, m.SentAt, m.At, false, m.Received, false, false, m.Payload, *m.Temp.BathC}
		}
		if _, err := conn.CopyFrom(b.Context(), pgx.Identifier{"telemetry"}, columns, pgx.CopyFromRows(rows)); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(seq)/b.Elapsed().Seconds(), "rows/s")
}
