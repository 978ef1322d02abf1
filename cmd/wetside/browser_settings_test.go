package main

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"wetside/internal/lab"
	"wetside/internal/labtest"
)

// What a lab sets: closed and open, a figure of a sheet, a link for a screen
// on a wall that only looks and can be withdrawn; and the record of it all.
func settingsPath(t *testing.T, s *stage) {
	p := s.page.with(t)
	p.goTo("settings/house")
	p.says("h1", "Settings")
	p.press("main", "Close the lab")
	p.says(".openclosed .big", "Closed")
	p.press("main", "Open the lab")
	p.says(".openclosed .big", "Open")

	p.goTo("settings/sheets/c41")
	p.says("table.sheetfigures", "Developer")
	p.fill("main", "Time (m:ss)", "3:20")
	p.says("pre.yaml", "200")
	p.press("main", "Save the change")
	p.says("table.sheetfigures", "3:20")
	p.says("main ol.lines", "ana")
	// limits wider than the published ones (Kodak Z-131, table 4-1: 37.8 +/- 0.15 °C) want a reason
	code, b, err := s.api.Do("PUT", "/api/v1/sheets/c41", `{"text":"id: c41\nsteps:\n  - {id: developer, limits_c: [37.4, 38.2]}\n"}`)
	if err != nil || code != 422 || !strings.Contains(string(b), "published 37.65 to 37.95") {
		t.Errorf("limits widened without a reason: %d %s %v", code, b, err)
	}
	p.fill("main", "To, °C", "38.2")
	p.says("main form", "Why wider than 37.65 to 37.95")
	p.fill("main", "Why wider than", "our strips stay in control to here")
	p.press("main", "Save the change")
	p.says("table.sheetfigures", "38.2")
	var sheets struct {
		Sheets []struct {
			ID    string
			Steps []struct {
				Step    string
				Sources []struct{ Figure, From, Standing string }
			}
		}
	}
	if !s.api.Get("/api/v1/sheets", &sheets) {
		t.Fatal("the sheets cannot be read")
	}
	for _, sheet := range sheets.Sheets {
		for _, st := range sheet.Steps {
			for _, src := range st.Sources {
				if sheet.ID == "c41" && st.Step == "developer" && strings.Contains(src.Figure, "limits_c") && (src.From != "our strips stay in control to here" || src.Standing != "the lab's own") {
					t.Errorf("the widened limits cite %+v", src)
				}
			}
		}
	}
	p.press("main", "Back to the built-in sheet")
	p.says("table.sheetfigures", "3:15") // the maker's time of C-41's developer at 37.8 °C

	wallPath(t, s, p)

	p.goTo("settings/changes")
	p.says("main ol.lines", "ana")
	var settings lab.LabSettings
	if !s.api.Get("/api/v1/house", &settings) || settings.Closed {
		t.Errorf("the lab is %+v; want open", settings)
	}
}

// wallPath opens the link of a wall in a browser that nobody signed in at.
func wallPath(t *testing.T, s *stage, p page) {
	t.Helper()
	p.goTo("settings/screens")
	p.fill("main", "Where does the screen hang?", "by the sinks")
	p.press("main", "Make a link")
	p.says(".once code", "/#/wall?key=")
	link := value[string](p, `document.querySelector(".once code").innerText.trim()`)
	wall := p.another(1920, 1080)
	wall.run("open the link", chromedp.Navigate(link))
	wall.until("the board is there", `document.querySelectorAll(".lane").length > 3`)
	if got := value[[]any](wall, `[document.querySelectorAll("main button, input, select, a").length, location.hash.includes("key=")]`); got[0] != 0.0 || got[1] != false {
		t.Errorf("the wall has %v buttons and fields besides the way to the pages, and its key stands in the address: %v; want 0, false", got[0], got[1])
	}
	if code := value[int](wall, `fetch("/api/v1/house/closed", { method: "POST", headers: { "content-type": "application/json" }, body: '{"closed":true}' }).then((r) => r.status)`); code != 403 {
		t.Errorf("a wall that closes the lab gets %d; want 403", code)
	}
	p.press("main", "Withdraw the link of by the sinks")
	p.gone("main ul.lines li")
	labtest.Poll(t, "the link lets nobody in", func() bool {
		return value[int](wall, `fetch("/api/v1/units").then((r) => r.status)`) == 401
	})
	wall.run("reload", chromedp.Reload())
	wall.until("it asks for a sign-in", `/sign in|does not hold/i.test(document.body.innerText) && document.querySelectorAll(".lane").length === 0`)
	if body := value[string](wall, `document.body.innerText`); strings.Contains(body, "plover") {
		t.Error("a wall whose link was withdrawn still shows units")
	}
}
