package bench

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/ingest"
	"wetside/internal/lab"
	"wetside/internal/monitor/monitortest"
)

// What has happened: a replay beside reading and decoding alone, an import
// beside COPY of the same payloads, and how long it takes to seal the runs that
// were imported.
func TestHistory(t *testing.T) {
	inLong(t)
	raws := simulated(t, 20, 60_000, 26*time.Hour) // so that runs can be sealed at once
	capture := monitortest.WriteCapture(t, "capture.jsonl", raws)
	n := float64(len(raws))

	wetside(t) // is built
	began := time.Now()
	good := decoded(t, capture)
	read := n / time.Since(began).Seconds()
	began = time.Now()
	command(t, "replay", capture)
	replay := n / time.Since(began).Seconds()
	table.add(row{fmt.Sprintf("replay of %.0f lines", n), fmt.Sprintf("%.0f lines/s", replay), fmt.Sprintf("%.0f read and decoded", read), share(replay, read), "0.5", "History"})

	copied := n / copyIn(t, good).Seconds()
	s := newSite(t, false)
	began = time.Now()
	command(t, "import", "--database", s.database, capture)
	imported := n / time.Since(began).Seconds()
	table.add(row{fmt.Sprintf("import of %.0f lines", n), fmt.Sprintf("%.0f lines/s", imported), fmt.Sprintf("%.0f by COPY", copied), share(imported, copied), "0.5", "History"})

	s.sealing() // what was imported settles for a minute first
}

// sealing is how long it takes to seal the runs that were imported, from the
// first of them on.
func (s *site) sealing() {
	t := s.t
	t.Helper()
	runs := query[int](t, s.database, `SELECT count(*) FROM runs WHERE ended_at IS NOT NULL AND outcome <> 'running'`)
	s.serve(false)
	conn := connect(t, s.database)
	sealed := 0
	var first, last time.Time
	// What has an open gap waits for a day: it counts until nothing more is sealed.
	poll(t, "runs are sealed", 20*time.Millisecond, func() bool {
		var now int
		if err := conn.QueryRow(t.Context(), `SELECT count(DISTINCT run) FROM records`).Scan(&now); err != nil {
			t.Fatal(err)
		}
		if now > sealed {
			last = time.Now()
			if sealed == 0 {
				first = last
			}
			sealed = now
		}
		return sealed >= runs || sealed > 0 && time.Since(last) > 20*time.Second
	})
	perMessage := query[float64](t, s.database, `SELECT sum(length(packed))::float8 / (SELECT count(*) FROM telemetry) FROM records`)
	table.add(row{fmt.Sprintf("sealing of %d of %d imported runs, from the first on", sealed, runs), fmt.Sprintf("%.1f s", last.Sub(first).Seconds()), "", "", "5 s for 42", "History"})
	table.add(row{"disk a message, sealed", fmt.Sprintf("%.1f B", perMessage), "", "", "6 B", "History"})
}

// command runs the program to its end.
func command(t testing.TB, args ...string) {
	t.Helper()
	var said bytes.Buffer
	cmd := exec.Command(wetside(t), args...)
	cmd.Stderr = &said
	if err := cmd.Run(); err != nil {
		t.Fatalf("wetside %s: %v: %s", args[0], err, said.String())
	}
}

// decoded reads a capture and gives the good messages in it.
func decoded(t testing.TB, path string) (all []lab.Message) {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	c := lab.NewCaptureReader(filepath.Base(path), f)
	for {
		raw, err := c.Next()
		if err == io.EOF {
			return all
		}
		if err != nil {
			t.Fatal(err)
		}
		if m, err := ingest.Decode(raw); err == nil {
			all = append(all, m)
		}
	}
}

// copyIn writes messages by COPY, a thousand at once.
func copyIn(t testing.TB, msgs []lab.Message) time.Duration {
	t.Helper()
	conn := connect(t, freshDatabase(t))
	if _, err := conn.Exec(t.Context(), bareTable); err != nil {
		t.Fatal(err)
	}
	began := time.Now()
	for len(msgs) > 0 {
		some := msgs[:min(1000, len(msgs))]
		msgs = msgs[len(some):]
		if err := copyRows(t.Context(), conn, some); err != nil {
			t.Fatal(err)
		}
	}
	return time.Since(began)
}

// copyRows is one COPY, which is a transaction of its own.
func copyRows(ctx context.Context, conn *pgx.Conn, msgs []lab.Message) error {
	rows := make([][]any, 0, len(msgs))
	for _, d := range msgs {
		rows = append(rows, []any{d.Unit.String(), d.Boot, d.Seq, d.At, d.Received, string(d.Channel), d.Payload})
	}
	_, err := conn.CopyFrom(ctx, pgx.Identifier{"bare"}, []string{"unit", "boot", "seq", "at", "received_at", "channel", "payload"}, pgx.CopyFromRows(rows))
	return err
}
