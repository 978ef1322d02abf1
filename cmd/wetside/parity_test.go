package main

import (
	"bytes"
	"context"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/monitor"
	"wetside/internal/monitor/monitortest"
	"wetside/internal/postgres/pgtest"
)

// The same capture through replay and live, through a broker and a database,
// gives the same alerts; so does a replay of what the database then exports.
func TestReplayAgreesWithLive(t *testing.T) {
	t.Parallel()
	raws := monitortest.FaultyDay(t)
	_, broker := monitortest.Mosquitto(t)
	database := pgtest.New(t)
	p := monitortest.Start(t, monitor.Config{Broker: broker, Database: database})
	monitortest.Ready(t, p.URL())
	store := pgtest.Store(t, monitortest.StoreConfig(database))
	a := monitortest.NewAPI(t, p.URL(), store)

	pub := monitortest.NewPublisher(t, broker)
	for _, raw := range raws {
		pub.Send(raw)
	}
	pub.Settle()
	monitortest.AwaitStored(t, store, monitortest.Uniquely(t, raws))

	replay := alertsOf(replayed(t, monitortest.WriteCapture(t, "sent.jsonl", raws)))
	want := lastOccurrences(replay, onArrival...)
	if len(want) < 8 {
		t.Fatalf("the capture has %d alerts; that proves little: %v", len(want), want)
	}
	awaitAlerts(t, a, want)

	code, out, errOut := run1(t, "", "export", "--database", database)
	if code != exitDone {
		t.Fatalf("export: status %d: %s", code, errOut)
	}
	exported := monitortest.ReadCapture(t, bytes.NewBufferString(out))
	monitortest.CheckExactlyOnce(t, exported, monitortest.Uniquely(t, raws))
	again := lastOccurrences(alertsOf(replayed(t, monitortest.WriteCapture(t, "exported.jsonl", exported))), "telemetry-refused")
	if diff := cmp.Diff(lastOccurrences(a.Alerts(""), "telemetry-refused"), again); diff != "" {
		t.Errorf("live (-) and the replay of the export (+) differ:\n%s", diff)
	}
	checkSameIDs(t, a.Alerts(""), replay)
}

// awaitAlerts waits until the API shows these alerts and no others.
func awaitAlerts(t *testing.T, a *monitortest.API, want []facts) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 2*labtest.Patience)
	defer cancel()
	tick := time.NewTicker(50 * time.Millisecond)
	defer tick.Stop()
	for {
		got := lastOccurrences(a.Alerts(""), onArrival...)
		if slices.Equal(got, want) {
			return
		}
		select {
		case <-ctx.Done():
			t.Fatalf("replay (-) and live (+) differ:\n%s", cmp.Diff(want, got))
		case <-tick.C:
		}
	}
}

// checkSameIDs: ids are derived from what alerts are of, so live and replay
// name them alike.
func checkSameIDs(t *testing.T, live, replay []lab.Alert) {
	t.Helper()
	ids := map[string]bool{}
	for _, a := range replay {
		ids[a.ID] = true
	}
	for _, a := range live {
		if !slices.Contains(onArrival, a.Rule) && !a.Withdrawn && !ids[a.ID] {
			t.Errorf("live alert %s (%s of %s, %s) has no counterpart in the replay", a.ID, a.Rule, a.Unit, a.RaisedAt)
		}
	}
}

// Captures that share a unit are read as one, those that share none apart.
func TestReplayReadsCapturesThatShareAUnitAsOne(t *testing.T) {
	t.Parallel()
	raws := monitortest.FaultyDay(t)
	whole := replayed(t, monitortest.WriteCapture(t, "whole.jsonl", raws))
	var odd, even []lab.Raw
	for i, raw := range raws {
		if i/50%2 == 0 {
			even = append(even, raw)
		} else {
			odd = append(odd, raw)
		}
	}
	if diff := cmp.Diff(whole, replayed(t, monitortest.WriteCapture(t, "odd.jsonl", odd), monitortest.WriteCapture(t, "even.jsonl", even))); diff != "" {
		t.Errorf("one capture (-) and the same in two (+) differ:\n%s", diff)
	}
}

// A capture ends with its last line: what would follow only from later time
// is not said, and the clock of one capture moves no other.
func TestReplayStopsAtTheLastLine(t *testing.T) {
	t.Parallel()
	raws := monitortest.FaultyDay(t)
	cut := len(raws) / 3
	first := monitortest.WriteCapture(t, "first.jsonl", raws[:cut])
	end := raws[cut-1].Received
	later := []lab.Raw{{Topic: "wetside/v1/elsewhere/knot/step", Received: end.Add(3 * time.Hour),
		Payload: []byte(`{"at":"` + lab.At(end.Add(3*time.Hour)).String() + `","boot":"k","seq":1,"phase":"idle"}`)}}
	alone := replayed(t, first)
	for _, l := range alone {
		if l.Alert != nil && l.Alert.RaisedAt.After(end.Add(time.Second)) {
			t.Errorf("%s of %s is raised at %s; the capture ends at %s", l.Alert.Rule, l.Alert.Unit, l.Alert.RaisedAt, end)
		}
	}
	if diff := cmp.Diff(alone, replayed(t, first, monitortest.WriteCapture(t, "later.jsonl", later))); diff != "" {
		t.Errorf("another capture with a later clock (+) changes what is found (-):\n%s", diff)
	}
}
