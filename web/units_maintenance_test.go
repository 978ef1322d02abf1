package web

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
)

func (x *site) jobWords() string {
	x.t.Helper()
	var out []string
	for _, j := range into[JobList](x, "GET", "/next-jobs", lab.RoleViewer, "", 200).Jobs {
		if j.Patient {
			out = append(out, j.Unit+": "+j.What)
		}
	}
	return strings.Join(out, "; ")
}

// What is due of looking after units is among the next jobs, by days or by runs,
// once the lab does it; until then nobody is sent.
func TestMaintenanceIsAmongTheNextJobs(t *testing.T) {
	x := rollSite(t)
	x.entries = nil
	if w := x.jobWords(); w != "" {
		t.Errorf("a lab that does no checks is sent to %s", w)
	}
	done := func(check, at string, ok bool) {
		into[EntryView](x, "POST", "/units/tern-street/plover/checks", lab.RoleOperator, fmt.Sprintf(`{"check":%q,"ok":%v,"at":%q}`, check, ok, at), 201)
	}
	done("hoses", "2026-02-27T09:00:00Z", true)
	done("filters", "2025-11-01T09:00:00Z", true)
	done("battery", "2026-02-01T09:00:00Z", false)
	done("strip", "2026-02-01T09:00:00Z", true) // has jobs of its own
	if w := x.jobWords(); w != "tern-street/plover: check filters; tern-street/plover: look at battery runtime" {
		t.Errorf("by days: %s", w)
	}
	x.labSettings.CheckRuns = map[string]int{"hoses": 3}
	x.runs = map[string]lab.Run{}
	for i := range 3 {
		id := fmt.Sprint("r", i)
		x.runs[id] = lab.Run{ID: id, Unit: "tern-street/plover", StartedAt: lab.At(t0.Add(time.Duration(i) * time.Hour))}
	}
	if w := x.jobWords(); !strings.Contains(w, "tern-street/plover: check hoses and couplings") {
		t.Errorf("after three of three runs: %s", w)
	}
	for _, c := range into[CheckList](x, "GET", "/units/tern-street/plover/checks", lab.RoleViewer, "", 200).Checks {
		if c.Check == "hoses" && (c.Runs != 3 || c.Ran != 3 || c.Is != "overdue") {
			t.Errorf("%+v", c)
		}
	}
	plover := x.units["tern-street/plover"]
	plover.Activity = lab.ActivityRunning
	x.units["tern-street/plover"] = plover
	if w := x.jobWords(); strings.Contains(w, "plover") {
		t.Errorf("a unit that runs is looked after: %s", w)
	}
}
