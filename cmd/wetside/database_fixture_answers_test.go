package main

import (
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"wetside/internal/monitor/monitortest"
)

// databaseAnswers asks everything of a lab that an update of the program must
// not change.
func databaseAnswers(t *testing.T, a *monitortest.API) map[string]json.RawMessage {
	t.Helper()
	out := map[string]json.RawMessage{}
	ask := func(path string) {
		code, b, err := a.Do(http.MethodGet, path, "")
		if err != nil {
			t.Fatalf("GET %s: %v", path, err)
		}
		if code != http.StatusOK { // nothing is loaded, or the like
			t.Logf("GET %s: %d %.200s", path, code, b)
			return
		}
		out[path] = b
	}
	// what moves comes first
	for _, path := range []string{"units", "next-jobs", "alerts?limit=10000", "runs?limit=10000", "hand-over", "duty", "strips?limit=1000", "rolls",
		"quarantine?limit=1000", "entries?limit=10000", "house", "setting-changes", "strips/settings", "duty/log?limit=1000", "users",
		"people/Wren/contacts", "people/Robin/contacts"} {
		ask("/api/v1/" + path)
	}
	var units struct{ Units []struct{ ID string } }
	var runs struct{ Runs []struct{ ID string } }
	var alerts struct{ Alerts []struct{ ID string } }
	for path, v := range map[string]any{"units": &units, "runs?limit=10000": &runs, "alerts?limit=10000": &alerts} {
		if err := json.Unmarshal(out["/api/v1/"+path], v); err != nil {
			t.Fatal(err)
		}
	}
	for _, u := range units.Units {
		for _, of := range []string{"", "/load", "/figures", "/checks"} {
			ask("/api/v1/units/" + u.ID + of)
		}
		ask("/api/v1/strips/gate?process=c41&unit=" + url.QueryEscape(u.ID))
	}
	for _, r := range runs.Runs {
		for _, of := range []string{"", "/entries", "/report"} {
			ask("/api/v1/runs/" + r.ID + of)
		}
	}
	for _, x := range alerts.Alerts {
		ask("/api/v1/alerts/" + x.ID)
	}
	return out
}

// clockSlackS is by how much what moves with the clock may differ: the older
// program made its views each second, and was asked one thing after another.
const clockSlackS = 4

// movesWithClock are the fields that say how long it has been or will be.
var movesWithClock = []string{"elapsed_s", "remaining_s", "ends_at", "age_s", "at", "since", "due_at", "act_at", "until"}

// foldedAgainSays are the fields that may differ where a unit was folded again
// from its telemetry: what was noticed is taken as noticed with the message that
// showed it, a moment before the program looked; and whether an idle unit is
// offline is judged by the time that the program itself has listened.
var foldedAgainSays = []string{"noticed_at", "link"}

// levelsAreEstimated are the fields that said what a probe read last, and say
// what the container is estimated to hold (rules/levels.go). The probes of the
// fixtures have a noise of 0.03 L, of bottles 0.015: a reading lies within four of
// that of the best estimate.
var levelsAreEstimated = map[string]float64{"litres": 0.12, "has_l": 0.12, "fraction": 0.12 / 18.9}

// jobsSince are the jobs that the older programs did not know of: a unit is
// looked after, where somebody once wrote that it was.
var jobsSince = []string{"check hoses and couplings"}

func jobSince(v any) bool {
	job, ok := v.(map[string]any)
	what, _ := job["what"].(string)
	return ok && slices.Contains(jobsSince, what)
}

// unlike lists what an older answer says and one of today does not. What is
// said in addition is no difference.
func unlike(path string, was, is any) []string {
	switch w := was.(type) {
	case map[string]any:
		i, ok := is.(map[string]any)
		if !ok {
			return []string{fmt.Sprintf("%s: was an object, is %v", path, is)}
		}
		var out []string
		for _, key := range slices.Sorted(maps.Keys(w)) {
			v, there := i[key]
			if !there && w[key] != nil {
				out = append(out, fmt.Sprintf("%s.%s: was %v, is missing", path, key, w[key]))
				continue
			}
			out = append(out, unlike(path+"."+key, w[key], v)...)
		}
		return out
	case []any:
		i, ok := is.([]any)
		i = slices.DeleteFunc(slices.Clone(i), jobSince)
		if !ok || len(i) != len(w) {
			return []string{fmt.Sprintf("%s: was a list of %d, is %.200v", path, len(w), is)}
		}
		var out []string
		for k := range w {
			out = append(out, unlike(fmt.Sprintf("%s[%d]", path, k), w[k], i[k])...)
		}
		return out
	}
	if was == is || moved(path, was, is) || estimated(path, was, is) {
		return nil
	}
	return []string{fmt.Sprintf("%s: was %v, is %v", path, was, is)}
}

// moved tells whether two values of a field differ by the clock alone.
func moved(path string, was, is any) bool {
	if !slices.Contains(movesWithClock, path[strings.LastIndexByte(path, '.')+1:]) {
		return false
	}
	if w, ok := was.(float64); ok {
		i, ok := is.(float64)
		return ok && math.Abs(w-i) <= clockSlackS
	}
	w, wOK := was.(string)
	i, iOK := is.(string)
	wT, wErr := time.Parse(time.RFC3339, w)
	iT, iErr := time.Parse(time.RFC3339, i)
	return wOK && iOK && wErr == nil && iErr == nil && wT.Sub(iT).Abs() <= clockSlackS*time.Second
}

// estimated tells whether two levels differ by the noise of a probe alone.
func estimated(path string, was, is any) bool {
	slack, ok := levelsAreEstimated[path[strings.LastIndexByte(path, '.')+1:]]
	w, wOK := was.(float64)
	i, iOK := is.(float64)
	return ok && wOK && iOK && math.Abs(w-i) <= slack
}
