package main

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/monitor"
	"wetside/internal/monitor/monitortest"
	"wetside/internal/postgres/pgtest"
)

// spoken is what one unit says, a sentence after another.
type spoken struct {
	at  time.Time
	seq int
	all []lab.Raw
}

func (u *spoken) say(after time.Duration, channel lab.Channel, fields string) {
	u.at = u.at.Add(after)
	u.seq++
	u.all = append(u.all, lab.Raw{Topic: lab.Topic(lab.UnitID{Lab: "tern-street", Unit: "plover"}, channel), Received: u.at,
		Payload: fmt.Appendf(nil, `{"at":%q,"boot":"b1","seq":%d,%s}`, lab.At(u.at), u.seq, fields)})
}

func (u *spoken) step(after time.Duration, phase lab.Phase, run, step string, n int) {
	u.say(after, lab.ChannelStep, fmt.Sprintf(`"phase":%q,"run":%q,"process":"c41","step":%q,"n":%d,"of":6`, phase, run, step, n))
}

// bath is a step from its filling to its draining, at its temperature.
func (u *spoken) bath(run, step string, n, seconds int) {
	u.step(5*time.Second, lab.PhaseFilling, run, step, n)
	u.step(10*time.Second, lab.PhaseInBath, run, step, n)
	for range seconds / 5 {
		u.say(5*time.Second, lab.ChannelTemp, `"bath_c":37.8,"room_c":21`)
	}
}

// A unit goes idle with film in its bleach, a rescue run takes the film on, a
// person undoes that and says it again, the rescue is aborted, and somebody
// finishes the film by hand: one film over two runs, live, in the API and in a
// replay of the export.
func TestFilmOverTwoRuns(t *testing.T) {
	t.Parallel()
	_, broker := monitortest.Mosquitto(t)
	database := pgtest.New(t)
	p := monitortest.Start(t, monitor.Config{Broker: broker, Database: database})
	monitortest.Ready(t, p.URL())
	store := pgtest.Store(t, monitortest.StoreConfig(database))
	a := monitortest.NewAPI(t, p.URL(), store)
	pub := monitortest.NewPublisher(t, broker)
	u := &spoken{at: time.Now().Add(-20 * time.Minute).UTC().Truncate(time.Second)}
	sent := 0
	publish := func() {
		for ; sent < len(u.all); sent++ {
			pub.Send(u.all[sent])
		}
		pub.Settle()
	}
	post := func(path, body string, want int) {
		t.Helper()
		if code, b, err := a.Do(http.MethodPost, "/api/v1"+path, body); err != nil || code != want {
			t.Fatalf("POST %s %s: %d %s, %v; want %d", path, body, code, b, err, want)
		}
	}
	stranded := func(open bool) {
		t.Helper()
		labtest.Poll(t, fmt.Sprintf("film-stranded is open: %v", open), func() bool {
			return open == slices.ContainsFunc(a.Alerts("&rule=film-stranded"), func(x lab.Alert) bool { return x.ClearedAt == nil && !x.Withdrawn })
		})
	}
	runs := func() map[string]lab.Run {
		var got struct{ Runs []lab.Run }
		a.Get("/api/v1/runs?limit=10", &got)
		out := map[string]lab.Run{}
		for _, r := range got.Runs {
			out[r.Run] = r
		}
		return out
	}
	film := func(want string) {
		t.Helper()
		got := ""
		defer func() { t.Logf("the film is %q", got) }()
		labtest.Poll(t, "the film is "+want, func() bool {
			all := runs()
			got = ""
			for _, name := range []string{"r1", "r2"} {
				if r, ok := all[name]; ok && r.Film != nil {
					got += fmt.Sprintf("%s: %d runs, %s; ", name, len(r.Film.Runs), r.Film.State)
				}
			}
			return got == want
		})
	}

	u.say(0, lab.ChannelStatus, `"online":true,"model":"x"`)
	u.bath("r1", "developer", 1, 195)
	u.step(5*time.Second, lab.PhaseDraining, "r1", "developer", 1)
	u.bath("r1", "bleach", 2, 60)
	for range 6 {
		u.say(5*time.Second, lab.ChannelStep, `"phase":"idle"`)
	}
	publish()
	stranded(true)

	u.step(60*time.Second, lab.PhaseHeating, "r2", "fixer", 4)
	u.bath("r2", "fixer", 4, 60)
	publish()
	film("r1: 2 runs, in-bath; r2: 2 runs, in-bath; ")
	stranded(false)
	all := runs()
	if r := all["r2"]; r.Continues == nil || *r.Continues != all["r1"].ID {
		t.Errorf("the rescue goes on with %v; want run r1", r.Continues)
	}
	post("/runs/"+all["r2"].ID+"/continues", `{"run":null}`, 200)
	film("r1: 1 runs, in-bath; r2: 1 runs, in-bath; ")
	stranded(true)
	post("/runs/"+all["r2"].ID+"/continues", fmt.Sprintf(`{"run":%q}`, all["r1"].ID), 200)
	film("r1: 2 runs, in-bath; r2: 2 runs, in-bath; ")
	stranded(false)

	u.step(10*time.Second, lab.PhaseAborted, "r2", "fixer", 4)
	u.say(5*time.Second, lab.ChannelStep, `"phase":"idle"`)
	publish()
	film("r1: 2 runs, in-bath; r2: 2 runs, in-bath; ")
	post("/units/tern-street/plover/film", `{"what":"dried","note":"wash and rinse by hand"}`, 201)
	film("r1: 2 runs, dried; r2: 2 runs, dried; ")

	code, out, errOut := run1(t, "", "export", "--entries", "--database", database)
	if code != exitDone {
		t.Fatalf("export: status %d: %s", code, errOut)
	}
	capture := monitortest.WriteCapture(t, "exported.jsonl", monitortest.ReadCapture(t, strings.NewReader(out)))
	awaitRuns(t, a, byID(runsOfLines(replayed(t, capture))))
}
