package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/monitor"
	"wetside/internal/monitor/monitortest"
	"wetside/internal/postgres/pgtest"
	"wetside/internal/simulation/sim"
	"wetside/web"
)

// twoRuns are two C-41 runs of plover that are over, as two captures.
func twoRuns(t *testing.T) (first, second []lab.Raw, start time.Time) {
	t.Helper()
	start = time.Now().Add(-5 * time.Hour).UTC().Truncate(time.Second)
	l, err := sim.New(sim.Config{Seed: 7, Start: start, Schedule: sim.Schedule{Units: []sim.UnitPlan{
		{Name: "plover", Processes: []string{"c41"}, Runs: []sim.RunPlan{{Process: "c41"}, {Process: "c41"}}}}}})
	if err != nil {
		t.Fatal(err)
	}
	raws := l.Advance(start.Add(4 * time.Hour))
	if len(l.Runs()) != 2 {
		t.Fatalf("%d runs were simulated; want 2", len(l.Runs()))
	}
	name := []byte(`"run":"` + l.Runs()[1].Run + `"`)
	for i, r := range raws {
		if bytes.Contains(r.Payload, name) {
			return raws[:i], raws[i:], start
		}
	}
	t.Fatal("the second run has no message")
	return nil, nil, start
}

// A withdrawn mix finds every roll that met it: those of runs that were imported
// after the bottle was put up, those known before a restart, and those of a
// capture that came in late, after the mix was withdrawn.
func TestWithdrawnMixOverRestartImportAndLateCapture(t *testing.T) {
	t.Parallel()
	first, second, start := twoRuns(t)
	_, broker := monitortest.Mosquitto(t)
	database := pgtest.New(t)
	send := func(t *testing.T, a *monitortest.API, method, path, body string) []byte {
		t.Helper()
		code, b, err := a.Do(method, "/api/v1"+path, body)
		if err != nil || code >= 300 {
			t.Fatalf("%s %s: %d %s %v", method, path, code, b, err)
		}
		return b
	}
	takeIn := func(t *testing.T, name string, raws []lab.Raw) {
		t.Helper()
		if code, _, errOut := run1(t, "", "import", "--database", database, monitortest.WriteCapture(t, name, raws)); code != exitDone {
			t.Fatalf("import: %s", errOut)
		}
	}
	scanned := 0
	scan := func(t *testing.T, a *monitortest.API) { // a roll into each run that has none
		t.Helper()
		var runs struct{ Runs []lab.Run }
		if !a.Get("/api/v1/runs?limit=100", &runs) {
			t.Fatal("the runs cannot be read")
		}
		for _, r := range runs.Runs {
			if len(r.Rolls) == 0 && r.Process == "c41" {
				scanned++
				send(t, a, "POST", "/runs/"+r.ID+"/rolls", fmt.Sprintf(`{"add":[{"twin_check":"R%d","order":"A-%d","format":"120"}]}`, scanned, scanned))
			}
		}
	}
	met := func(t *testing.T, a *monitortest.API, mix string) (m web.MixRolls) {
		t.Helper()
		if !a.Get("/api/v1/mixes/"+mix+"/rolls", &m) {
			t.Fatal("the rolls of the mix cannot be read")
		}
		return m
	}

	var mix web.MixView
	var token string
	t.Run("put up, imported and withdrawn", func(t *testing.T) {
		p := monitortest.Start(t, monitor.Config{Broker: broker, Database: database})
		monitortest.Ready(t, p.URL())
		store := pgtest.Store(t, monitortest.StoreConfig(database))
		a := monitortest.NewAPI(t, p.URL(), store)
		token = a.Token
		pub := monitortest.NewPublisher(t, broker)
		pub.Send(lab.Raw{Topic: "wetside/v1/tern-street/plover/step", Payload: []byte(`{"at":"` + lab.At(time.Now()).String() + `","boot":"live","seq":1,"phase":"idle"}`)})
		pub.Settle()
		monitortest.AwaitStored(t, store, map[string][]byte{"": nil})
		labtest.Poll(t, "plover is heard", func() bool { return a.Get("/api/v1/units/tern-street/plover", new(lab.Unit)) })
		at := lab.At(start.Add(-time.Hour)).String()
		if err := json.Unmarshal(send(t, a, "POST", "/mixes", `{"solution":"c41/fixer","volume_l":5,"mixed_by":"Mina","lot":"0931","mixed_at":"`+at+`"}`), &mix); err != nil {
			t.Fatal(err)
		}
		send(t, a, "POST", "/units/tern-street/plover/bottles", `{"mix":"`+mix.ID+`","at":"`+at+`"}`)
		takeIn(t, "first.jsonl", first)
		scan(t, a)
		if m := met(t, a, mix.ID); m.Rolls != 1 || len(m.Runs) != 1 || !m.Runs[0].Sure || strings.Join(m.Runs[0].Steps, " ") != "fixer" {
			t.Fatalf("after the import: %+v", m)
		}
		send(t, a, "POST", "/mixes/"+mix.ID+"/withdraw", `{"reason":"sulfur at the bottom"}`)
	})
	t.Run("restarted, and a capture came late", func(t *testing.T) {
		p := monitortest.Start(t, monitor.Config{Broker: broker, Database: database})
		monitortest.Ready(t, p.URL())
		a := &monitortest.API{T: t, Base: p.URL(), Token: token}
		if m := met(t, a, mix.ID); m.Rolls != 1 || m.Withdrawn != "sulfur at the bottom" {
			t.Errorf("after the restart: %+v", m)
		}
		takeIn(t, "second.jsonl", second)
		scan(t, a)
		m := met(t, a, mix.ID)
		var orders []string
		for _, o := range m.Orders {
			orders = append(orders, o.Order+": "+strings.Join(o.Rolls, " "))
		}
		if len(m.Runs) != 2 || strings.Join(orders, "; ") != "A-1: R1; A-2: R2" || m.Unscanned != 0 {
			t.Errorf("after the late capture: %d runs, orders %q, %d unscanned", len(m.Runs), orders, m.Unscanned)
		}
	})
}
