package web

import (
	"encoding/json"
	"net/http"
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
)

// into sends a request and reads the answer.
func into[T any](x *site, method, path, role, body string, want int, edit ...func(*http.Request)) (v T) {
	x.t.Helper()
	resp, b := x.do(method, apiBase+path, role, body, edit...)
	if resp.StatusCode != want {
		x.t.Fatalf("%s %s: %d %s, want %d", method, path, resp.StatusCode, b, want)
	}
	if err := json.Unmarshal(b, &v); err != nil {
		x.t.Fatalf("%s %s: %v: %s", method, path, err, b)
	}
	return v
}

func (x *site) count() int { defer x.Lock()(); return len(x.entries) }

type fixedClock struct{}

func (fixedClock) Now() time.Time { return t0.Add(time.Minute) }

func TestRequestsHaveNames(t *testing.T) {
	x := newSite(t, newShop().stock())
	before := x.count()
	named := func(r *http.Request) { r.Header.Set("Idempotency-Key", "press-1") }
	path := "/units/tern-street/plover/containers/waste/events"
	first := into[ContainerEventView](x, "POST", path, lab.RoleOperator, `{"what":"emptied"}`, 201, named)
	again := into[ContainerEventView](x, "POST", path, lab.RoleOperator, `{"what":"emptied"}`, 201, named)
	if first.ID != again.ID || x.count() != before+1 {
		t.Errorf("sent again under its name: %s and %s, %d entries more; want one", first.ID, again.ID, x.count()-before)
	}
	resp, b := x.do("POST", apiBase+path, lab.RoleOperator, `{"what":"swapped"}`, named)
	if resp.StatusCode != 409 {
		t.Errorf("other content under the same name: %d %s; want 409", resp.StatusCode, b)
	}
	byAnother := into[ContainerEventView](x, "POST", path, lab.RoleLead, `{"what":"swapped"}`, 201, named)
	if byAnother.ID == first.ID {
		t.Error("a name given by one person stands for a request of another")
	}
}

func TestUndo(t *testing.T) {
	x := newSite(t, newShop().stock())
	path := "/units/tern-street/plover/containers/waste/events"
	made := into[ContainerEventView](x, "POST", path, lab.RoleOperator, `{"what":"set","litres":7.5,"note":"read by eye"}`, 201)
	if made.Litres == nil || *made.Litres != 7.5 || made.TakenBack != nil || made.Container != "waste" {
		t.Errorf("made %+v", made)
	}
	back := into[ContainerEventView](x, "DELETE", path+"/"+made.ID, lab.RoleLead, "", 200)
	if back.TakenBack == nil || back.TakenBack.By != "the lead" {
		t.Errorf("taken back: %+v", back)
	}
	list := into[ContainerEventList](x, "GET", path, lab.RoleViewer, "", 200).Events
	if len(list) != 2 || list[0].ID != made.ID || list[0].TakenBack == nil || list[1].ID != "emptied" || list[1].TakenBack != nil {
		t.Errorf("listed: %+v", list)
	}
	resp, _ := x.do("DELETE", apiBase+"/units/tern-street/heron/containers/waste/events/"+made.ID, lab.RoleOperator, "")
	if resp.StatusCode != 404 {
		t.Errorf("an event of plover taken back as heron's: %d; want 404", resp.StatusCode)
	}
	resp, b := x.do("DELETE", apiBase+"/entries/probe", lab.RoleOperator, "")
	if resp.StatusCode != 403 || !strings.Contains(string(b), "lead") {
		t.Errorf("an operator takes a probe check back: %d %s; want 403", resp.StatusCode, b)
	}
	all := into[EntryList](x, "GET", "/entries?what=container&limit=1", lab.RoleViewer, "", 200).Entries
	if len(all) != 1 || all[0].ID != made.ID || all[0].Body["litres"] != 7.5 {
		t.Errorf("entries: %+v", all)
	}
}

// Until reports are wired the run's readings are given as they are stored.
func TestTraceWithoutReports(t *testing.T) {
	x := newSite(t, newShop().stock(), func(c *Config) { c.Reports = nil })
	for _, path := range []string{"/runs/run-1/report", "/runs/run-1/report.pdf"} {
		resp, b := x.do("GET", apiBase+path, lab.RoleViewer, "")
		if resp.StatusCode != 503 || !strings.Contains(string(b), "not ready") {
			t.Errorf("%s: %d %s; want 503", path, resp.StatusCode, b)
		}
		checkProblem(t, resp, b)
	}
	resp, b := x.do("GET", apiBase+"/runs/run-1/trace.csv", lab.RoleViewer, "")
	want := "at,bath_c,preheat_c,wash_c,dryer_c,room_c\r\n2026-03-01T09:30:00.000Z,37.9,,,,\r\n"
	if resp.StatusCode != 200 || string(b) != want || !strings.HasPrefix(resp.Header.Get("Content-Type"), "text/csv") {
		t.Errorf("trace.csv: %d %q %q; want %q", resp.StatusCode, resp.Header.Get("Content-Type"), b, want)
	}
}

func TestProblemsOfEntriesSayWhatIsRight(t *testing.T) {
	x := newSite(t, newShop().stock())
	for _, c := range []struct {
		path, body string
		says       []string
	}{
		{"/units/tern-street/plover/load", `{"process":"c41","rolls":[{"twin_check":"7"},{"twin_check":" 7"}]}`, []string{"body.rolls[1]", "roll 7", "number 1"}},
		{"/units/tern-street/plover/load", `{"process":"c41","rolls":[{"twin_check":"7/8"}]}`, []string{"body.rolls[0]", "7/8", "digits and letters"}},
		{"/units/tern-street/plover/load", `{"process":"c41","rolls":[{"twinchek":"7"}]}`, []string{"twin_check", "required"}},
		{"/units/tern-street/plover/containers/waste/events", `{"what":"kicked"}`, []string{"body.what", "emptied"}},
		{"/units/tern-street/plover/containers/waste/events", `{"what":"set","litres":30}`, []string{"30", "waste", "18.9"}},
		{"/units/tern-street/plover/containers/waste/events", `{"what":"emptied","at":"2999-01-01T00:00:00Z"}`, []string{"still to come"}},
		{"/runs/run-1/rolls", `{"remove":["x y"]}`, []string{"body.remove[0]", "x y"}},
		{"/runs/run-1/symptoms", `{"seen":"green"}`, []string{"green", "c41", "thin"}},
		{"/runs/run-1/statements", `{"what":"turned-by-hand","from":"` + within(time.Minute) + `","to":"` + within(time.Minute) + `"}`, []string{"from", "not before to"}},
		{"/runs/run-1/statements", `{"what":"drained","from":"` + within(time.Minute) + `"}`, []string{"drained takes at"}},
		{"/runs/run-1/statements", `{"what":"drained","at":"` + within(-time.Hour) + `"}`, []string{"body.at", "before the run"}},
		{"/runs/run-1/statements", `{"what":"drained","at":"` + within(3*time.Hour) + `"}`, []string{"body.at", "after the run"}},
		{"/units/tern-street/plover/figures", `{"probe":{"offset_c":0},"house_aim":{"process":"c41","step":"developer","equivalent_s":1}}`, []string{"exactly one"}},
		{"/units/tern-street/plover/figures", `{"house_aim":{"process":"c4l","step":"developer","equivalent_s":190}}`, []string{"c4l", "c41"}},
		{"/units/tern-street/plover/figures", `{"house_aim":{"process":"c41","step":"fixer","equivalent_s":190}}`, []string{"fixer", "developer"}},
		{"/units/tern-street/plover/figures", `{"developer":{"process":"bw","step":"developer","developer":"nope"}}`, []string{"nope", "GET /developers"}},
		{"/units/tern-street/plover/figures", `{"probe":{"offset_c":9}}`, []string{"offset_c", "5"}},
		{"/units/tern-street/plover/step-names", `{"process":"c4l","name":"dev-1"}`, []string{"c4l", "c41"}},
		{"/units/tern-street/plover/step-names", `{"process":"c41","name":"fixer","step":"bleach"}`, []string{"body.name", "fixer", "already"}},
		{"/units/tern-street/plover/step-names", `{"process":"c41","name":"dev-1","step":"develop"}`, []string{"body.step", "develop", "wash-1"}},
		{"/units/tern-street/plover/step-names", `{"process":"c41","name":"dev-1","run":"run-none"}`, []string{"body.run", "run-none"}},
		{"/units/tern-street/plover/step-names", `{"process":"bw","name":"dev-1","run":"run-1"}`, []string{"body.run", "c41", "bw"}},
	} {
		resp, b := x.do("POST", apiBase+c.path, lab.RoleLead, c.body)
		if resp.StatusCode != 422 {
			t.Errorf("%s %s: %d %s; want 422", c.path, c.body, resp.StatusCode, b)
			continue
		}
		checkProblem(t, resp, b)
		var p struct{ Detail string }
		_ = json.Unmarshal(b, &p) // checked above
		for _, s := range c.says {
			if !strings.Contains(p.Detail, s) {
				t.Errorf("%s: detail %q does not say %q", c.path, p.Detail, s)
			}
		}
	}
}
