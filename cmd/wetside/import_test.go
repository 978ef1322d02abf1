package main

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"wetside/internal/lab"
	"wetside/internal/monitor"
	"wetside/internal/monitor/monitortest"
	"wetside/internal/postgres/pgtest"
)

// History comes in beside what is watched live: the same alerts and runs as
// replay finds, closed and paged to nobody, and the live unit is as it was,
// though it is the same unit.
func TestImportBesideALiveLab(t *testing.T) {
	t.Parallel()
	raws := monitortest.FaultyDay(t)
	_, broker := monitortest.Mosquitto(t)
	database := pgtest.New(t)
	p := monitortest.Start(t, monitor.Config{Broker: broker, Database: database})
	monitortest.Ready(t, p.URL())
	store := pgtest.Store(t, monitortest.StoreConfig(database))
	a := monitortest.NewAPI(t, p.URL(), store)

	// plover is watched live, after the history that is to come in.
	pub := monitortest.NewPublisher(t, broker)
	live := lab.Raw{Topic: "wetside/v1/tern-street/plover/step",
		Payload: []byte(`{"at":"` + lab.At(time.Now()).String() + `","boot":"live","seq":1,"phase":"idle"}`)}
	pub.Send(live)
	pub.Settle()
	monitortest.AwaitStored(t, store, map[string][]byte{"": nil})

	capture := monitortest.WriteCapture(t, "history.jsonl", raws)
	code, _, errOut := run1(t, "", "import", "--database", database, capture)
	if code != exitDone || !strings.Contains(errOut, "imported") {
		t.Fatalf("import: status %d: %s", code, errOut)
	}
	lines := replayed(t, capture)
	checkHistory(t, a, lines)
	if pages, err := store.WaitingPages(t.Context(), 10); err != nil || len(pages) > 0 {
		t.Errorf("history made pages: %v, %v", pages, err)
	}
	var units struct{ Units []lab.Unit }
	if !a.Get("/api/v1/units", &units) || len(units.Units) != 1 || units.Units[0].Activity != lab.ActivityIdle || units.Units[0].Run != nil {
		t.Errorf("the live lab is not as it was: %+v", units.Units)
	}
	arrivals, err := store.ArrivalsAfter(t.Context(), 0, 10)
	if err != nil || len(arrivals) != 1 {
		t.Errorf("the worker is given %d arrivals; want the live one only (%v)", len(arrivals), err)
	}

	before := a.Alerts("")
	code, _, errOut = run1(t, "", "import", "--database", database, capture)
	if code != exitDone || !strings.Contains(errOut, " 0 messages new") {
		t.Errorf("imported again: status %d: %s", code, errOut)
	}
	if diff := cmp.Diff(before, a.Alerts("")); diff != "" {
		t.Errorf("imported again, the alerts change:\n%s", diff)
	}
	code, out, errOut := run1(t, "", "export", "--database", database)
	if code != exitDone {
		t.Fatalf("export: status %d: %s", code, errOut)
	}
	want := monitortest.Uniquely(t, raws)
	want[monitortest.Named(live)] = live.Payload
	monitortest.CheckExactlyOnce(t, monitortest.ReadCapture(t, strings.NewReader(out)), want)
}

func checkHistory(t *testing.T, a *monitortest.API, lines []replayLine) {
	t.Helper()
	// In history each occurrence is an alert of its own.
	each := func(list []lab.Alert) (out []facts) {
		for _, x := range list {
			out = append(out, factsOf(x))
		}
		slices.SortFunc(out, func(x, y facts) int {
			return strings.Compare(x.Raised+x.Rule+x.Unit+x.Step, y.Raised+y.Rule+y.Unit+y.Step)
		})
		return out
	}
	stored := a.Alerts("")
	if diff := cmp.Diff(each(alertsOf(lines)), each(stored)); diff != "" {
		t.Errorf("replay (-) and import (+) differ:\n%s", diff)
	}
	for _, x := range stored {
		if x.State != lab.Closed || !x.FoundAfterwards {
			t.Errorf("%s of %s is %s; want closed and found afterwards", x.Rule, x.Unit, x.State)
		}
	}
	want := map[string]string{}
	for _, l := range lines {
		if l.Run != nil {
			want[l.Run.ID] = l.Run.Outcome
		}
	}
	var runs struct{ Runs []lab.Run }
	if !a.Get("/api/v1/runs?limit=10000", &runs) {
		t.Fatal("the runs cannot be read")
	}
	got := map[string]string{}
	for _, r := range runs.Runs {
		got[r.ID] = r.Outcome
	}
	if diff := cmp.Diff(want, got); diff != "" || len(want) == 0 {
		t.Errorf("runs by replay (-) and by import (+) differ:\n%s", diff)
	}
}
