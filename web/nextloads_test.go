package web

import (
	"strings"
	"testing"

	"wetside/internal/lab"
	"wetside/web/propose"
)

// What waits is laid on the units that the check at loading would let go; what is
// loaded waits no more, and a unit with a load is behind it.
func TestNextLoads(t *testing.T) {
	x := rollSite(t)
	if p := into[propose.Proposal](x, "GET", "/next-loads", lab.RoleViewer, "", 200); p.Waiting != 0 || p.Runs == nil || len(p.Runs)+len(p.Units)+len(p.Left)+len(p.Rests) != 0 {
		t.Fatalf("nothing waits: %+v", p)
	}
	into[RollListAnswer](x, "POST", "/rolls", lab.RoleOperator,
		`{"rolls":[{"twin_check":"1","process":"c41","push":0},{"twin_check":"2","process":"c41","push":0},{"twin_check":"3","process":"e6","push":1}]}`, 200)
	p := into[propose.Proposal](x, "GET", "/next-loads", lab.RoleViewer, "", 200)
	if p.Waiting != 3 || len(p.Runs) != 0 || len(p.Units) != 2 || !strings.Contains(p.Units[0].Text, "How many rolls heron holds is not known.") {
		t.Fatalf("nobody knows what the reels hold: %+v", p)
	}
	x.labSettings.Reels = map[string]float64{"tern-street/plover": 6, "tern-street/heron": 6}
	p = into[propose.Proposal](x, "GET", "/next-loads", lab.RoleViewer, "", 200)
	if len(p.Runs) != 2 || len(p.Runs[0].Rolls)+len(p.Runs[1].Rolls) != 3 || p.Runs[0].Unit == p.Runs[1].Unit || p.Figures.Collisions != 0 {
		t.Fatalf("three rolls on two units: %+v", p)
	}
	x.loads(`{"process":"c41","rolls":[{"twin_check":"1"}]}`)
	u := x.units["tern-street/plover"] // as the worker has it then
	u.Load = &lab.Load{Process: "c41", Rolls: rolls("1")}
	x.units["tern-street/plover"] = u
	heron := x.units["tern-street/heron"]
	heron.Containers = []lab.Container{{Name: "waste", Role: lab.RoleWaste, CapacityL: 18.9, FloatShut: true}}
	x.units["tern-street/heron"] = heron
	p = into[propose.Proposal](x, "GET", "/next-loads", lab.RoleViewer, "", 200)
	if p.Waiting != 2 || len(p.Runs) != 2 || p.Runs[0].Unit != "tern-street/plover" || p.Runs[1].Unit != "tern-street/plover" || !p.Runs[0].StartAt.After(p.At.Time) {
		t.Errorf("one is loaded, the other unit's waste is full: %+v", p)
	}
	if len(p.Units) != 2 || !strings.Contains(p.Units[0].Text, "is full (float switch)") {
		t.Errorf("why heron is not used: %+v", p.Units)
	}
}

// What the reels hold is a lead's word, within what a reel can hold.
func TestReelsOfTheLab(t *testing.T) {
	x := rollSite(t)
	got := into[lab.LabSettings](x, "PUT", "/house", lab.RoleLead, `{"time_zone":"UTC","closed":false,"closed_until":null,"reels":{"tern-street/plover":6.5},"dryer_holds":12,"dryer_min":40}`, 200)
	if got.Reels["tern-street/plover"] != 6.5 || got.DryerHolds != 12 || got.DryerMin != 40 {
		t.Errorf("%+v", got)
	}
	for _, body := range []string{`"reels":{"plover":6}`, `"reels":{"tern-street/plover":-1}`, `"reels":{"tern-street/plover":1000}`, `"dryer_min":-1`} {
		into[any](x, "PUT", "/house", lab.RoleLead, `{"time_zone":"UTC","closed":false,"closed_until":null,`+body+`}`, 422)
	}
}
