package main

import (
	"fmt"
	"math"
	"os"
	"testing"

	"github.com/chromedp/chromedp"

	"wetside/internal/lab"
)

// axeSource is axe-core, a general checker of accessibility, as the pages'
// packages bring it.
func axeSource(t testing.TB) string {
	t.Helper()
	b, err := os.ReadFile("../../web/ui/node_modules/axe-core/axe.min.js")
	if err != nil {
		t.Fatalf("axe-core is not there; make ui fetches it: %v", err)
	}
	return string(b)
}

// axeFinds is what axe-core says of the page as it stands: WCAG 2.2 A and AA
// and its own best practices.
func axeFinds(p page) []string {
	p.t.Helper()
	if !value[bool](p, `typeof axe === "object"`) {
		p.run("axe-core", chromedp.Evaluate[chromedp.Void](axeSource(p.t)+";void 0"))
	}
	return value[[]string](p, `axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] })
		.then((r) => r.violations.flatMap((v) => v.nodes.map((n) => v.id + ": " + n.html.slice(0, 140) + " " + (n.any[0]?.message ?? n.all[0]?.message ?? ""))))`)
}

// faint lists texts under 4.5:1 (3:1 where large) and graphics that matter
// under 3:1, by the colours that the browser computed: WCAG 2.2, 1.4.3 and
// 1.4.11, the formula of relative luminance from its glossary.
const faint = `(() => {
	const pen = document.createElement("canvas").getContext("2d", { willReadFrequently: true });
	const parse = (c) => { pen.clearRect(0, 0, 1, 1); pen.fillStyle = c; pen.fillRect(0, 0, 1, 1); const d = pen.getImageData(0, 0, 1, 1).data; return { rgb: [d[0], d[1], d[2]], a: d[3] / 255 }; };
	const over = (top, under) => top.rgb.map((v, i) => v * top.a + under[i] * (1 - top.a));
	const lum = (rgb) => { const [r, g, b] = rgb.map((v) => { v /= 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; }); return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
	const ratio = (x, y) => { const [a, b] = [lum(x), lum(y)].sort((p, q) => q - p); return (a + 0.05) / (b + 0.05); };
	const ground = (e) => {
		const stack = [];
		for (let n = e; n; n = n.parentElement) stack.push(parse(getComputedStyle(n).backgroundColor));
		return stack.reverse().reduce((under, top) => over(top, under), [255, 255, 255]);
	};
	const opacity = (e) => { let o = 1; for (let n = e; n; n = n.parentElement) o *= parseFloat(getComputedStyle(n).opacity); return o; };
	const out = new Set();
	for (const e of document.querySelectorAll("body *")) {
		if (![...e.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim())) continue;
		const s = getComputedStyle(e), box = e.getBoundingClientRect();
		if (box.width < 2 || !e.checkVisibility({ visibilityProperty: true, opacityProperty: true }) || e.closest("script, style, svg, .unseen, :disabled, option, datalist")) continue;
		const under = ground(e), ink = parse(s.color), r = ratio(over({ rgb: ink.rgb, a: ink.a * opacity(e) }, under), under);
		const px = parseFloat(s.fontSize), large = px >= 24 || (px >= 18.66 && Number(s.fontWeight) >= 700);
		if (r < (large ? 3 : 4.5)) out.add(r.toFixed(2) + " text " + e.tagName + "." + e.className + " " + e.textContent.trim().slice(0, 30));
	}
	// What must be seen to be understood: the rim and filling of a container, the
	// line of the bath, the needle at now, the marks of alerts and verdicts, the
	// edge of a field.
	const matter = { ".tank .glass": "stroke", ".tank .held:not(.water)": "fill", ".trace path[d]:not([d=''])": "stroke", ".strip .needle": "ground", ".alert svg.shape path": "any", ".vmark svg *": "any", "input:not([type=checkbox], [type=radio]), select, textarea": "border" };
	for (const [css, how] of Object.entries(matter)) for (const e of document.querySelectorAll(css)) {
		if (!e.checkVisibility({ visibilityProperty: true })) continue;
		const s = getComputedStyle(e), under = ground(how === "border" || how === "ground" ? e.parentElement : e.closest("svg") ?? e);
		const inks = how === "border" ? [s.borderBottomColor] : how === "ground" ? [s.backgroundColor] : how === "any" ? [s.stroke, s.fill] : [s[how]];
		const best = Math.max(...inks.filter((c) => c !== "none" && !c.startsWith("url")).map((c) => { const i = parse(c); return ratio(over({ rgb: i.rgb, a: i.a * opacity(e) }, under), under); }), 0);
		if (best < 3) out.add(best.toFixed(2) + " graphic " + css + " " + inks.join(" "));
	}
	return [...out];
})()`

// everyPage is each page of the app, with what shows that it has come.
func everyPage(t *testing.T, s *stage) []struct{ place, there string } {
	t.Helper()
	var alerts struct{ Alerts []lab.Alert }
	if !s.api.Get("/api/v1/alerts?limit=1", &alerts) || len(alerts.Alerts) == 0 {
		t.Fatal("there is no alert to open")
	}
	return []struct{ place, there string }{
		{"board", `document.querySelectorAll(".lane .strip").length > 3`},
		{"alerts", `document.querySelector("ol.rows li")`},
		{"alerts/" + alerts.Alerts[0].ID, `document.querySelector("main h1")?.innerText.length > 10`},
		{"runs", `document.querySelector(".runrow")`},
		{"rolls", `document.querySelector("main h1")?.innerText.includes("Rolls waiting")`},
		{"runs/" + offRun(t, s).ID, `document.querySelector("article.report svg")`},
		{"load", `document.querySelector(".unitpick button")`},
		{"load/tern-street/" + loadedUnit, `document.querySelector(".loadcols")`},
		{"start", `document.querySelector(".morning .planlist li")`},
		{"unit/tern-street/plover", `document.querySelector("main h1, main h2")?.innerText.toLowerCase().includes("plover")`},
		{"duty", `document.querySelector(".onnow")`},
		{"hand-over", `document.querySelector(".handover .box")`},
		{"figures", `document.querySelector(".gauges li")`},
		{"strips/tern-street/plover/c41", `document.querySelector(".strips .gate")`},
		{"settings", `document.querySelector("main h1")?.innerText.includes("Settings")`},
		{"set-up", `document.querySelector("main h1")`},
	}
}

// Every page, at the sizes of a phone, a desk and a wall, light and dark.
func eyesAndHands(t *testing.T, s *stage) {
	p := s.page.with(t)
	aborts(s.page.t, s.broker, "godwit") // an alert that nobody has seen yet
	for _, size := range []struct {
		width, height int64
		scheme        string
	}{{390, 844, "light"}, {1280, 800, "dark"}, {1920, 1080, "light"}} {
		p.run("size", chromedp.EmulateViewport(size.width, size.height))
		p.run("scheme", chromedp.Evaluate[chromedp.Void](`void (document.documentElement.dataset.scheme = `+quote(size.scheme)+`)`))
		for _, pg := range everyPage(t, s) {
			p.goTo(pg.place)
			p.until(pg.place+" has come", pg.there)
			at := fmt.Sprintf("%s at %dx%d, %s", pg.place, size.width, size.height, size.scheme)
			for _, f := range axeFinds(p) {
				t.Errorf("%s: axe-core: %s", at, f)
			}
			for _, f := range value[[]string](p, misnamed) {
				t.Errorf("%s: called otherwise than it reads: %s", at, f)
			}
			for _, f := range value[[]string](p, faint) {
				t.Errorf("%s: contrast %s", at, f)
			}
			if wide := value[int](p, `document.documentElement.scrollWidth - innerWidth`); wide > 0 {
				t.Errorf("%s: %d px wider than the screen, by %s", at, wide, value[[]string](p, widest))
			}
			if size.width == 390 {
				for _, f := range value[[]string](p, small) {
					t.Errorf("%s: too small for a gloved finger: %s", at, f)
				}
			}
		}
	}
	p.run("as it was", chromedp.Evaluate[chromedp.Void](`delete document.documentElement.dataset.scheme`), chromedp.EmulateViewport(1080, 1600))
}

// misnamed lists what is pressed and whose name for those who hear or speak it
// does not hold the words to be read on it: WCAG 2.2, 2.5.3. axe-core looks at
// it too, but not in every run: it leaves out what its drawing takes for icons.
const misnamed = `(() => {
	const words = (s) => s.toLowerCase().replace(/[^\p{L}\p{N}]+/gu, " ").trim();
	return [...document.querySelectorAll("button[aria-label], a[aria-label], summary[aria-label], [role=button][aria-label]")]
		.filter((e) => e.checkVisibility() && !words(e.ariaLabel).includes(words(e.innerText)))
		.map((e) => JSON.stringify(e.innerText) + " is called " + JSON.stringify(e.ariaLabel));
})()`

// widest names what reaches beyond the right edge.
const widest = `[...document.querySelectorAll("main *")].filter((e) => e.getBoundingClientRect().right > innerWidth + 0.5 && !e.closest(".scroll *")).slice(0, 4).map((e) => e.tagName + "." + (e.className.baseVal ?? e.className) + " " + e.textContent.trim().slice(0, 30))`

// small lists what is pressed and smaller than 44 px, the size of targets of
// WCAG 2.5.5; links within a sentence are excepted, as there.
const small = `[...document.querySelectorAll("button, select, input:not([type=checkbox], [type=radio], [type=hidden]), summary, a.button, nav a")].filter((e) => {
	const r = e.getBoundingClientRect();
	return r.width > 0 && e.checkVisibility({ visibilityProperty: true }) && !e.closest("p:not(.acts, .doors) .link, .unseen") && !e.matches("button.link, .link") && (r.height < 43.5 || r.width < 43.5);
}).map((e) => e.tagName + "." + e.className + " " + (e.innerText || e.ariaLabel || e.name).slice(0, 30) + " " + Math.round(e.getBoundingClientRect().width) + "x" + Math.round(e.getBoundingClientRect().height))`

// What matters on a wall is read from four meters: capitals of at least 16 arc
// minutes on a 55-inch screen, 1218 mm wide (16 minutes: the least height that
// ISO 9241-303 gives for ease of reading, from memory).
func wallSizes(t *testing.T, s *stage) {
	p := s.page.with(t)
	develops(s.page.t, s.broker, "sanderling")
	s.accept(t, "sanderling")
	p.run("size", chromedp.EmulateViewport(1920, 1080))
	p.goTo("board")
	for _, part := range []struct{ what, css string }{
		{"name", ".lane h2"}, {"doing", ".lane .doing .lead"}, {"left", ".lane .doing b"}, {"end", ".lane .end .at"},
		{"alert", ".alert.urgent .what, .alert.high .what"}, {"job", ".ticket .line"}, {"when", ".ticket b.num"},
	} {
		// Each by itself: a wall of many units turns its pages.
		capitals := "(" + smallestCapital + ")(" + quote(part.css) + ")"
		p.until("the wall shows "+part.what, `(window.seen = `+capitals+`) > 0`)
		px := value[float64](p, `window.seen`)
		t.Logf("%s: capitals of %.1f px, %.1f arc minutes", part.what, px, arcMinutes(px))
		if arcMinutes(px) < 16 {
			t.Errorf("%s: capitals of %.1f px are %.1f arc minutes from four meters; want 16, %.1f px", part.what, px, arcMinutes(px), 29.4)
		}
	}
}

// smallestCapital is the height of a capital, in px, in the smallest of what
// is shown of a selector; 0 if nothing is.
const smallestCapital = `(css) => {
	const pen = document.createElement("canvas").getContext("2d");
	const shown = [...document.querySelectorAll(css)].filter((e) => e.checkVisibility() && e.innerText.trim());
	const caps = shown.map((e) => {
		const s = getComputedStyle(e);
		pen.font = s.fontStyle + " " + s.fontWeight + " 1000px " + s.fontFamily;
		return pen.measureText("H").actualBoundingBoxAscent / 1000 * parseFloat(s.fontSize);
	});
	return caps.length ? Math.min(...caps) : 0;
}`

// arcMinutes is how large so many px of 1920 look on the wall.
func arcMinutes(px float64) float64 {
	const screenMM, wide, awayMM = 1218, 1920, 4000
	return 2 * math.Atan(px*screenMM/wide/2/awayMM) * 60 * 180 / math.Pi
}
