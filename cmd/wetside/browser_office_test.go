package main

import (
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/monitor/monitortest"
)

// A roll is scanned into a finished run and found again by its number; the
// report takes a seen fault, gives causes, and a decision; the PDF is one.
func runsPath(t *testing.T, s *stage) {
	p := s.page.with(t)
	run := offRun(t, s)
	p.goTo("runs")
	p.says("h1", "Runs")
	p.until("runs are listed", `document.querySelectorAll(".runrow").length > 0`)
	p.goTo("runs/" + run.ID)
	p.says(".runslip", run.Run)
	p.run("the timeline is drawn", chromedp.WaitVisible(chromedp.CSS("article.report svg")))
	p.run("the field for rolls", chromedp.Focus(p.field("article", "Scan a roll")))
	p.scan("7001")
	p.says(".rolllist", "7001")

	p.until("faults can be chosen", `[...document.querySelectorAll("select[name=seen] option")].length > 2`)
	label := value[string](p, `document.querySelectorAll("select[name=seen] option")[1].text`)
	p.choose("article", "The film shows", label)
	p.run("the roll that shows it", chromedp.Click(p.spot("article .ticks label", "7001")))
	p.press("article", "Find causes")
	p.says(".seenfault h3", label+", on roll 7001")
	p.until("it says what may have caused it", `document.querySelector(".seenfault").innerText.length > 60`)

	p.press("article", "Hold")
	p.fill("article form:has(.cards)", "note", "a person looks at 7001")
	p.press("article", "Enter the decision")
	p.says(".decided .big", "Hold")
	p.says("article", "a person looks at 7001")

	p.goTo("runs")
	p.run("the one field", chromedp.Focus(p.field("main", "Scan or type")))
	p.scan("7001")
	p.until("the only run that carried it opens", `decodeURIComponent(location.hash) === `+quote("#/runs/"+run.ID))
	p.says(".rolllist", "7001")
	if status, head := fetched(p, value[string](p, `document.querySelector(".doors a[href$='report.pdf']").getAttribute("href")`)); status != 200 || !strings.HasPrefix(head, "%PDF-") {
		t.Errorf("the PDF answers %d %q", status, head)
	}
	if status, head := fetched(p, value[string](p, `document.querySelector(".doors a[href$='trace.csv']").getAttribute("href")`)); status != 200 || head == "" {
		t.Errorf("the readings answer %d %q", status, head)
	}
	var now lab.Run
	if !s.api.Get("/api/v1/runs/"+run.ID, &now) || now.Decision == nil || now.Decision.Decision != "hold" || twinChecksOf(now) != "7001" {
		t.Errorf("the run has decision %+v and rolls %q; want hold, 7001", now.Decision, twinChecksOf(now))
	}
}

// offRun is a finished run of film that something was off with, or any.
func offRun(t *testing.T, s *stage) (found lab.Run) {
	t.Helper()
	labtest.Poll(t, "a run of film has ended", func() bool {
		var got struct{ Runs []lab.Run }
		if !s.api.Get("/api/v1/runs?limit=1000", &got) {
			return false
		}
		// The best to look at has a reason and a push error.
		worth := func(r lab.Run) int {
			w := min(1, len(r.Reasons))
			if r.PushErrorStops != nil {
				w += 2
			}
			return w
		}
		for _, r := range got.Runs {
			if r.Kind == lab.KindOfRunFilm && r.Outcome == lab.OutcomeDone && (found.ID == "" || worth(r) > worth(found)) {
				found = r
			}
		}
		return found.ID != ""
	})
	return found
}

// Nobody is on call and the page says so; a plan is made and saved, and then
// it names who is on.
func dutyPath(t *testing.T, s *stage) {
	p := s.page.with(t)
	p.goTo("duty")
	p.says(".onnow", "ana") // since the first steps
	p.press("main", "Change hours and steps")
	p.press(".planedit", "Remove line 1")
	p.press(".planedit", "Add hours")
	if !value[bool](p, `document.querySelector(".onlist").innerText.includes("wren")`) {
		p.choose(".hoursline", "Add a person", "wren")
	}
	for value[int](p, `document.querySelectorAll(".onlist [aria-label^='Remove ana']").length`) > 0 {
		p.press(".onlist", "Remove ana from")
	}
	p.press(".planedit", "Save the plan")
	p.gone(".planedit")
	p.says(".warnings", "Nobody is on call from")
	p.press("main", "Change hours and steps")
	for _, day := range []string{"Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"} {
		if !value[bool](p, `document.querySelector('.daysfield [aria-label="`+day+`"]').ariaPressed === "true"`) {
			p.press(".daysfield", day)
		}
	}
	p.fill(".hoursline", "From", "00:00")
	p.fill(".hoursline", "To", "24:00")
	p.fill(".planedit", "Time zone of the lab", "Europe/Nowhere")
	p.press(".planedit", "Save the plan")
	p.until("the wrong zone is refused", `[...document.querySelectorAll(".planedit [role=alert]")].some((e) => e.innerText.includes("Nowhere"))`)
	p.fill(".planedit", "Time zone of the lab", "Europe/London")
	p.press(".planedit", "Save the plan")
	p.gone(".planedit")
	p.says(".onnow", "wren")
	const cannot = "cannot be reached: no contact method is set"
	p.says(".warnings", "wren is in the plan and "+cannot)
	p.says(".onnow .unreach", cannot)
	p.goTo("board")
	p.says(".faults .loud", "wren is on call and "+cannot)
	p.press(".faults .loud", "Fix it")

	// a swap stands in the drawing, in both rows
	p.choose("[aria-label='Swaps for a day']", "Off", "wren")
	p.choose("[aria-label='Swaps for a day']", "In their place", "ana")
	p.press("[aria-label='Swaps for a day']", "Enter the swap")
	p.says(".onnow", "ana")
	p.until("wren is off and ana stands in", `[...document.querySelectorAll(".weekrow")].filter((r) => r.innerText.startsWith("wren") && r.querySelector(".offbar") || r.innerText.startsWith("ana") && r.querySelector(".inbar")).length === 2`)
	p.press("main .weekturn", "Next week")
	p.until("next week has no swap", `!document.querySelector(".week .offbar, .week .inbar")`)
	p.press("[aria-label='Swaps for a day'] ul", swapUndo)
	p.says(".onnow", "wren")
	hooks(s.page.t, s, "wren")
}

// swapUndo is what the button says that ends a swap.
const swapUndo = "Undo"

// A lead changes what somebody may do, gives them a new password and removes
// them; what they did stays under their name.
func peoplePath(t *testing.T, s *stage) {
	p := s.page.with(t)
	const first, second = "a first password of kit", "a second password of kit"
	kit := *s.api
	signIn := func(password string) int {
		code, cookie := monitortest.SignIn(t, s.program.URL(), "kit", password)
		kit.Cookie = cookie
		return code
	}
	code := func(method, path, body string) int {
		t.Helper()
		c, b, err := kit.Do(method, path, body)
		if err != nil || c >= 500 {
			t.Fatalf("%s %s: %d %s %v", method, path, c, b, err)
		}
		return c
	}
	p.goTo("settings/people")
	p.fill("main", "Name", "kit")
	p.fill("main", "First password", first)
	p.press("main", "Add kit")
	p.says("main ul.lines", "kit")
	if c := signIn(first); c != 200 {
		t.Fatalf("kit signs in: %d", c)
	}
	aborts(s.page.t, s.broker, "knot")
	var open []lab.Alert
	labtest.Poll(t, "knot has an alert", func() bool {
		open = slices.DeleteFunc(s.api.Alerts("&open=true&unit=tern-street/knot"), func(a lab.Alert) bool { return a.State != lab.Unacknowledged })
		return len(open) > 0
	})
	alert := "/api/v1/alerts/" + open[0].ID
	if c := code("POST", alert+"/acknowledge", `{"note":"hose is back"}`); c != 200 {
		t.Fatalf("kit acknowledges: %d", c)
	}
	const event = "/api/v1/units/tern-street/knot/containers/waste/events"
	if c := code("POST", event, `{"what":"emptied"}`); c != 201 {
		t.Fatalf("kit empties the waste: %d", c)
	}

	const kitRow = "main li[data-person=kit]"
	p.press(kitRow, "Change")
	p.choose(kitRow, "Role", "viewer")
	p.says("main ul.lines", "kit is viewer now")
	if c := code("POST", event, `{"what":"emptied"}`); c != 403 {
		t.Errorf("kit, a viewer now, empties the waste: %d; want 403", c)
	}
	p.fill(kitRow, "New password for kit", second)
	p.press(kitRow, "Set it")
	p.says(kitRow+" .said", "signs in with the new password")
	if c := code("GET", "/api/v1/units", ""); c != 401 {
		t.Errorf("kit's old sign-in: %d; want 401", c)
	}
	if old, now := signIn(first), signIn(second); old != 401 || now != 200 {
		t.Errorf("the old password gives %d, the new one %d; want 401 and 200", old, now)
	}
	value[any](p, `window.confirm = () => true`)
	p.press(kitRow, "Remove kit")
	p.until("kit is gone from the list", `![...document.querySelectorAll("main ul.lines > li > b")].some((b) => b.innerText === "kit")`)
	if c := code("GET", "/api/v1/units", ""); c != 401 {
		t.Errorf("kit's sign-in, removed: %d; want 401", c)
	}
	if c := signIn(second); c != 401 {
		t.Errorf("kit, removed, signs in: %d; want 401", c)
	}

	// the work stays under the name
	a := s.api.Alerts("")
	if !slices.ContainsFunc(a, func(a lab.Alert) bool { return a.ID == open[0].ID && a.AcknowledgedBy == "kit" }) {
		t.Errorf("the alert that kit acknowledged: %+v", a)
	}
	p.goTo("alert/" + open[0].ID)
	p.says("main", "kit")
	var history struct{ Events []struct{ By string } }
	if !s.api.Get(event, &history) || !slices.ContainsFunc(history.Events, func(e struct{ By string }) bool { return e.By == "kit" }) {
		t.Errorf("the waste that kit emptied: %+v", history)
	}
}

// The figures of the alerting and the sheet for the next shift.
func figuresPath(t *testing.T, s *stage) {
	p := s.page.with(t)
	p.goTo("figures")
	p.says("h1", "How the alerting does")
	p.says(".inshort", "alerts")
	p.says("table.rulefigures", "bath too warm") // plover's, half an hour ago
	p.press("main", "24 hours")
	p.says(".inshort", "alerts")
	p.goTo("hand-over")
	p.says("h1", "Hand-over")
	p.says("[aria-label='Open alerts']", "redshank")
	p.says("[aria-label='Where a person is needed next']", "dryer")
	p.goTo("start")
	p.says("[aria-label='"+loadedUnit+"']", "waste")
}

// Each person's own measures: °F and US gallons, and they stay after a reload.
func measuresPath(t *testing.T, s *stage) {
	p := s.page.with(t)
	p.goTo("board")
	p.press(".bar", "More")
	p.press(".screenpanel", "°F")
	p.press(".screenpanel", "US gallons")
	p.run("close", chromedp.KeyEvent(kb.Escape))
	p.until("baths are in °F", `[...document.querySelectorAll(".bath .now")].some((e) => e.innerText.includes("°F") || parseFloat(e.innerText) > 60)`)
	p.press(lane("heron"), "waste of")
	p.says("dialog.sheet", "gal")
	p.press("dialog.sheet", "Close")
	labtest.Poll(t, "the choice is kept with the person", func() bool {
		return value[string](p, `fetch("/api/v1/me/preferences").then((r) => r.text())`) != "" &&
			strings.Contains(value[string](p, `fetch("/api/v1/me/preferences").then((r) => r.text())`), "gal")
	})
	p.run("reload", chromedp.Reload())
	p.until("baths are still in °F", `[...document.querySelectorAll(".bath .now")].some((e) => e.innerText.includes("°F") || parseFloat(e.innerText) > 60)`)
	p.press(".bar", "More")
	p.press(".screenpanel", "°C")
	p.press(".screenpanel", "Liters")
	p.until("and back", `[...document.querySelectorAll(".bath .now")].every((e) => parseFloat(e.innerText) < 60 || !e.innerText)`)
}
