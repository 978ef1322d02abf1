package main

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/ingest"
	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/monitor"
	"wetside/internal/monitor/monitortest"
	"wetside/internal/postgres/pgtest"
)

// daysAhead is the machine's clock so many days later.
type daysAhead int

func (d daysAhead) Now() time.Time { return time.Now().AddDate(0, 0, int(d)) }

// thenIdle adds that each unit stands idle in the end: no run is under way.
func thenIdle(t *testing.T, raws []lab.Raw) []lab.Raw {
	last := map[lab.UnitID]lab.Message{}
	for _, raw := range raws {
		m, err := ingest.Decode(raw)
		if err != nil || m.Boot == "" {
			continue
		}
		if l, known := last[m.Unit]; !known || m.Boot != l.Boot || m.Seq > l.Seq {
			last[m.Unit] = m
		}
	}
	raws, received := slices.Clone(raws), raws[len(raws)-1].Received
	for unit, m := range last {
		raws = append(raws, lab.Raw{
			Topic: "wetside/v1/" + unit.String() + "/step", Received: received.Add(time.Second),
			Payload: fmt.Appendf(nil, `{"boot":%q,"seq":%d,"at":%q,"phase":"idle"}`, m.Boot, m.Seq+1, lab.At(m.At.Add(time.Second))),
		})
	}
	return raws
}

// The days of a lab grow old: their telemetry is dropped, the room comes back,
// and all that is told of their runs stays as it was, to the byte.
func TestOldTelemetryIsDroppedAndRecordsStay(t *testing.T) {
	t.Parallel()
	database, data, r := sealedHistoryOf(t, thenIdle(t, monitortest.FaultyDay(t)))
	told := func() (reports []string) {
		for _, form := range []string{"json", "csv", "text"} {
			code, out, errOut := run1(t, "", "report", "--database", database, r.ID, "--as", form)
			if code != exitDone || out == "" {
				t.Fatalf("report as %s: status %d: %s", form, code, errOut)
			}
			reports = append(reports, out)
		}
		return reports
	}
	exported := func() int {
		code, out, errOut := run1(t, "", "export", "--database", database)
		if code != exitDone {
			t.Fatalf("export: status %d: %s", code, errOut)
		}
		return strings.Count(out, "\n")
	}
	conn, err := pgx.Connect(t.Context(), database)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(t.Context())
	const held = `SELECT count(DISTINCT tableoid) FROM telemetry`
	const size = `SELECT sum(pg_total_relation_size(inhrelid)) FROM pg_inherits WHERE inhparent = 'telemetry'::regclass`
	before, messages, days, bytes := told(), exported(), countOf(t, conn, held), countOf(t, conn, size)
	if messages == 0 || days == 0 {
		t.Fatalf("%d messages of %d days: there is nothing to drop", messages, days)
	}

	p := monitortest.Start(t, monitor.Config{Database: database, Data: data, KeepDays: 2, Clock: daysAhead(10), Broker: "embedded", MQTTListen: "127.0.0.1:0"})
	labtest.Poll(t, "the old days are dropped", func() bool { return countOf(t, conn, held) == 0 })
	if n := exported(); n != 0 {
		t.Errorf("%d of %d messages are still there", n, messages)
	}
	if now := countOf(t, conn, size); now >= bytes {
		t.Errorf("telemetry has %d bytes, of %d before: no room came back", now, bytes)
	}
	for i, after := range told() {
		if after != before[i] {
			t.Errorf("the report reads otherwise without its telemetry:\n%.600s\nwas\n%.600s", after, before[i])
		}
	}
	api := monitortest.NewAPI(t, p.URL(), pgtest.Store(t, monitortest.StoreConfig(database)))
	for _, path := range []string{"", "/trace.csv", "/report.pdf"} {
		if code, b, err := api.Do("GET", "/api/v1/runs/"+r.ID+path, ""); err != nil || code != 200 || len(b) < 500 {
			t.Errorf("%s: status %d, %d bytes, %v", path, code, len(b), err)
		}
	}
	if code, out, errOut := run1(t, "", "verify", "--database", database, "--data", data, "--again"); code != exitDone || !strings.Contains(out, "All as sealed") {
		t.Errorf("verify: status %d: %s%s", code, out, errOut)
	}
}
