package main

import (
	"context"
	"encoding/json"
	"fmt"
	"log/slog"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/jackc/pgx/v5"
	"github.com/klauspost/compress/zstd"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/monitor"
	"wetside/internal/monitor/monitortest"
	"wetside/internal/monitor/sealkey"
	"wetside/internal/postgres/pgtest"
)

// A folder of testdata/databases is a lab that an older program kept: its
// database, the sealing key (made for it, and for nothing else), what that
// program said of the lab, and what the units would have said next.
const (
	databasesDir     = "../../testdata/databases"
	databaseDump     = "database.sql.zst"
	databaseSaidFile = "said.json.zst"
	databaseNext     = "next.jsonl"
)

// databaseSaid is what the older program said as its lab was kept.
type databaseSaid struct {
	Program string    `json:"program"`
	AskedAt time.Time `json:"asked_at"`
	// Answers are those of its API, by path.
	Answers map[string]json.RawMessage `json:"answers"`
	// Leaves is the record log: everything that was sealed, with its hash.
	Leaves []sealedLeaf `json:"leaves"`
	Verify string       `json:"verify"` // what its wetside verify printed
	// Waiting is how many ended runs were not sealed yet.
	Waiting int `json:"waiting"`
}

type sealedLeaf struct {
	Leaf    int64  `json:"leaf"`
	Kind    string `json:"kind"`
	Subject string `json:"subject"`
	Hash    string `json:"hash"`
}

func leavesOf(t *testing.T, conn *pgx.Conn) []sealedLeaf {
	t.Helper()
	rows, err := conn.Query(t.Context(), `SELECT leaf, kind, subject, encode(hash, 'hex') FROM log_leaves ORDER BY leaf`)
	if err != nil {
		t.Fatal(err)
	}
	out, err := pgx.CollectRows(rows, pgx.RowToStructByPos[sealedLeaf])
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func countOf(t *testing.T, conn *pgx.Conn, sql string) (n int) {
	t.Helper()
	if err := conn.QueryRow(t.Context(), sql).Scan(&n); err != nil {
		t.Fatalf("%s: %v", sql, err)
	}
	return n
}

func packed(t *testing.T, b []byte) []byte {
	t.Helper()
	z, err := zstd.NewWriter(nil, zstd.WithEncoderLevel(zstd.SpeedBestCompression))
	if err != nil {
		t.Fatal(err)
	}
	defer z.Close()
	return z.EncodeAll(b, nil)
}

func unpacked(t *testing.T, path string) []byte {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	z, err := zstd.NewReader(nil)
	if err != nil {
		t.Fatal(err)
	}
	defer z.Close()
	if b, err = z.DecodeAll(b, nil); err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	return b
}

// statesNoLongerRead are the folders whose stored states today's program folds
// again. Who raises StateVersion on purpose names those that it leaves behind;
// by mistake, the test fails.
var statesNoLongerRead = []string{}

// A lab that an older program kept goes on under the program of today: what
// was sealed verifies with the hash it had, alerts, runs, verdicts and views
// are what the older program said, nobody is paged again, and the units go on.
// So it does where the stored states are of another version, too, and are
// folded again.
func TestDatabasesOfOlderVersions(t *testing.T) {
	t.Parallel()
	dirs, err := filepath.Glob(filepath.Join(databasesDir, "0*"))
	if err != nil || len(dirs) == 0 {
		t.Fatalf("no databases in %s: %v", databasesDir, err)
	}
	for _, dir := range dirs {
		var said databaseSaid
		if err := json.Unmarshal(unpacked(t, filepath.Join(dir, databaseSaidFile)), &said); err != nil {
			t.Fatal(err)
		}
		t.Run(filepath.Base(dir), func(t *testing.T) {
			t.Parallel()
			o := restoreOld(t, dir, said)
			o.start()
			t.Logf("migrated, %s, and judging after %s", o.statesSaid(), o.took.Round(time.Millisecond))
			if slices.Contains(statesNoLongerRead, filepath.Base(dir)) {
				o.foldedAll()
				o.saysTheSame(foldedAgainSays...)
			} else {
				o.loadedAll()
				o.saysTheSame()
			}
			o.pagesNobody()
			o.goesOn()
			o.verifies(said.Waiting)
		})
		t.Run(filepath.Base(dir)+" with states of another version", func(t *testing.T) {
			t.Parallel()
			o := restoreOld(t, dir, said)
			o.exec(`UPDATE unit_states SET version = -1`)
			o.start()
			t.Logf("migrated, %s, and judging after %s", o.statesSaid(), o.took.Round(time.Millisecond))
			o.foldedAll()
			o.saysTheSame(foldedAgainSays...)
			o.pagesNobody()
		})
	}
}

// One bit of a record that is not what it was is found: the check above can
// fail.
func TestDatabaseOfAnOlderVersionThatWasChanged(t *testing.T) {
	t.Parallel()
	dirs, _ := filepath.Glob(filepath.Join(databasesDir, "0*"))
	if len(dirs) == 0 {
		t.Fatal("no databases")
	}
	o := restoreOld(t, dirs[0], databaseSaid{})
	o.exec(`SET session_replication_role = replica`) // as somebody with the keys to the server could
	o.exec(`UPDATE records SET packed = set_byte(packed, length(packed) / 2, get_byte(packed, length(packed) / 2) # 1) WHERE leaf = (SELECT max(leaf) FROM records)`)
	var run string
	if err := o.conn.QueryRow(t.Context(), `SELECT run FROM records ORDER BY leaf DESC LIMIT 1`).Scan(&run); err != nil {
		t.Fatal(err)
	}
	code, out, errOut := run1(t, "", "verify", "--database", o.database, "--data", o.data)
	if code != exitFailed || !strings.Contains(out, run) {
		t.Errorf("one bit of a record was turned, and verify says (%d): %s%s", code, out, errOut)
	}
}

// oldLab is a restored lab and the program of today on it.
type oldLab struct {
	t              *testing.T
	dir            string
	said           databaseSaid
	data, database string
	conn           *pgx.Conn
	clock          *labtest.Clock
	log            *toldLog
	p              *monitor.Program
	a              *monitortest.API
	pub            *monitortest.Publisher
	states         int
	took           time.Duration
	paged          map[string]int // rows of what pages are made of, as restored
}

// restoreOld puts the dump into an empty database and the sealing key into a
// data folder.
func restoreOld(t *testing.T, dir string, said databaseSaid) *oldLab {
	t.Helper()
	o := &oldLab{t: t, dir: dir, said: said, data: t.TempDir(), database: pgtest.Empty(t), clock: labtest.NewClock(said.AskedAt), log: &toldLog{}}
	sql := unpacked(t, filepath.Join(dir, databaseDump))
	loading, err := pgx.Connect(t.Context(), o.database)
	if err != nil {
		t.Fatal(err)
	}
	defer loading.Close(context.WithoutCancel(t.Context())) // the dump leaves settings behind in its session
	if _, err := loading.PgConn().Exec(t.Context(), string(sql)).ReadAll(); err != nil {
		t.Fatalf("restore: %v", err)
	}
	if o.conn, err = pgx.Connect(t.Context(), o.database); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { o.conn.Close(context.Background()) })
	if err := os.CopyFS(sealkey.Dir(o.data), os.DirFS(filepath.Join(dir, "seal"))); err != nil {
		t.Fatal(err)
	}
	o.states = o.count(`SELECT count(*) FROM unit_states`)
	return o
}

func (o *oldLab) exec(sql string) {
	o.t.Helper()
	if _, err := o.conn.Exec(o.t.Context(), sql); err != nil {
		o.t.Fatalf("%s: %v", sql, err)
	}
}

func (o *oldLab) count(sql string) int { return countOf(o.t, o.conn, sql) }

// start runs the program of today, which lives at the moment at which the
// older one was asked.
func (o *oldLab) start() {
	o.t.Helper()
	o.paged = o.pagedRows()
	began := time.Now()
	o.p = monitortest.Start(o.t, monitor.Config{
		Broker: monitor.Embedded, MQTTListen: "127.0.0.1:0", Database: o.database, Data: o.data, Clock: o.clock, Log: slog.New(o.log),
	})
	o.took = time.Since(began)
	monitortest.Ready(o.t, o.p.URL())
	o.a = monitortest.NewAPI(o.t, o.p.URL(), pgtest.Store(o.t, monitortest.StoreConfig(o.database)))
	o.pub = monitortest.NewPublisher(o.t, o.p.BrokerURL())
}

// What the worker logs of stored states.
const (
	foldedAgain = "folding the unit again"
	statesLeft  = "a unit is not judged"
)

func (o *oldLab) statesSaid() string {
	again := o.log.count(foldedAgain)
	return fmt.Sprintf("%d states loaded, %d folded again, %d set aside", o.states-again-o.log.count(statesLeft), again, o.log.count(statesLeft))
}

// loadedAll sees that every stored state is taken as it is.
func (o *oldLab) loadedAll() {
	o.t.Helper()
	if o.states == 0 || o.log.count(foldedAgain)+o.log.count(statesLeft) != 0 {
		o.t.Errorf("%s; want every state as it was stored", o.statesSaid())
	}
}

// foldedAll sees that every unit is folded again from its telemetry.
func (o *oldLab) foldedAll() {
	o.t.Helper()
	if o.states == 0 || o.log.count(foldedAgain) != o.states || o.log.count(statesLeft) != 0 {
		o.t.Errorf("%s; want every unit folded again from its telemetry", o.statesSaid())
	}
}

// saysTheSame compares what the program of today says with what the older one
// said, but for fields that may differ.
func (o *oldLab) saysTheSame(mayDiffer ...string) {
	o.t.Helper()
	if len(o.said.Answers) < 30 {
		o.t.Errorf("the older program was asked only %d things", len(o.said.Answers))
	}
	for path, was := range o.said.Answers {
		code, is, err := o.a.Do(http.MethodGet, path, "")
		if err != nil || code != http.StatusOK {
			o.t.Errorf("GET %s: %d %.300s %v", path, code, is, err)
			continue
		}
		var w, i any
		if err := json.Unmarshal(was, &w); err != nil {
			o.t.Fatal(err)
		}
		if err := json.Unmarshal(is, &i); err != nil {
			o.t.Fatal(err)
		}
		d := slices.DeleteFunc(unlike("", w, i), func(line string) bool {
			field, _, _ := strings.Cut(line, ":")
			return slices.Contains(mayDiffer, field[strings.LastIndexByte(field, '.')+1:])
		})
		if len(d) > 0 {
			o.t.Errorf("GET %s is not what %s said:\n%s", path, o.said.Program, strings.Join(d[:min(len(d), 12)], "\n"))
		}
	}
}

// pagedRows counts what makes pages, and what is written of alerts when they
// change. Tries are not counted: a page that waits for a phone is tried on.
func (o *oldLab) pagedRows() map[string]int {
	out := map[string]int{}
	for _, table := range []string{"outbox", "page_cases", "page_members", "page_messages", "pages", "alert_events"} {
		out[table] = o.count(`SELECT count(*) FROM ` + table)
	}
	return out
}

// pagesNobody sees that what was open before makes no page: by the time that a
// message of a unit has been judged and a test message to somebody has been
// tried, whatever was to go out has had its turn.
func (o *oldLab) pagesNobody() {
	o.t.Helper()
	o.feed(o.upcoming()[:1])
	if code, b, err := o.a.Do("POST", "/api/v1/people/Wren/page-test", ""); err != nil || code != http.StatusOK {
		o.t.Fatalf("page-test: %d %s %v", code, b, err)
	}
	o.paged["page_messages"]++ // the test itself
	o.clock.Advance(time.Second)
	labtest.Poll(o.t, "the test page was tried", func() bool {
		var got struct{ Tests []lab.PageTest }
		return o.a.Get("/api/v1/people/Wren/page-test", &got) && len(got.Tests) > 0 && len(got.Tests[0].Tries) > 0
	})
	if diff := cmp.Diff(o.paged, o.pagedRows()); diff != "" {
		o.t.Errorf("somebody is paged for what was open before (-want +got):\n%s", diff)
	}
}

// upcoming is what the units say next.
func (o *oldLab) upcoming() []lab.Raw {
	o.t.Helper()
	f, err := os.Open(filepath.Join(o.dir, databaseNext))
	if err != nil {
		o.t.Fatal(err)
	}
	defer f.Close()
	return monitortest.ReadCapture(o.t, f)
}

// feed publishes messages at their time, the first of them as soon as they can
// be, and waits until the last of each unit is in its view.
func (o *oldLab) feed(raws []lab.Raw) {
	o.t.Helper()
	heard := map[lab.UnitID]time.Time{}
	for _, raw := range raws {
		var m struct{ At lab.Time }
		unit, _, err := lab.ParseTopic(raw.Topic)
		if err != nil || json.Unmarshal(raw.Payload, &m) != nil {
			o.t.Fatalf("the capture of what comes next has %s %s", raw.Topic, raw.Payload)
		}
		if raw.Received.After(o.clock.Now()) { // the program was asked a moment after telemetry ended
			o.clock.Set(raw.Received)
		}
		heard[unit] = o.clock.Now()
		o.pub.Send(raw)
		o.pub.Settle() // stored: it is stamped with its time
	}
	for unit, at := range heard {
		labtest.Poll(o.t, "the last message of "+unit.String()+" is judged", func() bool {
			var u lab.Unit
			return o.a.Get("/api/v1/units/"+unit.String(), &u) && u.LastHeardAt != nil && !u.LastHeardAt.Before(at.Truncate(time.Millisecond))
		})
	}
}

// goesOn feeds what the units said next: runs go on where they were.
func (o *oldLab) goesOn() {
	o.t.Helper()
	before := o.running()
	o.feed(o.upcoming()[1:])
	after, moved := o.running(), 0
	for unit, was := range before {
		is, ok := after[unit]
		if !ok || is.ID != was.ID {
			o.t.Errorf("%s was in run %s; now it is in %q", unit, was.ID, is.ID)
		}
		if is.ElapsedS != nil && was.ElapsedS != nil && *is.ElapsedS > *was.ElapsedS || is.Step != was.Step || is.Phase != was.Phase {
			moved++ // one that heats for its first bath says nothing new
		}
	}
	if moved == 0 {
		o.t.Errorf("no run goes on: %v, then %v", before, after)
	}
	if n := o.log.count(statesLeft); n > 0 {
		o.t.Errorf("%d units are not judged", n)
	}
}

func (o *oldLab) running() map[string]lab.UnitRun {
	o.t.Helper()
	var got struct{ Units []lab.Unit }
	if !o.a.Get("/api/v1/units", &got) {
		o.t.Fatal("the units cannot be read")
	}
	out := map[string]lab.UnitRun{}
	for _, u := range got.Units {
		if u.Run != nil && u.Activity == lab.ActivityRunning {
			out[u.ID] = *u.Run
		}
	}
	return out
}

// verifies sees that everything sealed is as it was, that the run that waited
// is sealed too, with what is entered now, and that all of it verifies.
func (o *oldLab) verifies(waiting int) {
	o.t.Helper()
	if diff := cmp.Diff(o.said.Leaves, leavesOf(o.t, o.conn)[:len(o.said.Leaves)]); diff != "" {
		o.t.Errorf("the log is not what it was (-was +is):\n%s", diff)
	}
	if code, b, err := o.a.Do("POST", "/api/v1/units/tern-street/plover/notes", `{"text":"under a new program"}`); err != nil || code != http.StatusCreated {
		o.t.Fatalf("a note: %d %s %v", code, b, err)
	}
	o.clock.Advance(30 * time.Second)
	labtest.Poll(o.t, "it goes on sealing", func() bool {
		return o.count(fmt.Sprintf(`SELECT count(*) FROM records WHERE leaf >= %d`, len(o.said.Leaves))) >= waiting &&
			o.count(fmt.Sprintf(`SELECT count(*) FROM record_entries WHERE leaf >= %d`, len(o.said.Leaves))) >= 1
	})
	kept := filepath.Join(o.dir, "seal", "checkpoint")
	code, out, errOut := run1(o.t, "", "verify", "--database", o.database, "--data", o.data, "--key", filepath.Join(o.dir, "seal", "verifier"), "--checkpoint", kept)
	if code != exitDone || !strings.HasPrefix(out, "All as sealed: ") {
		o.t.Errorf("verify: %d %s%s", code, out, errOut)
	}
	o.t.Logf("verify then: %s; now: %s", o.said.Verify, strings.TrimSpace(out))
}

// toldLog counts what is logged.
type toldLog struct {
	mu    sync.Mutex
	lines []string
}

func (l *toldLog) Enabled(context.Context, slog.Level) bool { return true }
func (l *toldLog) WithAttrs([]slog.Attr) slog.Handler       { return l }
func (l *toldLog) WithGroup(string) slog.Handler            { return l }

func (l *toldLog) Handle(_ context.Context, r slog.Record) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.lines = append(l.lines, r.Message)
	return nil
}

func (l *toldLog) count(what string) (n int) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, line := range l.lines {
		if strings.Contains(line, what) {
			n++
		}
	}
	return n
}
