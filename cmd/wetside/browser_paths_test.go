package main

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/monitor/monitortest"
)

// The ways of a person through the pages, with everything behind them real: a
// lab that is set up, watched, loaded, emptied, judged and handed over. The
// subtests are one story and share one wetside and one browser.
func TestPagesInABrowser(t *testing.T) {
	t.Parallel()
	s := newStage(t)
	for _, part := range []struct {
		name string
		run  func(*testing.T, *stage)
	}{
		{"set-up", setUpPath}, {"board", boardPath}, {"sign-in", signInPath}, {"alerts", alertsPath},
		{"load", loadPath}, {"containers", containersPath}, {"runs", runsPath}, {"duty", dutyPath},
		{"settings", settingsPath}, {"measures", measuresPath}, {"a page on a phone", phonePath},
		{"figures and hand-over", figuresPath}, {"for all eyes and hands", eyesAndHands}, {"the wall", wallSizes},
		{"people", peoplePath},
	} {
		t.Run(part.name, func(t *testing.T) { part.run(t, s) })
		if part.name == "set-up" && t.Failed() {
			t.Fatal("nobody can sign in; the rest is not tried")
		}
	}
}

// Nobody can sign in yet: the first one to come becomes the lead.
func setUpPath(t *testing.T, s *stage) {
	p := s.page.with(t)
	p.run("open", chromedp.Navigate(s.program.URL()))
	p.says("body", "Set up")
	p.fill("", "Name", "ana")
	p.fill("", "Password", anasPassword)
	p.fill("", "code", s.code)
	p.fill("", "again", "something else here")
	p.run("enter", chromedp.KeyEvent(kb.Enter))
	p.says("[role=alert]", "not the same")
	p.fill("", "again", anasPassword)
	p.run("enter", chromedp.KeyEvent(kb.Enter))
	p.gone("input[name=again]")
	s.api = monitortest.NewAPI(s.page.t, s.program.URL(), s.store)
	must(t, s.api, "POST", "/api/v1/users", `{"name":"wren","role":"operator","password":"another long password"}`, 201)

	p.says("h1", "First steps")
	p.press("main", "It is ")
	p.says("#step-title", "Units")
	p.says("main .once", strings.TrimPrefix(s.broker, "mqtt://")) // the true one: this lab has a broker of its own
	morning(s.page.t, s.broker)
	plover := "li:has(a[href*=plover])"
	p.fill(plover, "What do you call it?", "Plover")
	p.press(plover, "Accept it")
	p.says("#step-title", "Who is called")
	p.says("main", "Mail cannot be sent yet: mail is not set up; start wetside with --mail-server")
	p.press("main", "Call me, always")
	p.says("main", "On now: ana")
	hook, got := monitortest.HookReceiver(s.page.t, hookSecret)
	p.fill("main", "Webhook", hook)
	p.press("main", "Sign it with a key of your own")
	p.fill("main", "Key, whsec_", hookSecret)
	p.press("main", "Save")
	p.press("main", "Send me a test page")
	if page := labtest.Receive(t, got, "the test page"); page.Kind != "page.test" || page.Data.Person != "ana" {
		t.Errorf("the first page is %+v; want a test for ana", page)
	}
	p.says("#step-title", "The wall")
	p.says("main", "No other machine can open the board yet. Start wetside with --listen")
	p.press("main", "Skip it for now")
	p.run("it ends with the board", chromedp.WaitVisible(chromedp.CSS(".board")))
}

// Units that publish have lanes; those that are new are accepted.
func boardPath(t *testing.T, s *stage) {
	p := s.page.with(t)
	p.goTo("board")
	p.until("seven units have lanes", `document.querySelectorAll(".lane").length >= 7`)
	p.says(lane("plover"), "Plover")
	p.says(lane("heron"), "New here")
	p.press(lane("heron"), "Accept")
	p.gone(lane("heron") + " .newcomer")
	s.accept(t, "avocet", "dunlin", "curlew", "turnstone", loadedUnit)
	p.gone(".newcomer")
	p.until("runs are drawn with their baths", `document.querySelectorAll(".lane .film .frame").length > 6 && document.querySelector(".trace .inside[d]")`)
	p.says(".foot", "it is no safety device")
}

// A wrong password is told, the right one opens the board.
func signInPath(t *testing.T, s *stage) {
	p := s.page.with(t).another(390, 844)
	p.run("open", chromedp.Navigate(s.program.URL()))
	p.says("h1", "Sign in")
	p.fill("", "Name", "wren")
	p.fill("", "Password", "not the password")
	p.run("enter", chromedp.KeyEvent(kb.Enter))
	p.until("it is refused", `document.querySelector("[role=alert]")?.innerText.length > 5`)
	p.fill("", "Password", "another long password")
	p.press("", "Sign in")
	p.run("the board", chromedp.WaitVisible(chromedp.CSS(".board")))
	p.press(".bar", "More")
	p.press(".screenpanel", "Sign out")
	p.says("h1", "Sign in")
}

// Faults of the simulator become alerts: one is acknowledged by a click, one
// with the keyboard, one is shelved with a reason and taken off the shelf.
func alertsPath(t *testing.T, s *stage) {
	p := s.page.with(t)
	p.goTo("board")
	for _, u := range []string{"redshank", "greenshank", "ruff"} {
		aborts(s.page.t, s.broker, u)
		s.accept(t, u)
	}
	for _, u := range []string{"redshank", "greenshank", "ruff"} {
		p.run(u+" has an alert", chromedp.WaitVisible(chromedp.CSS(lane(u)+" .alert.urgent")))
	}
	p.press(lane("redshank"), "Acknowledge")
	p.says(lane("redshank")+" .seen", "acknowledged by ana")
	p.key(lane("greenshank"), "Acknowledge", kb.Enter)
	p.says(lane("greenshank")+" .seen", "acknowledged by ana")

	p.press(lane("ruff"), "More")
	p.fill(lane("ruff")+" .shelve", "minutes", "20")
	p.fill(lane("ruff")+" .shelve", "reason", "waits for a hose")
	p.press(lane("ruff")+" .shelve", "Shelve it")
	p.says(lane("ruff")+" .seen", "waits for a hose")
	var held []lab.Alert
	for _, a := range s.api.Alerts("&open=true&unit=tern-street/ruff") {
		if a.ShelvedUntil != nil && a.ShelvedBy == "ana" {
			held = append(held, a)
		}
	}
	if len(held) != 1 {
		t.Errorf("%d alerts of ruff are on the shelf; want 1", len(held))
	}
	p.press(lane("ruff"), "shelved until")
	p.press(lane("ruff"), "Unshelve")
	p.run("it wants somebody again", chromedp.WaitVisible(chromedp.CSS(lane("ruff")+" .alert.urgent")))
	p.press(lane("ruff"), "Acknowledge")
	p.says(lane("ruff")+" .seen", "acknowledged by ana")

	p.goTo("alerts")
	p.press("", "All")
	p.says("ol.rows", "ruff")
	p.run("one alert whole", chromedp.Click(p.spot("ol.rows li:has(a[href*=ruff]) a[href*='#/alerts/']", "")))
	p.says("main", "shelved")
	p.says("main", "waits for a hose")
}

// Rolls are scanned; the odd one stops, also when it is scanned again, is mended
// by an answer, and goes.
func loadPath(t *testing.T, s *stage) {
	p := s.page.with(t)
	p.goTo("load")
	p.says("h1", "Load a unit")
	p.run("the field has the focus", chromedp.Focus(p.field("main", "Scan the unit's label")))
	p.scan(loadedUnit)
	p.says("h1", "Load "+loadedUnit)
	p.until("the field has the focus", `document.activeElement?.tagName === "INPUT"`)
	p.scan("1001")
	p.says(".rollrows", "1001")
	p.scan("1002")
	p.says(".rollrows", "1002")
	p.choose(".rollrows li:first-child", "For", "C-41 +1") // the last one scanned stands on top
	p.run("check", chromedp.Focus(p.field("main", "Scan each roll")), chromedp.KeyEvent(kb.Enter))
	p.says(".gostop", "STOP")
	p.says(".gsodd", "1002")
	// Scanned again without its card it is still the odd one.
	p.press(".gostop", "Change the rolls")
	p.press(".rollrows li:first-child", "Remove")
	p.run("the field for rolls", chromedp.Focus(p.field("main", "Scan each roll")))
	p.scan("1002")
	p.says(".rollrows li:first-child", "the odd one")
	p.press("main", "Check: go or stop?")
	p.says(".gostop h1", "STOP")
	// Said otherwise, it is asked about; the answer counts.
	p.press(".gostop", "Change the rolls")
	p.choose(".rollrows li:first-child", "For", "C-41")
	p.press("main", "Check: go or stop?")
	p.says(".gostop", "Roll 1002 is known as C-41 push 1")
	p.press(".gsask", "What is said now: C-41")
	p.says(".gostop h1", "GO")
	p.gone(".gsodd")
	var unit lab.Unit
	if !s.api.Get("/api/v1/units/tern-street/"+loadedUnit, &unit) || unit.Load == nil || len(unit.Load.Rolls) != 2 {
		t.Errorf("after GO the unit carries %+v; want two rolls", unit.Load)
	}
}

// The waste is emptied by two presses, and one takes it back.
func containersPath(t *testing.T, s *stage) {
	p := s.page.with(t)
	p.goTo("board")
	litres := func() float64 {
		var u lab.Unit
		if s.api.Get("/api/v1/units/tern-street/heron", &u) {
			for _, c := range u.Containers {
				if c.Name == "waste" && c.Litres != nil {
					return *c.Litres
				}
			}
		}
		return -1
	}
	p.press(lane("heron"), "waste of")
	p.says("dialog.sheet", "heron: waste")
	p.press("dialog.sheet", "Emptied")
	p.says(".undotoast", "Undo")
	labtest.Poll(t, "the event is entered", func() bool { return strings.Contains(events(s, "heron", "waste"), `"taken_back":null`) })
	p.press(".undotoast", "Undo")
	labtest.Poll(t, "the event is taken back", func() bool {
		e := events(s, "heron", "waste")
		return e != "" && !strings.Contains(e, `"taken_back":null`)
	})
	was := litres()
	if was < 0 {
		t.Error("the level of the waste is not known any more")
	}
	// a dipstick says otherwise than the sensor: the sheet says at once which
	// is used, and why; the lane shows it
	p.press(lane("heron"), "waste of")
	p.fill("dialog.sheet", "It holds", fmt.Sprintf("%.1f", was+3))
	p.press("dialog.sheet", "Set the level")
	p.says("dialog.sheet .measured", fmt.Sprintf("Measured by hand: %.1f", was+3))
	p.says("dialog.sheet .measured", "your measurement is used, plus what the sensor shows")
	if now := litres(); math.Abs(now-was-3) > 0.6 {
		t.Errorf("the waste holds %g L; %g L were measured", now, was+3)
	}
	p.press("dialog.sheet", "Close")
}

func events(s *stage, unit, container string) string {
	_, b, _ := s.api.Do("GET", "/api/v1/units/tern-street/"+unit+"/containers/"+container+"/events", "")
	return string(b)
}
