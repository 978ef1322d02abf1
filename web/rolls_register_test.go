package web

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"wetside/internal/lab"
)

// rollSite is a lab with two idle units that are ready for C-41 and E-6.
func rollSite(t *testing.T) *site {
	x := newSite(t, newShop().stock(), func(c *Config) { c.Clock = fixedClock{} })
	x.alerts = map[string]lab.Alert{}
	for _, id := range []string{"tern-street/plover", "tern-street/heron"} {
		x.units[id] = lab.Unit{ID: id, Link: lab.LinkOnline, Activity: lab.ActivityIdle, Processes: []string{"c41", "e6-7"}}
		x.Settings[id] = lab.UnitSetting{Unit: id, Standing: lab.UnitAccepted}
	}
	return x
}

// A roll that is loaded for the run after the one that goes on is found.
func TestRollThatIsLoadedIsFound(t *testing.T) {
	x := rollSite(t)
	heron := x.units["tern-street/heron"]
	heron.Run, heron.Activity = &lab.UnitRun{ID: "run-9"}, lab.ActivityRunning
	heron.Load, heron.NextLoad = &lab.Load{Process: "c41", Rolls: rolls("1")}, &lab.Load{Process: "c41", Rolls: rolls("2")}
	x.units["tern-street/heron"] = heron
	if p := into[RollPage](x, "GET", "/rolls/2", lab.RoleViewer, "", 200); len(p.Loaded) != 1 || p.Loaded[0].Unit != "tern-street/heron" {
		t.Errorf("roll 2: %+v", p)
	}
	if p := into[RollPage](x, "GET", "/rolls/1", lab.RoleViewer, "", 200); len(p.Loaded) != 0 {
		t.Errorf("roll 1 is in the run that goes on, not loaded: %+v", p)
	}
}

// A list is taken row by row; what is wrong with a row is said of that row.
func TestRollListRowByRow(t *testing.T) {
	x := rollSite(t)
	text := "Twin Check;Process;Push;Order;Due;Shelf\r\n48213;C-41;;A-1;2026-03-02;x\r\n48214;E6;+1/3;A-1;2026-03-02 17:00;\r\n" +
		"48213;c41;;;;\r\n48215;K-14;;;;\r\n48216;c41;nine;;;\r\n48217;c41;;;soon;\r\n;c41;;;;\r\n48218;bw;-1;;3/2/2026;\r\n"
	got := into[RollListAnswer](x, "POST", "/rolls.csv", lab.RoleOperator, text, 200)
	var refused []string
	for _, r := range got.Refused {
		refused = append(refused, r.TwinCheck+" "+r.Error)
	}
	want := []string{"in the list already, in row 2", "process must be one of", "push must be", "due must be a day", "twin check"}
	if len(refused) != len(want) || got.New != 3 || cmp.Diff([]string{"Shelf"}, got.Ignored) != "" {
		t.Fatalf("%+v; refused %q", got, refused)
	}
	for i, w := range want {
		if !strings.Contains(refused[i], w) {
			t.Errorf("row %d: %q does not say %q", got.Refused[i].Row, refused[i], w)
		}
	}
	if k := x.known["48214"]; k.Process != "e6" || *k.Push < 0.333 || *k.Push > 0.334 || k.DueAt.UTC().Hour() != 17 {
		t.Errorf("48214: %+v, push %v", k, *k.Push)
	}
	if k := x.known["48218"]; k.Process != "bw" || *k.Push != -1 || k.DueAt.Format("2006-01-02 15:04") != "2026-03-02 23:59" {
		t.Errorf("48218: %+v", k)
	}
	if again := into[RollListAnswer](x, "POST", "/rolls.csv", lab.RoleOperator, text, 200); again.New+again.Changed != 0 || again.Same != 3 {
		t.Errorf("the same list again: %+v", again)
	}
	into[RollListAnswer](x, "POST", "/rolls.csv", lab.RoleOperator, strings.Repeat("1\n", lab.MaxRollList)+"2\n", 422)
	if bare := into[RollListAnswer](x, "POST", "/rolls.csv", lab.RoleOperator, "A1\tc41\t1\tO-1\nA2\n", 200); bare.New != 2 || *x.known["A1"].Push != 1 || x.known["A1"].Order != "O-1" || x.known["A2"].Push != nil {
		t.Errorf("without a head: %+v %+v", bare, x.known["A1"])
	}
}
