package records_test

import (
	"context"
	"crypto/rand"
	"fmt"
	"log/slog"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/ingest"
	"wetside/internal/lab"
	"wetside/internal/postgres"
	"wetside/internal/postgres/pgtest"
	"wetside/internal/records"
	"wetside/internal/records/seal"
	"wetside/internal/simulation/sim"
	"wetside/rules"
	"wetside/rules/timeline"
)

// nine is when the simulated mornings begin: by the units' clocks long ago,
// so that their runs are ripe for a seal.
var nine = time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)

// zone is where the lab is: not where the database thinks.
var zone = time.FixedZone("CET", 3600)

var plover = lab.UnitID{Lab: "tern-street", Unit: "plover"}

// morning is a simulated unit whose telemetry was stored and judged as it is
// live, on a real database.
type morning struct {
	t     testing.TB
	store *postgres.Store
	term  int64
	url   string
	conn  *pgx.Conn // as superuser
	key   *seal.Key
	clock *clock
	eng   *timeline.Engine
	held  []lab.Message // kept back: what arrives late
	parts int           // messages in a part of a record; 0: as always
}

// clock is a clock that tests put forward.
type clock struct {
	mu  sync.Mutex
	now time.Time
}

func (c *clock) Now() time.Time { c.mu.Lock(); defer c.mu.Unlock(); return c.now }
func (c *clock) put(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = c.now.Add(d)
}

func newMorning(t testing.TB) *morning {
	t.Helper()
	url := pgtest.New(t)
	// What people enter comes in on the day of the telemetry. Runs are sealed
	// by the database's own time, which is today's.
	sameDay := &clock{now: nine.Add(4 * time.Hour)}
	store := pgtest.Store(t, postgres.Config{URL: url, Decode: ingest.Decode, Clock: sameDay})
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close(context.Background()) })
	private, err := seal.NewKey(rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	key, err := seal.ParseKey(private)
	if err != nil {
		t.Fatal(err)
	}
	m := &morning{t: t, store: store, term: pgtest.Lease(t, store), url: url, conn: conn, key: key,
		clock: &clock{now: time.Now().UTC()}, eng: timeline.NewEngine(rules.Config{Zone: zone})}
	m.eng.Paused(nine)
	if err := store.SetUnit(t.Context(), lab.UnitSetting{Unit: plover.String(), Name: "Plover", Standing: "accepted"}, "robin"); err != nil {
		t.Fatal(err)
	}
	return m
}

// work lets plover do runs, and stores what it sends. Messages that late
// names are kept back.
func (m *morning) work(dur time.Duration, late func(lab.Message) bool, faults ...sim.Fault) {
	m.t.Helper()
	for i, raws := range simulated(m.t, dur, faults) {
		var msgs []lab.Message
		for _, raw := range raws {
			msg, err := ingest.Decode(raw)
			if err != nil {
				m.t.Fatal(err)
			}
			if late != nil && late(msg) {
				m.held = append(m.held, msg)
				continue
			}
			msgs = append(msgs, msg)
		}
		m.arrive(msgs, nine.Add(time.Duration(i+1)*tenMinutes))
	}
}

const tenMinutes = 10 * time.Minute

// mornings are those that were simulated already: most tests want the same.
var mornings struct {
	sync.Mutex
	done map[string][][]lab.Raw
}

// simulated is what plover sends, ten minutes at a time.
func simulated(t testing.TB, dur time.Duration, faults []sim.Fault) [][]lab.Raw {
	t.Helper()
	mornings.Lock()
	defer mornings.Unlock()
	key := fmt.Sprint(dur, faults)
	if out, ok := mornings.done[key]; ok {
		return out
	}
	plan := sim.UnitPlan{Name: "plover", Processes: []string{"c41"}, Levels: map[string]float64{"waste": 1},
		Runs: []sim.RunPlan{{At: nine.Add(2 * time.Minute), Process: "c41"}, {At: nine.Add(time.Hour), Process: "c41"}}}
	l, err := sim.New(sim.Config{Seed: 11, Start: nine, Cadence: sim.Sparse, Schedule: sim.Schedule{Units: []sim.UnitPlan{plan}, Faults: faults}})
	if err != nil {
		t.Fatal(err)
	}
	var out [][]lab.Raw
	for at := nine; at.Before(nine.Add(dur)); {
		at = at.Add(tenMinutes)
		out = append(out, l.Advance(at))
	}
	if mornings.done == nil {
		mornings.done = map[string][][]lab.Raw{}
	}
	mornings.done[key] = out
	return out
}

// arrive stores messages and folds all that is new, as the worker does.
func (m *morning) arrive(msgs []lab.Message, at time.Time) {
	m.t.Helper()
	if _, err := m.store.Append(m.t.Context(), m.term, msgs, nil); err != nil {
		m.t.Fatal(err)
	}
	m.fold(at)
}

func (m *morning) fold(at time.Time) {
	m.t.Helper()
	_, _, done := m.eng.Snapshot(plover)
	arrivals, err := m.store.ArrivalsAfter(m.t.Context(), done, 100_000)
	if err != nil {
		m.t.Fatal(err)
	}
	for _, step := range []func() (timeline.Changes, error){
		func() (timeline.Changes, error) { return m.eng.Feed(m.t.Context(), arrivals, m.store) },
		func() (timeline.Changes, error) { return m.eng.Tick(m.t.Context(), at, m.store) },
	} {
		ch, err := step()
		if err != nil {
			m.t.Fatal(err)
		}
		version, blob, arrival := m.eng.Snapshot(plover)
		c := lab.Commit{Runs: ch.Runs, States: []lab.UnitState{{Unit: plover, Arrival: arrival, Version: version, Blob: blob}}}
		if len(blob) == 0 {
			continue
		}
		if err := m.store.Commit(m.t.Context(), m.term, c); err != nil {
			m.t.Fatal(err)
		}
	}
}

func (m *morning) making() records.Making {
	return records.Making{Rules: rules.Config{Zone: zone}, Decode: ingest.Decode, Program: "wetside test", Clock: m.clock,
		Log: slog.New(slog.NewTextHandler(testLog{m.t}, &slog.HandlerOptions{Level: slog.LevelWarn}))}
}

type testLog struct{ t testing.TB }

func (l testLog) Write(b []byte) (int, error) { l.t.Log(string(b)); return len(b), nil }

// sealAll seals what is ripe a day later, and fails where anything is left.
func (m *morning) sealAll() {
	m.t.Helper()
	m.clock.put(25 * time.Hour)
	m.sealWith(m.store, nil)
}

func (m *morning) config(store records.Store, w records.Witness) records.Config {
	return records.Config{Making: m.making(), Store: store, Term: m.term, Key: m.key, Witness: w, Poll: 2 * time.Millisecond}
}

// sealWith runs a worker until nothing waits.
func (m *morning) sealWith(store records.Store, witness records.Witness) {
	m.t.Helper()
	w, err := records.NewWorker(m.config(store, witness))
	if err != nil {
		m.t.Fatal(err)
	}
	if m.parts > 0 {
		w.PartsOf(m.parts)
	}
	if err := w.Start(m.t.Context()); err != nil {
		m.t.Fatal(err)
	}
	defer w.Stop()
	m.until("everything is sealed", func() bool {
		if t, _ := w.Trouble(); t != "" {
			m.t.Fatalf("nothing is sealed: %s", t)
		}
		return m.idle()
	})
}

// idle tells whether nothing waits for a seal.
func (m *morning) idle() bool {
	return one[int](m.t, m.conn, `SELECT (SELECT count(*) FROM record_queue) + (SELECT count(*) FROM entries e
		WHERE NOT EXISTS (SELECT FROM record_entries r WHERE r.entry = e.id))`) == 0
}

func (m *morning) until(what string, is func() bool) {
	m.t.Helper()
	tick := time.NewTicker(5 * time.Millisecond)
	defer tick.Stop()
	deadline := time.After(4 * time.Minute)
	for !is() {
		select {
		case <-tick.C:
		case <-deadline:
			m.t.Fatalf("not within four minutes: %s", what)
		}
	}
}

func one[T any](t testing.TB, conn *pgx.Conn, sql string, args ...any) (v T) {
	t.Helper()
	if err := conn.QueryRow(t.Context(), sql, args...).Scan(&v); err != nil {
		t.Fatalf("%s: %v", sql, err)
	}
	return v
}

func (m *morning) runs() []lab.Run {
	m.t.Helper()
	runs, err := m.store.Runs(m.t.Context(), lab.RunFilter{})
	if err != nil {
		m.t.Fatal(err)
	}
	return runs
}

func (m *morning) enter(e lab.Entry) lab.Entry {
	m.t.Helper()
	e.Unit, e.By = plover, "robin"
	kept, err := m.store.AppendEntry(m.t.Context(), e)
	if err != nil {
		m.t.Fatal(err)
	}
	m.fold(kept.Entered)
	return kept
}

func (m *morning) verify(o records.VerifyOptions) records.Verified {
	m.t.Helper()
	if o.Keys == nil {
		o.Keys = []string{m.key.Verifier()}
	}
	var v records.Verified
	err := m.store.ReadLog(m.t.Context(), func(view *postgres.LogView) (err error) {
		v, err = records.Verify(m.t.Context(), view, o)
		return err
	})
	if err != nil {
		m.t.Fatal(err)
	}
	return v
}

func (m *morning) reports() *records.Reports {
	m.t.Helper()
	r, err := records.NewReports(m.store, m.making())
	if err != nil {
		m.t.Fatal(err)
	}
	return r
}
