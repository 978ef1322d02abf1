package main

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"wetside/internal/labtest"
	"wetside/internal/monitor/monitortest"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// TestScreens takes the pictures of all pages. It is a tool: make screens. The
// program is real; only walls of 16 and 40 units and a calm one come from the
// invented lab that the pages are made with.
func TestScreens(t *testing.T) {
	folder := os.Getenv("WETSIDE_SCREENS")
	if folder == "" {
		t.Skip("takes minutes and writes pictures; make screens runs it")
	}
	if err := os.MkdirAll(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	s := newStage(t)
	c := camera{t: t, folder: folder, page: s.page}
	c.page.run("open", chromedp.Navigate(s.program.URL()))
	c.page.says("h1", "Set up")
	c.take("set-up-phone", 390, 844)
	lived(t, s)
	c.real(s)
	c.walls()
}

// lived makes a lab with a past: people, rolls, a decision, a plan, alerts.
func lived(t *testing.T, s *stage) {
	t.Helper()
	p := s.page
	p.fill("", "Name", "ana")
	p.fill("", "Password", anasPassword)
	p.fill("", "code", s.code)
	p.fill("", "again", anasPassword)
	p.run("enter", chromedp.KeyEvent(kb.Enter))
	p.gone("input[name=again]")
	s.api = monitortest.NewAPI(t, s.program.URL(), s.store)
	morning(t, s.broker)
	must(t, s.api, "POST", "/api/v1/users", `{"name":"wren","role":"operator","password":"another long password"}`, 201)
	must(t, s.api, "PUT", "/api/v1/house", `{"time_zone":"Europe/London","hours":{},"closed":false,"closed_until":null}`, 200)
	hooks(t, s, "wren")
	dutyOf(t, s, "wren")
	units := []string{"plover", "heron", "avocet", "dunlin", "curlew", "turnstone", loadedUnit}
	s.accept(t, units...)
	for _, u := range units {
		must(t, s.api, "PATCH", "/api/v1/units/tern-street/"+u, fmt.Sprintf(`{"name":%q}`, string(u[0]-32)+u[1:]), 200)
	}
	run := "/api/v1/runs/" + offRun(t, s).ID
	must(t, s.api, "POST", run+"/rolls", `{"add":[{"twin_check":"7001","film":"daylight 400","format":"135"},{"twin_check":"7002","format":"120","order":"B-7"}]}`, 200)
	must(t, s.api, "POST", run+"/decision", `{"decision":"hold","note":"look at 7001 first"}`, 200)
	must(t, s.api, "POST", "/api/v1/units/tern-street/plover/notes", `{"text":"The drain hose drips at the coupling."}`, 201)
}

// camera takes pictures of a page.
type camera struct {
	t      *testing.T
	folder string
	page   page
}

// at opens a page of the app, waits for it and takes its picture.
func (c camera) at(name, place, there string, width, height int64) {
	c.t.Helper()
	c.page.run("size", chromedp.EmulateViewport(width, height))
	c.page.goTo(place)
	c.page.until(place+" has come", there)
	c.take(name, width, height)
}

// take waits until nothing moves and writes what the screen shows.
func (c camera) take(name string, width, height int64) {
	c.t.Helper()
	c.page.run("size", chromedp.EmulateViewport(width, height), chromedp.Evaluate[chromedp.Void](`scrollTo(0, 0)`))
	c.page.until("the page has come to rest", `(() => {
		const now = JSON.stringify([...document.querySelectorAll(".lane, main *")].slice(0, 400).map((e) => [e.offsetTop, e.offsetHeight]));
		const w = window, same = w.lastSeen === now ? (w.sameSeen ?? 0) + 1 : 0;
		w.lastSeen = now; w.sameSeen = same;
		return same > 6 && document.getAnimations().every((a) => a.playState !== "running" || a.constructor !== Animation);
	})()`)
	shot, err := chromedp.Run(c.page.ctx, chromedp.CaptureScreenshot())
	if err != nil {
		c.t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(c.folder, name+".png"), fewerColours(c.t, shot), 0o644); err != nil {
		c.t.Fatal(err)
	}
}

func (c camera) script(js string) {
	c.t.Helper()
	c.page.run("script", chromedp.Evaluate[chromedp.Void]("void ("+js+")"))
}

// real takes the pages of the real program.
func (c camera) real(s *stage) {
	aborts(c.t, s.broker, "redshank")
	s.accept(c.t, "redshank")
	u := &slow{pub: monitortest.NewPublisher(c.t, s.broker), unit: "sanderling", at: time.Now().Add(-time.Minute)}
	u.begin()
	u.turns(24, 40)
	s.accept(c.t, u.unit)
	u.turns(16, 0)
	alarmed := `document.querySelectorAll(".lane .alert.urgent").length > 1`
	for _, size := range []struct {
		name          string
		width, height int64
	}{{"board-1080p", 1920, 1080}, {"board-1280", 1280, 800}, {"board-phone", 390, 844}} {
		c.at(size.name, "board", alarmed, size.width, size.height)
	}
	c.script(`document.documentElement.dataset.scheme = "dark"`)
	c.at("board-dark", "board", alarmed, 1920, 1080)
	c.at("board-phone-dark", "board", alarmed, 390, 844)
	c.script(`delete document.documentElement.dataset.scheme`)
	c.script(deuteranope)
	c.at("board-no-green", "board", alarmed, 1920, 1080)
	c.script(`document.documentElement.style.filter = ""`)

	for _, pg := range everyPage(c.t, s) {
		name := map[string]string{"alerts": "alerts", "runs": "runs", "load": "load", "start": "start", "duty": "duty", "hand-over": "hand-over",
			"figures": "figures", "settings": "settings", "rolls": "rolls", "set-up": "first-steps", "unit/tern-street/plover": "unit"}[pg.place]
		switch {
		case name != "":
		case pg.place[:3] == "run":
			name = "report"
		case pg.place[:3] == "ale":
			name = "alert"
		default:
			continue
		}
		c.at(name, pg.place, pg.there, 1280, 800)
		c.at(name+"-phone", pg.place, pg.there, 390, 844)
	}
	c.loading()
	c.page.goTo("board")
	c.page.press(lane("heron"), "waste of")
	c.page.says("dialog.sheet", "Emptied")
	c.take("container-phone", 390, 844)
	c.page.press("dialog.sheet", "Close")
	c.link(s, u)
}

func (c camera) loading() {
	p := c.page
	p.run("size", chromedp.EmulateViewport(1280, 800))
	p.goTo("load/tern-street/" + loadedUnit)
	p.run("scan", chromedp.Focus(p.field("main", "Scan each roll")))
	p.scan("1001", "1002")
	p.says(".rollrows", "1002")
	p.choose(".rollrows li:first-child", "For", "C-41 +1")
	c.take("load-scan", 1280, 800)
	p.press("main", "Check: go or stop?")
	p.says(".gostop", "STOP")
	c.take("load-stop", 1280, 800)
	c.take("load-stop-phone", 390, 844)
	p.press(".gostop", "Change the rolls")
	p.choose(".rollrows li:first-child", "For", "as set")
	p.press("main", "Check: go or stop?") // what was said first is remembered: which is right?
	p.says(".gsask", "What is said now: C-41")
	c.take("load-ask-phone", 390, 844)
	p.press(".gsask", "What is said now: C-41")
	p.says(".gostop h1", "GO")
	c.take("load-go-phone", 390, 844)
}

// link shows the page of a page: what wren's phone opens.
func (c camera) link(s *stage, u *slow) {
	got := hooks(c.t, s, "wren")
	u.turns(30, 40)
	u.turns(16, 0)
	page := paged(c.t, got, u.unit, 2)
	phone := camera{c.t, c.folder, c.page.another(390, 844)}
	phone.page.run("the link", chromedp.Navigate(page.link))
	phone.page.says("h2", "")
	phone.take("page-link-phone", 390, 844)
}

// walls takes those of the invented lab.
func (c camera) walls() {
	dir := c.t.TempDir()
	build := exec.Command(labtest.Need(c.t, "node", "nodejs"), "node_modules/.bin/vite", "build", "--config", "fixture/vite.config.ts", "--outDir", dir, "--logLevel", "error")
	build.Dir = "../../web/ui"
	if out, err := build.CombinedOutput(); err != nil {
		c.t.Fatalf("the invented lab is not built: %v: %s", err, out)
	}
	site := httptest.NewServer(http.FileServer(http.Dir(dir)))
	c.t.Cleanup(site.Close)
	for name, query := range map[string]string{"wall-calm": "lanes=6&calm", "wall-8-advice": "lanes=8&own&faults&outlook", "wall-16": "lanes=16", "wall-40": "lanes=40&alerts=5", "wall-16-dark": "lanes=16&scheme=dark"} {
		c.page.run("open "+query, chromedp.EmulateViewport(1920, 1080), chromedp.Navigate(site.URL+"/?"+query))
		c.page.until("lanes", `document.querySelectorAll(".lane").length > 3`)
		c.take(name, 1920, 1080)
	}
}

// deuteranope shows the page as those see it who have no cones for green:
// Machado, Oliveira and Fernandes (2009), severity 1, in linear RGB; the
// figures from memory.
const deuteranope = `(() => {
	const box = document.createElement("div");
	box.innerHTML = '<svg width="0" height="0" style="position:absolute" aria-hidden="true"><filter id="no-green" color-interpolation-filters="linearRGB"><feColorMatrix values="0.367322 0.860646 -0.227968 0 0 0.280085 0.672501 0.047413 0 0 -0.011820 0.042940 0.968881 0 0 0 0 0 1 0"/></filter></svg>';
	document.body.append(box);
	document.documentElement.style.filter = "url(#no-green)";
})()`

// fewerColours keeps the 256 commonest colours, which is enough for pages and
// a third of the size.
func fewerColours(t *testing.T, shot []byte) []byte {
	t.Helper()
	img, err := png.Decode(bytes.NewReader(shot))
	if err != nil {
		t.Fatal(err)
	}
	b := img.Bounds()
	count := map[color.RGBA]int{}
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			count[color.RGBAModel.Convert(img.At(x, y)).(color.RGBA)]++
		}
	}
	all := make([]color.RGBA, 0, len(count))
	for c := range count {
		all = append(all, c)
	}
	slices.SortFunc(all, func(a, b color.RGBA) int { return count[b] - count[a] })
	var palette color.Palette
	for _, c := range all[:min(len(all), 256)] {
		palette = append(palette, c)
	}
	index := map[color.RGBA]uint8{}
	for _, c := range all {
		index[c] = uint8(palette.Index(c))
	}
	out := image.NewPaletted(b, palette)
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			out.SetColorIndex(x, y, index[color.RGBAModel.Convert(img.At(x, y)).(color.RGBA)])
		}
	}
	var w bytes.Buffer
	if err := (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&w, out); err != nil {
		t.Fatal(err)
	}
	return w.Bytes()
}
