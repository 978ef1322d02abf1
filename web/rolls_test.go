package web

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"wetside/internal/lab"
)

func TestBatchLiesBetweenGoodRuns(t *testing.T) {
	run := func(id, kind, outcome, verdict string, codes ...string) lab.Run {
		r := lab.Run{ID: id, Kind: kind, Outcome: outcome, Verdict: &verdict}
		for _, c := range codes {
			r.Reasons = append(r.Reasons, lab.Reason{Code: c})
		}
		return r
	}
	film, done := lab.KindOfRunFilm, lab.OutcomeDone
	bad := run("bad", film, done, lab.Inspect, "bath-warm", "step-long", "bath-warm")
	before := []lab.Run{ // the newest first
		run("b3", film, done, lab.Inspect, "bath-warm"), run("b2", lab.KindOfRunWater, done, lab.InControl),
		run("b1", film, lab.OutcomeAborted, lab.InControl), run("good", lab.KindOfRunStrip, done, lab.InControl), run("b0", film, done, lab.Inspect),
	}
	after := []lab.Run{run("a1", film, done, lab.OutOfControl, "outage", "step-long"), run("next", film, done, lab.InControl), run("a2", film, done, lab.Inspect)}
	b := batchOf(bad, before, after)
	var ids []string
	for _, r := range b.Runs {
		ids = append(ids, r.Run.ID+" "+strings.Join(r.Shared, "+"))
	}
	if diff := cmp.Diff([]string{"b1 ", "b2 ", "b3 bath-warm", "bad bath-warm+step-long", "a1 step-long"}, ids); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	if b.LastGood == nil || *b.LastGood != "good" || b.NextGood == nil || *b.NextGood != "next" {
		t.Errorf("last good %v, next good %v", b.LastGood, b.NextGood)
	}
	alone := batchOf(bad, nil, nil)
	if alone.LastGood != nil || alone.NextGood != nil || len(alone.Runs) != 1 {
		t.Errorf("alone: %+v", alone)
	}
}

func TestRollPageShowsRunsAndLoads(t *testing.T) {
	x := newSite(t, newShop().stock())
	heron := x.units["tern-street/heron"]
	heron.Load = &lab.Load{Process: "bw", Rolls: []lab.Roll{{TwinCheck: "a7", Film: "panchromatic"}}}
	x.units["tern-street/heron"] = heron
	ran := x.runs["run-1"]
	ran.Rolls = rolls("A7")
	x.runs["run-1"] = ran
	page := into[RollPage](x, "GET", "/rolls/%20a7", lab.RoleViewer, "", 200)
	if page.TwinCheck != "A7" || len(page.Runs) != 1 || len(page.Loaded) != 1 || page.Loaded[0].Unit != "tern-street/heron" || page.Loaded[0].Roll.Film == "" {
		t.Errorf("page %+v", page)
	}
	if f, ok := x.asked.(lab.RunFilter); !ok || f.Roll != "A7" {
		t.Errorf("asked the store for %+v", x.asked)
	}
}
