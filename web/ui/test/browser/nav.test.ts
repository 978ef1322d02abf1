// @vitest-environment node
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { openLab, type Lab } from "./lab";

// The way to all pages is where people look: on top, on every page and size,
// however far it is scrolled.

let lab: Lab;
beforeAll(async () => {
  lab = await openLab();
}, 120_000);
afterAll(() => lab?.close(), 30_000);

const sizes = [[1920, 1080], [1280, 800], [1024, 768], [390, 844]] as const;
const places = ["board", "alerts", "alerts/a1", "runs", "runs/run-2042", "load", "load/tern-street/plover", "start", "unit/tern-street/plover", "duty", "hand-over", "figures", "strips/tern-street/plover/c41", "settings/house", "settings/sheets", "set-up"];

/** What of the bar a finger would miss: covered, out of sight, too small, cut, or over its neighbor. 48 px: a glove; WCAG 2.2 (2.5.5) asks for 44. */
const missed = `(() => {
  const all = [...document.querySelectorAll(".bar > nav a, .bar button:not(.skip), .bar input")].filter((e) => e.checkVisibility());
  const out = [];
  const names = all.map((e) => e.textContent || e.getAttribute("aria-label"));
  for (const must of ["Board", "Alerts", "Load", "Find", "More"]) if (!names.some((n) => n.startsWith(must))) out.push("no " + must);
  all.forEach((e, i) => {
    const r = e.getBoundingClientRect(), hit = document.elementFromPoint(r.x + r.width / 2, r.y + r.height / 2);
    if (!(hit && (e.contains(hit) || hit.contains(e)))) out.push("covered: " + names[i]);
    if (r.right > innerWidth + 0.5 || r.left < -0.5 || r.bottom > innerHeight) out.push("out of sight: " + names[i]);
    if (!e.closest(".find") && (r.height < 47.5 || r.width < 47.5)) out.push("small: " + names[i] + " " + r.width + " x " + r.height);
    if (e.scrollWidth > e.clientWidth + 1) out.push("cut: " + names[i]);
    const next = all[i + 1]?.getBoundingClientRect();
    if (next && next.left < r.right - 0.5 && next.top < r.bottom - 0.5) out.push("over its neighbor: " + names[i]);
  });
  return out;
})()`;

describe.each(sizes)("at %i by %i", (width, height) => {
  it("the bar stands on every page, scrolled to its end", async () => {
    const page = await lab.open("strips", { width, height, touch: width < 500 });
    const found: string[] = [];
    for (const place of places) {
      await page.value(`location.hash = "#/${place}"`);
      await page.until("!document.querySelector('main [role=status]')?.textContent.includes('One moment') && document.querySelector('main h1, .lane')");
      await page.value("scrollTo(0, document.scrollingElement.scrollHeight); new Promise((ok) => requestAnimationFrame(() => requestAnimationFrame(ok)))");
      found.push(...(await page.value<string[]>(missed)).map((m) => `${place}: ${m}`));
    }
    expect(found).toEqual([]);
    expect(page.troubles).toEqual([]);
    await page.close();
  }, 120_000);

  it("all pages are two presses away, and the open alerts are counted", async () => {
    const page = await lab.open("lanes=8#/alerts", { width, height });
    expect(await page.value("document.querySelector('.bar .opencount').textContent")).toMatch(/^4 open, 3 not acknowledged$/);
    for (const to of ["board", "alerts", "load", "rolls", "runs", "strips", "start", "duty", "hand-over", "settings"]) {
      await page.value("document.querySelector('.bar .more > button').click()");
      await page.until("document.querySelector('#more')");
      await page.value(`document.querySelector('#more a[href="#/${to}"]').scrollIntoView({ block: "nearest" })`);
      const seen = await page.value(`(() => { const e = document.querySelector('#more a[href="#/${to}"]'), r = e.getBoundingClientRect(); const hit = document.elementFromPoint(r.x + r.width / 2, r.y + r.height / 2); return r.height >= 48 && r.right <= innerWidth && e.contains(hit); })()`);
      expect([to, seen]).toEqual([to, true]);
      await page.value(`document.querySelector('#more a[href="#/${to}"]').click()`);
      await page.until(`location.hash === "#/${to}" && !document.querySelector("#more") && document.querySelector('.bar [aria-current=page][href="#/${to}"], .bar > nav')`);
    }
    await page.close();
  }, 60_000);

  it("a run is found from any page", async () => {
    const page = await lab.open("#/settings/house", { width, height });
    await page.until("document.querySelector('.bar')");
    await page.value("document.querySelector('.findopen')?.click()");
    await page.until("document.querySelector('.find input').checkVisibility()");
    await page.value("document.querySelector('.find input').focus()");
    await page.send("Input.insertText", { text: "heron" });
    await page.value("document.querySelector('.find').requestSubmit()");
    await page.until("location.hash === '#/runs' && [...document.querySelectorAll('.runs select')].some((e) => e.selectedOptions[0].textContent === 'Heron')");
    await page.close();
  }, 60_000);
});

describe("a wall", () => {
  it("leads to the pages by its one word, and is the wall again when nobody touches it", async () => {
    const page = await lab.open("lanes=8#/wall?key=k");
    await page.value("document.querySelector('.foot .more > button').click()");
    await page.until("document.querySelectorAll('#more a').length === 10");
    await page.value("[...document.querySelectorAll('#more a')].find((a) => a.textContent.startsWith('Alerts')).click()");
    await page.until("location.hash === '#/alerts' && document.querySelector('.bar') && document.querySelector('main h1').textContent === 'Alerts'");
    await page.close();
  }, 60_000);
});
