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
	"wetside/internal/postgres/pgtest"
)

// The same capture through replay and live, through a broker and a database,
// gives the same alerts; so does a replay of what the database then exports.
func TestReplayAgreesWithLive(t *testing.T) {
	t.Parallel()
	raws := faultyDay(t)
	_, broker := mosquitto(t)
	database := pgtest.New(t)
	p := startProgram(t, programConfig{Broker: broker, Database: database})
	ready(t, p.URL())
	store := pgtest.Store(t, storeConfig(database))
	a := newAPI(t, p.URL(), store)

	pub := newPublisher(t, broker)
	for _, raw := range raws {
		pub.send(raw)
	}
	pub.settle()
	awaitStored(t, store, uniquely(t, raws))

	replay := alertsOf(replayed(t, writeCapture(t, "sent.jsonl", raws)))
	want := lastOccurrences(replay, onArrival...)
	if len(want) < 8 {
		t.Fatalf("the capture has %d alerts; that proves little: %v", len(want), want)
	}
	awaitAlerts(t, a, want)

	code, out, errOut := run1(t, "", "export", "--database", database)
	if code != exitDone {
		t.Fatalf("export: status %d: %s", code, errOut)
	}
	exported := readCapture(t, bytes.NewBufferString(out))
	checkExactlyOnce(t, exported, uniquely(t, raws))
	again := lastOccurrences(alertsOf(replayed(t, writeCapture(t, "exported.jsonl", exported))), "telemetry-refused")
	if diff := cmp.Diff(lastOccurrences(a.alerts(""), "telemetry-refused"), again); diff != "" {
		t.Errorf("live (-) and the replay of the export (+) differ:\n%s", diff)
	}
	checkSameIDs(t, a.alerts(""), replay)
}

// awaitAlerts waits until the API shows these alerts and no others.
func awaitAlerts(t *testing.T, a *api, want []facts) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 2*labtest.Patience)
	defer cancel()
	tick := time.NewTicker(50 * time.Millisecond)
	defer tick.Stop()
	for {
		got := lastOccurrences(a.alerts(""), onArrival...)
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
	raws := faultyDay(t)
	whole := replayed(t, writeCapture(t, "whole.jsonl", raws))
	var odd, even []lab.Raw
	for i, raw := range raws {
		if i/50%2 == 0 {
			even = append(even, raw)
		} else {
			odd = append(odd, raw)
		}
	}
	if diff := cmp.Diff(whole, replayed(t, writeCapture(t, "odd.jsonl", odd), writeCapture(t, "even.jsonl", even))); diff != "" {
		t.Errorf("one capture (-) and the same in two (+) differ:\n%s", diff)
	}
}

// A capture ends with its last line: what would follow only from later time
// is not said, and the clock of one capture moves no other.
func TestReplayStopsAtTheLastLine(t *testing.T) {
	t.Parallel()
	raws := faultyDay(t)
	cut := len(raws) / 3
	first := writeCapture(t, "first.jsonl", raws[:cut])
	end := raws[cut-1].Received
	later := []lab.Raw{{Topic: "wetside/v1/elsewhere/knot/step", Received: end.Add(3 * time.Hour),
		Payload: []byte(`{"at":"` + lab.At(end.Add(3*time.Hour)).String() + `","boot":"k","seq":1,"phase":"idle"}`)}}
	alone := replayed(t, first)
	for _, l := range alone {
		if l.Alert != nil && l.Alert.RaisedAt.After(end.Add(time.Second)) {
			t.Errorf("%s of %s is raised at %s; the capture ends at %s", l.Alert.Rule, l.Alert.Unit, l.Alert.RaisedAt, end)
		}
	}
	if diff := cmp.Diff(alone, replayed(t, first, writeCapture(t, "later.jsonl", later))); diff != "" {
		t.Errorf("another capture with a later clock (+) changes what is found (-):\n%s", diff)
	}
}
