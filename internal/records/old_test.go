package records_test

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"context"
	"encoding/json"
	"flag"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"wetside/ingest"
	"wetside/internal/lab"
	"wetside/internal/postgres"
	"wetside/internal/postgres/pgtest"
	"wetside/internal/records"
	"wetside/internal/records/seal"
)

// writeOld makes a fixture of TestOldRecords anew. Only for a form of record
// that has none yet: a fixture that is there is never written again.
var (
	writeOld = flag.String("write-old-records", "", "write the sealed morning into this new file of testdata/old")
	oldParts = flag.Int("old-records-parts", 0, "with records in parts of so many messages; 0: as the program makes them")
)

// oldRow is a line of a fixture: a row of a table as PostgreSQL gives it.
type oldRow struct {
	Table string          `json:"table"`
	Row   json.RawMessage `json:"row"`
}

// oldTables are those that Verify reads, in the order in which rows go in.
var oldTables = []string{"entries", "runs", "record_queue", "log_leaves", "log_hashes", "log_checkpoints", "log_keys", "record_parts", "records", "record_entries"}

func TestWriteOldRecords(t *testing.T) {
	if *writeOld == "" {
		t.Skip("nothing is to be written: -write-old-records is for a new form of record")
	}
	m := sealedMorningIn(t, *oldParts)
	writeOldFixture(t, m, *writeOld)
}

func writeOldFixture(t *testing.T, m *morning, name string) {
	t.Helper()
	path := filepath.Join("testdata", "old", name)
	if _, err := os.Stat(path); err == nil {
		t.Fatalf("%s is there: what was sealed by an older wetside is never written again", path)
	}
	var b bytes.Buffer
	z, err := gzip.NewWriterLevel(&b, gzip.BestCompression)
	if err != nil {
		t.Fatal(err)
	}
	enc := json.NewEncoder(z)
	for _, table := range oldTables {
		rows, err := m.conn.Query(t.Context(), `SELECT to_json(x)::text FROM `+table+` x ORDER BY 1`)
		if err != nil {
			t.Fatal(err)
		}
		list, err := pgx.CollectRows(rows, pgx.RowTo[string])
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range list {
			if err := enc.Encode(oldRow{table, json.RawMessage(row)}); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	key := strings.TrimSuffix(path, ".jsonl.gz") + ".key"
	for path, b := range map[string][]byte{path: b.Bytes(), key: []byte(m.key.Verifier() + "\n")} {
		if err := os.WriteFile(path, b, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// What an older wetside sealed verifies for ever, byte for byte: each file in
// testdata/old is the log of a morning as the program of its time wrote it.
func TestOldRecords(t *testing.T) {
	t.Parallel()
	files, err := filepath.Glob("testdata/old/*.jsonl.gz")
	if err != nil || len(files) == 0 {
		t.Fatalf("no old records in testdata/old: %v", err)
	}
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			t.Parallel()
			store, conn := openOld(t, file)
			keys := oldKeys(t, file)
			var v records.Verified
			var bodies [][]byte
			err := store.ReadLog(t.Context(), func(view *postgres.LogView) (err error) {
				v, err = records.Verify(t.Context(), view, records.VerifyOptions{Keys: keys})
				return err
			})
			if err != nil {
				t.Fatal(err)
			}
			if len(v.Problems) > 0 || v.Records != 3 || v.Entries < 4 || v.Waiting != 0 || v.KeysOfDatabase {
				t.Errorf("an old log no longer verifies: %+v", v)
			}
			// judged again, it may come out differently; that is told, and is no change of a record
			err = store.ReadLog(t.Context(), func(view *postgres.LogView) (err error) {
				v, err = records.Verify(t.Context(), view, records.VerifyOptions{Keys: keys, Again: true,
					Making: records.Making{Decode: ingest.Decode, Program: "wetside test"}})
				return err
			})
			if err != nil || len(v.Problems) > 0 {
				t.Errorf("an old log judged again: %v, %+v", err, v.Problems)
			}
			for _, p := range v.JudgedDifferently {
				if !strings.Contains(p.Text, "judged differently now, in ") {
					t.Errorf("it says %q", p.Text)
				}
			}
			// every byte of a record counts
			for leaf, packed := range allPacked(t, conn) {
				b, err := records.Unpack(packed)
				if err != nil {
					t.Fatal(err)
				}
				hash := seal.LeafHash(b)
				if want := one[[]byte](t, conn, `SELECT hash FROM log_leaves WHERE leaf = $1`, leaf); !bytes.Equal(want, hash[:]) {
					t.Errorf("leaf %d: its record has another hash than it was sealed with", leaf)
				}
				rec, err := seal.Parse(b)
				if err != nil {
					t.Fatalf("leaf %d no longer reads: %v", leaf, err)
				}
				if rec.MessageCount() == 0 || rec.Evidence == nil || rec.Report.Run.ID != rec.RunID {
					t.Errorf("leaf %d: %d messages, evidence %t, report of run %q", leaf, rec.MessageCount(), rec.Evidence != nil, rec.Report.Run.ID)
				}
				bodies = append(bodies, b)
			}
			if len(bodies) != 3 {
				t.Errorf("%d records; want 3", len(bodies))
			}
			if parts := one[int](t, conn, `SELECT count(*) FROM record_parts`); (parts > 0) != strings.HasPrefix(filepath.Base(file), "parts-") {
				t.Errorf("%d parts", parts)
			}
		})
	}
}

// openOld is a database with the rows of a fixture.
func openOld(t *testing.T, file string) (*postgres.Store, *pgx.Conn) {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	z, err := gzip.NewReader(f)
	if err != nil {
		t.Fatal(err)
	}
	url := pgtest.New(t)
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close(context.Background()) })
	if _, err := conn.Exec(t.Context(), `SET session_replication_role = replica`); err != nil { // as they were: no trigger adds to them
		t.Fatal(err)
	}
	lines := bufio.NewReader(z)
	for {
		line, err := lines.ReadBytes('\n')
		if err == io.EOF && len(line) == 0 {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		putOld(t, conn, line)
	}
	sql, err := os.ReadFile("../postgres/migrations/00017_rolls.sql") // what the update of the program does to rows that are there
	if err != nil {
		t.Fatal(err)
	}
	_, rest, _ := strings.Cut(string(sql), "UPDATE runs SET decided")
	fill, _, found := strings.Cut(rest, ";")
	if !found {
		t.Fatal("00017_rolls.sql fills in no columns of runs")
	}
	if _, err := conn.Exec(t.Context(), "UPDATE runs SET decided"+fill); err != nil {
		t.Fatal(err)
	}
	return pgtest.Store(t, postgres.Config{URL: url, Decode: ingest.Decode}), conn
}

// putOld puts a row in with the columns that it had then: those that came
// later have their default.
func putOld(t *testing.T, conn *pgx.Conn, line []byte) {
	t.Helper()
	var r oldRow
	if err := json.Unmarshal(line, &r); err != nil {
		t.Fatal(err)
	}
	var columns map[string]json.RawMessage
	if err := json.Unmarshal(r.Row, &columns); err != nil {
		t.Fatal(err)
	}
	var names []string
	for name := range columns {
		names = append(names, pgx.Identifier{name}.Sanitize())
	}
	slices.Sort(names)
	list := strings.Join(names, ", ")
	// the JSON value null, which to_json does not tell from no value
	values := strings.Replace(list, `"loaded"`, `coalesce("loaded", 'null')`, 1)
	sql := `INSERT INTO ` + r.Table + ` (` + list + `) SELECT ` + values + ` FROM json_populate_record(NULL::` + r.Table + `, $1::json)`
	if _, err := conn.Exec(t.Context(), sql, string(r.Row)); err != nil {
		t.Fatalf("%s: %v", r.Table, err)
	}
}

// allPacked gives all records as they are stored, by leaf.
func allPacked(t *testing.T, conn *pgx.Conn) map[int64]lab.StoredRecord {
	t.Helper()
	rows, err := conn.Query(t.Context(), `SELECT leaf, run, packed_hash, packed FROM records`)
	if err != nil {
		t.Fatal(err)
	}
	out := map[int64]lab.StoredRecord{}
	var r lab.StoredRecord
	_, err = pgx.ForEachRow(rows, []any{&r.Leaf, &r.RunID, &r.PackedHash, &r.Packed}, func() error {
		r.PackedHash, r.Packed = slices.Clone(r.PackedHash), slices.Clone(r.Packed)
		out[r.Leaf] = r
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// oldKeys are the verifier keys of a fixture, which stand beside it.
func oldKeys(t *testing.T, file string) []string {
	t.Helper()
	b, err := os.ReadFile(strings.TrimSuffix(file, ".jsonl.gz") + ".key")
	if err != nil {
		t.Fatal(err)
	}
	return []string{strings.TrimSpace(string(b))}
}
