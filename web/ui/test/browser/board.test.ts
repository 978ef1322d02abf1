// @vitest-environment node
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { contrastReport } from "./contrast";
import { openLab, settled, type Lab } from "./lab";

// What can only be known from a real page: how large letters are, what stands
// in sight, how colours stand out, what axe-core finds.

let lab: Lab;
beforeAll(async () => {
  lab = await openLab();
}, 120_000);
afterAll(() => lab?.close(), 30_000);

// A 55-inch screen of 16:9 is 55 * 25.4 * 16 / hypot(16, 9) = 1218 mm wide.
// 16 arc minutes are what ISO 9241-303 (5.5.4 of its first edition, from
// memory) names as the least height of capitals that are read with ease.
const SCREEN_MM = (55 * 25.4 * 16) / Math.hypot(16, 9);
const AWAY_MM = 4000;
const LEAST_ARC = 16;

/** Arc minutes of the capitals of each element that matters, as the page has them. */
const capitals = `(() => {
  const of = { name: ".lane h2", doing: ".lane .doing .lead", time: ".lane .doing b", end: ".lane .end .at", alert: ".alert.urgent .what, .alert.high .what", advice: ".advice .deed", jobs: ".ticket .line", when: ".ticket b.num", others: ".turn .others" };
  const pen = document.createElement("canvas").getContext("2d");
  const out = [];
  for (const [what, where] of Object.entries(of)) for (const e of document.querySelectorAll(where)) {
    const style = getComputedStyle(e);
    pen.font = style.fontWeight + " 1000px " + style.fontFamily;
    const cap = pen.measureText("H").actualBoundingBoxAscent / 1000 * parseFloat(style.fontSize);
    const mm = cap * ${SCREEN_MM} / innerWidth;
    out.push([what, 2 * Math.atan(mm / 2 / ${AWAY_MM}) * 60 * 180 / Math.PI]);
  }
  return out;
})()`;

/** Words that matter and are cut short, and lanes of the page that are not wholly in sight. */
const cut = `[...document.querySelectorAll(".lane .doing b, .lane .end .at, .ticket b.num, .lane h2, .tag")].filter((e) => e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).overflow !== "visible").map((e) => e.textContent)
  .concat([...document.querySelectorAll(".lane")].filter((e) => { const b = document.querySelector(".lanes").getBoundingClientRect(), r = e.getBoundingClientRect(); return r.bottom > b.bottom + 1 || r.top < b.top - 1 || e.firstElementChild.offsetHeight > e.clientHeight + 1; }).map((e) => "lane " + e.dataset.unit))`;

const walls = [[1920, 1080], [3840, 2160]] as const;
const labs = ["lanes=4&calm", "lanes=8", "lanes=16&calm", "lanes=16", "lanes=40&alerts=3", "lanes=8&own&faults&outlook", "lanes=40&alerts=12", "lanes=6&late&scheme=dark"];

describe.each(walls)("a wall of %i by %i", (width, height) => {
  it.each(labs)("%s: what matters is read from four meters, and nothing is cut", async (query) => {
    const page = await lab.open(query, { width, height });
    const found = await page.value<[string, number][]>(capitals);
    const small = found.filter(([, arc]) => arc < LEAST_ARC).map(([what, arc]) => `${what} ${arc.toFixed(1)}'`);
    expect([...new Set(small)]).toEqual([]);
    expect(new Set(found.map(([what]) => what)).size).toBeGreaterThanOrEqual(3);
    expect(await page.value(cut)).toEqual([]);
    expect(page.troubles).toEqual([]);
    await page.close();
  }, 60_000);
});

describe("alerts on a wall", () => {
  it("are all told on whichever page stands, by lane or by name", async () => {
    const page = await lab.open("lanes=40&alerts=12");
    const pages = await page.value<number>("document.querySelectorAll('.turn button.dot').length");
    expect(pages).toBeGreaterThan(1);
    const names = new Set<string>();
    for (let i = 0; i < pages; i++) {
      await page.value(`document.querySelectorAll('.turn button.dot')[${i}].click()`);
      await settled(page);
      const told = await page.value<string[]>(`[...document.querySelectorAll(".lane:is(.urgent, .high) h2")].map((e) => e.textContent).concat((document.querySelector(".turn .others")?.lastChild.textContent ?? "").split(",").map((s) => s.trim()).filter(Boolean))`);
      expect(told.length).toBe(12);
      for (const n of told) names.add(n);
      expect(await page.value(cut)).toEqual([]);
    }
    expect(names.size).toBe(12);
    await page.close();
  }, 60_000);

  it("stay in eight lanes on one page with three large ones", async () => {
    const page = await lab.open("lanes=8");
    expect(await page.value("[document.querySelectorAll('.lane').length, document.querySelectorAll('.turn').length, document.querySelectorAll('.alert.urgent, .alert.high').length]")).toEqual([8, 0, 3]);
    await page.close();
  }, 60_000);

  it("need no second page for sixteen calm units", async () => {
    const page = await lab.open("lanes=16&calm");
    expect(await page.value("document.querySelectorAll('.lane').length")).toBe(16);
    await page.close();
  }, 60_000);

  it("keep their places while a hand is on the board", async () => {
    const page = await lab.open("lanes=6&trouble");
    const order = "[...document.querySelectorAll('.lane')].map((e) => e.dataset.unit).join()";
    const before = await page.value<string>(order);
    await page.send("Input.dispatchMouseEvent", { type: "mousePressed", x: 400, y: 700, button: "left", clickCount: 1 });
    await page.value("lab.trouble('tern-street/dunlin')");
    // Held down for longer than the three seconds of grace.
    await page.until("performance.now() - (window.since ??= performance.now()) > 4500");
    expect(await page.value(order)).toBe(before);
    await page.send("Input.dispatchMouseEvent", { type: "mouseReleased", x: 400, y: 700, button: "left", clickCount: 1 });
    await page.until(`${order} !== ${JSON.stringify(before)}`, 10_000);
    expect((await page.value<string>(order)).split(",").indexOf("tern-street/dunlin")).toBeLessThan(4);
    await page.close();
  }, 60_000);
});

describe("what people do on the board", () => {
  it("acknowledges, shelves with a reason and takes it off the shelf, by keyboard", async () => {
    const page = await lab.open("lanes=6&alerts=3");
    await page.value("document.querySelector('.alert .ack').focus()");
    await page.send("Input.dispatchKeyEvent", { type: "keyDown", key: "Enter", code: "Enter", text: "\r" });
    await page.until("document.querySelectorAll('.alert.urgent, .alert.high').length === 2");
    await page.value("document.querySelector('.alert [aria-expanded]').click()");
    await page.until("document.querySelector('.alertpast li')");
    expect(await page.value("document.querySelector('.alertpast').textContent")).toMatch(/raised.*Wren: sent by phone.*mail failed.*Teal is paged at/s);
    await page.value("document.querySelector('.shelve [name=reason]').value = 'waits for a hose'; document.querySelector('.shelve .solid').click()");
    await page.until("[...document.querySelectorAll('.seen')].some((e) => e.textContent.includes('shelved until') && e.textContent.includes('waits for a hose'))");
    await page.value("[...document.querySelectorAll('button.seen')].find((e) => e.textContent.includes('shelved until')).click()");
    await page.until("[...document.querySelectorAll('button')].some((e) => e.textContent === 'Unshelve')");
    await page.value("[...document.querySelectorAll('button')].find((e) => e.textContent === 'Unshelve').click()");
    await page.until("document.querySelectorAll('.alert.urgent, .alert.high').length === 2");
    await page.close();
  }, 60_000);

  it("goes dark for ten minutes and back", async () => {
    const page = await lab.open("lanes=6");
    await page.value("[...document.querySelectorAll('.bar button')].find((e) => e.textContent.includes('in the dark')).click()");
    await page.until("document.querySelector('.darkly')?.textContent.includes('Ana works in the dark until')");
    await page.value("[...document.querySelectorAll('.bar button')].find((e) => e.textContent.includes('look again')).click()");
    await page.until("!document.querySelector('.darkly')");
    await page.close();
  }, 60_000);

  it("draws lanes out of sight seldom, and at once when they come into sight", async () => {
    const page = await lab.open("lanes=40&hz=1", { width: 1280, height: 800 });
    // How often the time left changes in the first lane that has one, and in the last.
    await page.value(`(() => {
      const running = [...document.querySelectorAll(".lane .doing:has(b)")];
      globalThis.ends = [running[0], running.at(-1)].map((e) => ({ e, changes: 0 }));
      for (const end of ends) new MutationObserver(() => end.changes++).observe(end.e, { characterData: true, childList: true, subtree: true });
    })()`);
    expect(await page.value("ends[1].e.getBoundingClientRect().top > innerHeight")).toBe(true);
    await page.until("ends[0].changes >= 8");
    const unseen = await page.value<number>("ends[1].changes");
    expect(unseen).toBeLessThan(5);
    await page.value("ends[1].e.scrollIntoView()");
    await page.until(`ends[1].changes >= ${unseen + 4}`);
    await page.close();
  }, 60_000);

  it("on a wall can only be looked at, but for the way to the pages", async () => {
    const page = await lab.open("lanes=16&faults#/wall?key=k");
    expect(await page.value("[document.querySelectorAll('main button, a, input').length, document.querySelectorAll('button').length, getComputedStyle(document.querySelector('.lane')).cursor, location.hash]")).toEqual([0, 1, "none", "#/wall"]);
    await page.close();
  }, 60_000);
});

describe("for all eyes and hands", () => {
  it.each([
    ["lanes=8&own&faults&outlook", 1920, 1080], ["lanes=8&own&faults&outlook&scheme=dark", 1280, 800], ["lanes=40&alerts=9", 1920, 1080],
    ["lanes=6&faults&outlook", 390, 844], ["lanes=6&scheme=dark&late", 390, 844], ["empty", 1280, 800],
  ] as const)("axe-core finds nothing and each text stands out: %s at %i x %i", async (query, width, height) => {
    const page = await lab.open(query, { width, height });
    const found = await page.value<{ id: string; nodes: string[] }[]>("lab.axe()");
    expect(found.map((f) => `${f.id}: ${f.nodes.join(" | ")}`)).toEqual([]);
    // WCAG 2.2, 1.4.3: 4.5:1, large text 3:1.
    expect(await page.value(contrastReport)).toEqual([]);
    await page.close();
  }, 90_000);

  it("targets on a phone are 44 px", async () => {
    const page = await lab.open("lanes=6&faults", { width: 390, height: 844, touch: true });
    expect(await page.value(`[...document.querySelectorAll("main button, .bar button, .bar a")].filter((e) => { const r = e.getBoundingClientRect(); return r.width > 0 && (r.height < 43.5 || r.width < 43.5); }).map((e) => e.textContent + " " + e.className + " " + e.getBoundingClientRect().height)`)).toEqual([]);
    expect(await page.value("document.documentElement.scrollWidth <= innerWidth")).toBe(true);
    await page.close();
  }, 60_000);

  it("moves nothing where the reader asked for that", async () => {
    const page = await lab.open("lanes=8");
    await page.send("Emulation.setEmulatedMedia", { features: [{ name: "prefers-reduced-motion", value: "reduce" }] });
    expect(await page.value("[...document.querySelectorAll('*')].filter((e) => { const s = getComputedStyle(e); return s.transitionDuration.split(',').some((d) => parseFloat(d) > 0.001) || s.animationName !== 'none'; }).length")).toBe(0);
    await page.close();
  }, 60_000);
});
