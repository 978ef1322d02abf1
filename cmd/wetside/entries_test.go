package main

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/monitor"
	"wetside/internal/monitor/monitortest"
	"wetside/internal/postgres/pgtest"
)

// What people enter is counted in alike by live watching, by a replay of the
// export, and by an import of it into another database.
func TestReplayAgreesWithLiveOnWhatPeopleEnter(t *testing.T) {
	t.Parallel()
	raws := monitortest.FaultyDay(t)
	_, broker := monitortest.Mosquitto(t)
	database := pgtest.New(t)
	p := monitortest.Start(t, monitor.Config{Broker: broker, Database: database})
	monitortest.Ready(t, p.URL())
	store := pgtest.Store(t, monitortest.StoreConfig(database))
	a := monitortest.NewAPI(t, p.URL(), store)
	before := runsOfLines(replayed(t, monitortest.WriteCapture(t, "sent.jsonl", raws)))
	film := filmRun(t, before)
	unit, err := lab.ParseUnitID(film.Unit)
	if err != nil {
		t.Fatal(err)
	}

	// What was entered before the run: it is loaded for another push, and the
	// probe was off.
	enter := func(what string, at time.Time, content any) {
		t.Helper()
		b, _ := json.Marshal(content)
		e := lab.Entry{Unit: unit, What: what, At: at, By: "robin", Body: b}
		if _, err := store.AppendEntry(t.Context(), e); err != nil {
			t.Fatal(err)
		}
	}
	enter(lab.EntryLoad, film.StartedAt.Add(-time.Minute), lab.Load{Process: film.Process, Push: film.Push,
		Rolls: []lab.Roll{{TwinCheck: "101"}, {TwinCheck: "102", Process: film.Process, Push: film.Push + 1}}})
	enter(lab.EntryProbe, film.StartedAt.Add(-2*time.Minute), lab.ProbeCheck{OffsetC: 0.3, Reference: "No. 4"})

	pub := monitortest.NewPublisher(t, broker)
	for _, raw := range raws {
		pub.Send(raw)
	}
	pub.Settle()
	monitortest.AwaitStored(t, store, monitortest.Uniquely(t, raws))
	labtest.Poll(t, "run "+film.ID+" is known", func() bool { var r lab.Run; return a.Get("/api/v1/runs/"+film.ID, &r) })

	// And what was entered after it.
	post := func(path, body string, want int) {
		t.Helper()
		if code, b, err := a.Do(http.MethodPost, path, body); err != nil || code != want {
			t.Fatalf("POST %s: %d %s, %v; want %d", path, code, b, err, want)
		}
	}
	run := "/api/v1/runs/" + film.ID
	post(run+"/rolls", `{"add":[{"twin_check":"103","order":"B-7"}],"remove":["101"]}`, 200)
	post(run+"/decision", `{"decision":"hold","note":"look at 102"}`, 200)
	post(run+"/statements", `{"what":"note","text":"the reel stuck"}`, 201)
	post("/api/v1/units/"+film.Unit+"/containers/waste/events", fmt.Sprintf(`{"what":"emptied","at":%q}`, lab.At(film.StartedAt.Add(-30*time.Second))), 201)
	other := slices.IndexFunc(before, func(r lab.Run) bool { return r.ID != film.ID && r.Outcome != lab.OutcomeRunning })
	if other >= 0 {
		post("/api/v1/runs/"+before[other].ID+"/kind", `{"kind":"strip"}`, 200)
	}
	readStrip(t, a, film)

	code, out, errOut := run1(t, "", "export", "--entries", "--database", database)
	if code != exitDone {
		t.Fatalf("export: status %d: %s", code, errOut)
	}
	exported := monitortest.ReadCapture(t, strings.NewReader(out))
	entered := len(slices.DeleteFunc(slices.Clone(exported), func(r lab.Raw) bool { return !lab.IsEntryTopic(r.Topic) }))
	if entered < 6 {
		t.Fatalf("the export has %d entries; want all that were entered", entered)
	}
	capture := monitortest.WriteCapture(t, "exported.jsonl", exported)
	lines := replayed(t, capture)
	want := byID(runsOfLines(lines))
	judged := want[film.ID]
	if got := twinChecksOf(judged); got != "102 103" || judged.Decision == nil || judged.Decision.Decision != "hold" {
		t.Errorf("replayed, the run has rolls %q and decision %+v; want 102 103, held", got, judged.Decision)
	}
	if !slices.ContainsFunc(lines, func(l replayLine) bool {
		return l.Alert != nil && l.Alert.Rule == "roll-mismatch" && l.Alert.Run == film.ID
	}) {
		t.Error("roll 102 wants another push and nothing is said of it")
	}
	if diff := cmp.Diff(byID(before)[film.ID].Steps, judged.Steps); diff == "" {
		t.Error("a probe that is off by 0.3 °C changes nothing in what the run is judged by")
	}
	awaitRuns(t, a, want)

	otherDatabase := pgtest.New(t)
	if code, _, errOut := run1(t, "", "import", "--database", otherDatabase, capture); code != exitDone || !strings.Contains(errOut, fmt.Sprintf("%d entries new", entered)) {
		t.Fatalf("import: status %d: %s", code, errOut)
	}
	copied := pgtest.Store(t, monitortest.StoreConfig(otherDatabase))
	list, err := copied.Runs(t.Context(), lab.RunFilter{Limit: 10_000})
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(bare(want), bare(byID(list))); diff != "" {
		t.Errorf("replay (-) and import (+) differ:\n%s", diff)
	}
	if code, _, errOut := run1(t, "", "import", "--database", otherDatabase, capture); code != exitDone || !strings.Contains(errOut, " 0 messages new, 0 entries new") {
		t.Errorf("imported again: status %d: %s", code, errOut)
	}
}

// readStrip sends a strip in that rode in a run, as text from a pipe.
func readStrip(t *testing.T, a *monitortest.API, run lab.Run) {
	t.Helper()
	text := map[string]string{"c41": "LD 0.44 0.76 0.98\n\n", "e6-3": "HD 1.9 1.8 1.7\n\n", "e6-7": "HD 1.9 1.8 1.7\n\n", "bw": "LD 0.60\n\n"}[run.Process]
	code, out, errOut := run1(t, text, "strips", "read", "--format", "named", "--process", run.Process, "--unit", run.Unit, "--run", run.Run, "--mix", "B12",
		"--server", a.Base, "--token", a.Token)
	if code != exitDone || !strings.Contains(errOut, "the strip is saved, not judged; gate: watch") {
		t.Fatalf("strips read: status %d, %s, %s", code, out, errOut)
	}
	var list struct {
		Strips []struct{ Unit, Run, Process, Mix string }
	}
	if !a.Get("/api/v1/strips?unit="+run.Unit, &list) || len(list.Strips) != 1 || list.Strips[0].Run != run.ID || list.Strips[0].Mix != "B12" {
		t.Errorf("the strip is known as %+v; want that of run %s", list, run.ID)
	}
	var unit lab.Unit
	labtest.Poll(t, "the unit shows the gate of its strips", func() bool {
		return a.Get("/api/v1/units/"+run.Unit, &unit) && len(unit.Gates) == 1 && unit.Gates[0].Gate == "watch"
	})
}

// filmRun is a finished run of film that others followed or that ended well
// before the end.
func filmRun(t *testing.T, runs []lab.Run) lab.Run {
	t.Helper()
	for _, r := range runs {
		if r.Kind == lab.KindOfRunFilm && r.Outcome == lab.OutcomeDone && slices.ContainsFunc(r.Steps, func(s lab.RunStep) bool { return s.EquivalentS != nil }) {
			return r
		}
	}
	t.Fatalf("the capture has no finished run of film among %d runs", len(runs))
	return lab.Run{}
}

func runsOfLines(lines []replayLine) (runs []lab.Run) {
	for _, l := range lines {
		if l.Run != nil {
			runs = append(runs, *l.Run)
		}
	}
	return runs
}

func byID(runs []lab.Run) map[string]lab.Run {
	m := map[string]lab.Run{}
	for _, r := range runs {
		m[r.ID] = r
	}
	return m
}

func twinChecksOf(r lab.Run) string {
	var names []string
	for _, roll := range r.Rolls {
		names = append(names, roll.TwinCheck)
	}
	return strings.Join(names, " ")
}

// bare leaves out what replay does not make: seals; and the alerts,
// which are compared on their own: some are judged on arrival.
func bare(runs map[string]lab.Run) map[string]string {
	out := map[string]string{}
	for id, r := range runs {
		r.Alerts, r.Seal = nil, nil
		b, _ := json.MarshalIndent(r, "", " ")
		out[id] = string(b)
	}
	return out
}

// awaitRuns waits until the API shows these runs.
func awaitRuns(t *testing.T, a *monitortest.API, want map[string]lab.Run) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 2*labtest.Patience)
	defer cancel()
	tick := time.NewTicker(50 * time.Millisecond)
	defer tick.Stop()
	for {
		var got struct{ Runs []lab.Run }
		if !a.Get("/api/v1/runs?limit=10000", &got) {
			t.Fatal("the runs cannot be read")
		}
		if maps.Equal(bare(want), bare(byID(got.Runs))) {
			return
		}
		select {
		case <-ctx.Done():
			t.Fatalf("replay (-) and live (+) differ:\n%s", cmp.Diff(bare(want), bare(byID(got.Runs))))
		case <-tick.C:
		}
	}
}
