package main

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"wetside/internal/labtest"
)

// What a person's hands and eyes do: buttons are found by their words, fields
// by their labels, pressed with the mouse or with keys, and nothing is done
// that they could not do.

// with gives the same page to a subtest.
func (p page) with(t testing.TB) page { return page{t, p.ctx} }

// another opens a page in a browser context of its own: nothing is shared,
// cookies least of all.
func (p page) another(width, height int64) page {
	p.t.Helper()
	ctx, cancel := chromedp.NewContext(p.ctx, chromedp.WithNewBrowserContext())
	p.t.Cleanup(func() {
		end, done := context.WithTimeout(ctx, labtest.Patience)
		defer done()
		_ = chromedp.Cancel(end) // it may be gone already
		cancel()
	})
	// Started without a deadline: the tab lives as long as the context of its first run.
	if err := chromedp.Do(ctx); err != nil {
		p.t.Fatalf("another page does not open: %v", err)
	}
	q := page{p.t, ctx}
	q.run("a page of its own", chromedp.EmulateViewport(width, height))
	return q
}

// value evaluates an expression; promises are waited for.
func value[T any](p page, expression string) T {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, browserPatience)
	defer cancel()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		p.t.Fatalf("%.200s: %v", expression, err)
	}
	return v
}

// quote writes a Go string as JavaScript.
func quote(s string) string {
	b, err := json.Marshal(s)
	if err != nil {
		panic(err)
	}
	return string(b)
}

// goTo opens a page of the app by its part after #.
func (p page) goTo(place string) {
	p.t.Helper()
	p.run("open "+place, chromedp.Evaluate[chromedp.Void](`void (location.hash = `+quote("#/"+place)+`)`))
}

// says waits until the page, or the part of it that css names, shows the words.
func (p page) says(css, words string) {
	p.t.Helper()
	p.until(css+" says "+words, `[...document.querySelectorAll(`+quote(css)+`)].some(e => e.checkVisibility() && e.innerText.replace(/\s+/g, " ").toLowerCase().includes(`+quote(strings.ToLower(words))+`))`)
}

// gone waits until nothing that css names is seen.
func (p page) gone(css string) {
	p.t.Helper()
	p.until(css+" is gone", `![...document.querySelectorAll(`+quote(css)+`)].some(e => e.checkVisibility())`)
}

// spot marks the one thing within css that carries the words, waiting for it.
func (p page) spot(css, words string) chromedp.CSS {
	p.t.Helper()
	p.until(fmt.Sprintf("%s %q can be pressed", css, words), `(() => {
		const plain = (s) => (s ?? "").replace(/\s+/g, " ").trim(), want = `+quote(words)+`;
		const all = [...document.querySelectorAll(`+quote(css)+`)].filter((e) => !e.disabled && e.checkVisibility({ visibilityProperty: true }));
		const of = (e) => [plain(e.innerText), plain(e.textContent), plain(e.getAttribute("aria-label"))];
		const hit = all.find((e) => of(e).includes(want)) ?? all.find((e) => of(e).some((s) => s.includes(want)));
		if (!hit) return false;
		// A hand waits until a thing stands still.
		const r = hit.getBoundingClientRect(), at = [r.x, r.y, r.width, r.height].join();
		const still = hit.dataset.stood === at;
		hit.dataset.stood = at;
		if (!still) return false;
		for (const e of document.querySelectorAll("[data-spotted]")) e.removeAttribute("data-spotted");
		hit.setAttribute("data-spotted", "");
		return true;
	})()`)
	return chromedp.CSS("[data-spotted]")
}

const pressable = "button, a, summary, [role=button], label.card"

// press clicks what carries the words, within css ("" for the whole page).
func (p page) press(within, words string) {
	p.t.Helper()
	p.run("press "+words, chromedp.Click(p.spot(inside(within, pressable), words)))
}

func inside(within, css string) string {
	if within == "" {
		return css
	}
	return within + " :is(" + css + ")"
}

// key reaches what carries the words and presses a key on it.
func (p page) key(within, words, key string) {
	p.t.Helper()
	p.run("focus "+words, chromedp.Focus(p.spot(inside(within, pressable), words)))
	p.run("key", chromedp.KeyEvent(key))
}

// field marks the control that a label names.
func (p page) field(within, label string) chromedp.CSS {
	p.t.Helper()
	css := inside(within, "input, select, textarea")
	p.until("there is a field "+label, `(() => {
		const plain = (s) => (s ?? "").replace(/\s+/g, " ").trim(), want = `+quote(label)+`;
		const all = [...document.querySelectorAll(`+quote(css)+`)].filter((e) => !e.disabled && e.checkVisibility());
		const of = (e) => [...(e.labels ?? [])].map((l) => plain(l.textContent)).concat(plain(e.getAttribute("aria-label")), e.name);
		const hit = all.find((e) => of(e).includes(want)) ?? all.find((e) => of(e).some((s) => s.startsWith(want)));
		if (!hit) return false;
		for (const e of document.querySelectorAll("[data-spotted]")) e.removeAttribute("data-spotted");
		hit.setAttribute("data-spotted", "");
		return true;
	})()`)
	return "[data-spotted]"
}

// fill types into a field in place of what stands there.
func (p page) fill(within, label, text string) {
	p.t.Helper()
	at := p.field(within, label)
	p.run("fill "+label, chromedp.Focus(at),
		chromedp.Evaluate[chromedp.Void](`document.querySelector("[data-spotted]").select()`), chromedp.KeyEvent(kb.Backspace))
	if text != "" {
		p.run("fill "+label, chromedp.SendKeys(at, text))
	}
}

// choose picks an option of a list by its words.
func (p page) choose(within, label, option string) {
	p.t.Helper()
	p.field(within, label)
	p.until(label+" offers "+option, `(() => {
		const e = document.querySelector("[data-spotted]"), o = [...e.options].find((o) => o.text.trim() === `+quote(option)+`);
		if (!o) return false;
		e.value = o.value;
		e.dispatchEvent(new Event("input", { bubbles: true }));
		e.dispatchEvent(new Event("change", { bubbles: true }));
		return true;
	})()`)
}

// scan types as a scanner does: a key each few milliseconds and Enter behind
// them, whatever has the focus. The times stand on the keys, so that a busy
// machine stretches no scan.
func (p page) scan(codes ...string) {
	p.t.Helper()
	for _, c := range codes {
		at := time.Now().Add(-time.Duration(len(c)) * keyEvery)
		timed := func(k *input.DispatchKeyEventParams) {
			if k.Type == kb.KeyDown {
				at = at.Add(keyEvery)
			}
			k.Timestamp = input.TimeSinceEpoch(float64(at.UnixMicro()) / 1e6)
		}
		p.run("scan "+c, chromedp.KeyEvent(c+kb.Enter, timed))
	}
}

const keyEvery = 5 * time.Millisecond

// lane is the css of a unit's lane.
func lane(unit string) string { return `[data-unit="tern-street/` + unit + `"]` }
