package monitor_test

import (
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/monitor"
	"wetside/internal/monitor/monitortest"
	"wetside/internal/monitor/sealkey"
	"wetside/internal/postgres/pgtest"
)

// A lab whose runs cannot be sealed is watched all the same, and its board
// says what is wrong.
func TestNoSealingKeyIsShown(t *testing.T) {
	t.Setenv(sealkey.Env, "no key at all")
	_, broker := monitortest.Mosquitto(t)
	database := pgtest.New(t)
	p := monitortest.Start(t, monitor.Config{Broker: broker, Database: database, Data: t.TempDir()})
	monitortest.Ready(t, p.URL())
	var status lab.DutyStatus
	if !monitortest.NewAPI(t, p.URL(), pgtest.Store(t, monitortest.StoreConfig(database))).Get("/api/v1/duty/status", &status) {
		t.Fatal("no status of duty")
	}
	for _, f := range status.Faults {
		if f.Code == lab.FaultNotSealed && strings.Contains(f.Text, "no sealing key") && f.Since == nil {
			return
		}
	}
	t.Errorf("the board is told of %+v; want that runs are not sealed", status.Faults)
}

// A fault is news when it lasts: a database that starts again is none.
func TestNotSealedWhenItLasts(t *testing.T) {
	t.Parallel()
	now := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		why  string
		last time.Duration
		want int
	}{{"", time.Hour, 0}, {"the disk is full", 59 * time.Second, 0}, {"the disk is full", time.Minute, 1}} {
		since := now.Add(-c.last)
		got := monitor.NotSealed(c.why, since, now)
		if len(got) != c.want {
			t.Errorf("%q for %v: %+v; want %d", c.why, c.last, got, c.want)
		}
		if len(got) == 1 && (!strings.HasSuffix(got[0].Text, c.why) || !got[0].Since.Equal(since)) {
			t.Errorf("the fault is %+v", got[0])
		}
	}
}

// A single run whose record fails is told by its name, with the count of the
// others, and pages when it lasts.
func TestRunsNotSealed(t *testing.T) {
	t.Parallel()
	now := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	failing := []lab.RecordFailing{
		{RunID: "a", Unit: "tern-street/plover", Run: "r17", Failures: 4, Since: now.Add(-20 * time.Minute), Next: now.Add(time.Hour), Why: "no report can be made"},
		{RunID: "b", Unit: "tern-street/heron", Run: "r3", Failures: 1, Since: now.Add(-time.Second)},
	}
	got := monitor.RunsNotSealed(failing, now)
	if len(got) != 1 || got[0].Code != lab.FaultNotSealed || !got[0].Since.Equal(failing[0].Since) || got[0].PageAfter != monitor.SealingPageAfter {
		t.Fatalf("told: %+v", got)
	}
	if want := "Run r17 of tern-street/plover is not sealed: no report can be made, and 1 run more"; got[0].Text != want {
		t.Errorf("told: %q; want %q", got[0].Text, want)
	}
	for _, none := range [][]lab.RecordFailing{nil, failing[1:]} {
		if got := monitor.RunsNotSealed(none, now); len(got) != 0 {
			t.Errorf("%+v is told as %+v", none, got)
		}
	}
}
