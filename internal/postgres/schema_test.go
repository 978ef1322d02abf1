package postgres_test

import (
	"flag"
	"os"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/jackc/pgx/v5"

	"wetside/internal/postgres"
	"wetside/internal/postgres/pgtest"
)

var update = flag.Bool("update", false, "write schema.sql anew")

// schemaOf reads the schema out of the catalogue, not with pg_dump, whose
// text differs from version to version. Partitions of days are left out.
const schemaOf = `
WITH tables AS (
	SELECT oid, relname, relkind FROM pg_class
	WHERE relnamespace = 'public'::regnamespace AND relkind IN ('r', 'p', 'v') AND relname !~ '^goose_'
	  AND (NOT relispartition OR relname = 'telemetry_default')
), lines AS (
	SELECT relname, 0 AS part, '' AS name, CASE relkind WHEN 'v' THEN 'VIEW ' ELSE 'TABLE ' END || relname
		|| coalesce(' PARTITION BY ' || pg_get_partkeydef(oid), '') || coalesce(' -- ' || obj_description(oid), '') AS line FROM tables
	UNION ALL
	SELECT relname, 1, lpad(attnum::text, 3, '0'), '    ' || attname || ' ' || format_type(atttypid, atttypmod)
		|| CASE WHEN attnotnull THEN ' NOT NULL' ELSE '' END
		|| coalesce(' DEFAULT ' || pg_get_expr(adbin, adrelid), '') || coalesce(' -- ' || col_description(t.oid, attnum), '')
	FROM tables t JOIN pg_attribute a ON a.attrelid = t.oid AND attnum > 0 AND NOT attisdropped
	LEFT JOIN pg_attrdef d ON d.adrelid = t.oid AND d.adnum = a.attnum
	UNION ALL
	SELECT relname, 2, conname, '    CONSTRAINT ' || conname || ' ' || pg_get_constraintdef(c.oid)
	FROM tables t JOIN pg_constraint c ON c.conrelid = t.oid WHERE contype <> 'n'
	UNION ALL
	SELECT relname, 3, i.indexrelid::regclass::text, '    ' || pg_get_indexdef(i.indexrelid)
	FROM tables t JOIN pg_index i ON i.indrelid = t.oid
	UNION ALL
	SELECT relname, 4, tgname, '    ' || pg_get_triggerdef(g.oid)
	FROM tables t JOIN pg_trigger g ON g.tgrelid = t.oid WHERE NOT tgisinternal
)
SELECT line FROM lines ORDER BY relname COLLATE "C", part, name COLLATE "C"`

// schema.sql shows in one place what the migrations add up to.
func TestSchemaIsWhatTheTreeSays(t *testing.T) {
	t.Parallel()
	rows, err := connect(t, pgtest.New(t)).Query(t.Context(), schemaOf)
	if err != nil {
		t.Fatal(err)
	}
	lines, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		t.Fatal(err)
	}
	got := "-- The schema after all migrations, for reading. Written by: go test ./internal/postgres -run Schema -update\n\n" +
		strings.Join(lines, "\n") + "\n"
	if *update {
		if err := os.WriteFile("schema.sql", []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile("schema.sql")
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), got); diff != "" {
		t.Errorf("schema.sql is behind the migrations; run with -update (-want +got):\n%s", diff)
	}
}

// Everything a person meets in psql says what it is.
func TestTablesAndViewsAreCommented(t *testing.T) {
	t.Parallel()
	rows, err := connect(t, pgtest.New(t)).Query(t.Context(), `
		SELECT relname FROM pg_class
		WHERE relnamespace = 'public'::regnamespace AND relkind IN ('r', 'p', 'v') AND relname !~ '^goose_'
		  AND (NOT relispartition OR relname = 'telemetry_default') AND obj_description(oid) IS NULL
		UNION ALL
		SELECT 'telemetry.' || attname FROM pg_attribute
		WHERE attrelid = 'telemetry'::regclass AND attnum > 0 AND col_description(attrelid, attnum) IS NULL`)
	if err != nil {
		t.Fatal(err)
	}
	bare, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil || len(bare) > 0 {
		t.Errorf("without a comment: %v, %v", bare, err)
	}
}

// Two programs that start on an empty database at once both come up.
func TestMigrateTogether(t *testing.T) {
	t.Parallel()
	url := pgtest.Empty(t)
	var wg sync.WaitGroup
	for range 3 {
		wg.Go(func() {
			store, err := postgres.Open(t.Context(), postgres.Config{URL: url})
			if err != nil {
				t.Error(err)
				return
			}
			defer store.Close()
			if err := store.Ready(t.Context()); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
}

func TestOpenSaysWhatIsWrong(t *testing.T) {
	t.Parallel()
	for url, want := range map[string]string{
		"":                                 "no database is named",
		"postgres://%zz":                   "cannot be read",
		"postgres://x@127.0.0.1:1/wetside": "migrate the database",
	} {
		store, err := postgres.Open(t.Context(), postgres.Config{URL: url})
		if err == nil {
			store.Close()
		}
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v; want it to say %q", url, err, want)
		}
	}
}
