// @vitest-environment node
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import type { Page } from "../../scripts/chromium.mjs";
import { scan, type } from "./keys";
import { openLab, type Lab } from "./lab";

// A scan is never lost, changes nothing else, and is told large and aloud.

let lab: Lab;
beforeAll(async () => {
  lab = await openLab();
}, 120_000);
afterAll(() => lab?.close(), 30_000);

const KNOWN = "48213"; // a roll of the invented lab's first run
const LOAD = "#/load/tern-street/turnstone";

/** Waits until the flash tells this code, and gives what stands under it. */
async function told(page: Page, title: string, ok: boolean): Promise<string> {
  await page.until(`document.querySelector(".scanflash.${ok ? "ok" : "no"}:popover-open .code b")?.textContent === ${JSON.stringify(title)}`);
  return page.value<string>("document.querySelector('.scanflash .words').textContent");
}

async function at(query: string, there: string, size?: { width: number; height: number }): Promise<Page> {
  const page = await lab.open(query, size);
  await page.until(there);
  // Tones that are begun, counted; the browser of a test has no speaker.
  await page.value("globalThis.tones = 0; const was = AudioContext.prototype.createOscillator; AudioContext.prototype.createOscillator = function () { globalThis.tones++; return was.call(this); }; undefined");
  return page;
}

const focus = (page: Page, what: string): Promise<unknown> =>
  page.value(`(() => { const e = ${what}; e.focus(); if (document.activeElement !== e) throw new Error("it takes no focus"); })()`);

const rolls = "[...document.querySelectorAll('.rollrows li b')].map((e) => e.textContent).join()";

describe("while a unit is loaded", () => {
  it("a scan after Push, Process or Remove is a roll, and they stay as they were", async () => {
    const page = await at(LOAD, "document.querySelector('.runchoice')");
    const button = (words: string): string => `[...document.querySelectorAll("main button")].find((b) => b.textContent === ${JSON.stringify(words)})`;
    await scan(page, "60101");
    await page.until(`${rolls} === "60101"`);
    await focus(page, button("+1"));
    await page.value(`${button("+1")}.click()`);
    await scan(page, "60102");
    await page.until(`${rolls} === "60102,60101"`);
    await focus(page, button("E-6"));
    await scan(page, "60103");
    await page.until(`${rolls} === "60103,60102,60101"`);
    expect(await page.value(`[${button("+1")}, ${button("E-6")}].map((b) => b.getAttribute("aria-pressed")).join()`)).toBe("true,false");
    // The button that had the focus goes with its roll.
    await focus(page, "document.querySelector('.rollrows li:last-child button')");
    await page.value("document.activeElement.click()");
    await page.until(`${rolls} === "60103,60102"`);
    await scan(page, "60104");
    await page.until(`${rolls} === "60104,60103,60102"`);
    expect(await told(page, "60104", true)).toBe("Roll 3 in Turnstone");
    expect(await page.value("tones")).toBe(4);
    await page.close();
  }, 60_000);

  it("a scan while a list has the focus chooses nothing in it", async () => {
    const page = await at(LOAD, "document.querySelector('.runchoice')");
    await scan(page, "60101");
    await page.until(`${rolls} === "60101"`);
    await focus(page, "document.querySelector('.rollrows select')");
    await scan(page, "BW-7");
    await page.until(`${rolls} === "BW-7,60101"`);
    expect(await page.value("[...document.querySelectorAll('.rollrows select')].map((e) => e.value).join()")).toBe(",");
    // A letter by hand still chooses.
    await focus(page, "document.querySelector('.rollrows select')");
    await type(page, "b");
    await page.until("document.querySelector('.rollrows select').selectedOptions[0].text.startsWith('B')");
    await page.close();
  }, 60_000);

  it("cards, unit labels and rolls that are in already are told for what they are", async () => {
    const page = await at(LOAD, "document.querySelector('.runchoice')");
    await focus(page, "document.querySelector('.check')");
    await scan(page, "E-6 +1");
    await told(page, "E-6 +1", true);
    await scan(page, "60101");
    await told(page, "60101", true);
    await scan(page, "60101");
    expect(await told(page, "60101", false)).toMatch(/Not taken.*in already/);
    await scan(page, "Heron");
    expect(await told(page, "Heron", false)).toMatch(/not checked yet/);
    expect(await page.value(rolls)).toBe("60101");
    expect(await page.value("location.hash")).toBe(LOAD);
    await page.close();
  }, 60_000);

  it("after GO or STOP a scan changes nothing, and says so", async () => {
    const page = await at(LOAD, "document.querySelector('.runchoice')");
    await scan(page, "60101");
    await page.until(`${rolls} === "60101"`);
    await page.value("document.querySelector('.check').click()");
    await page.until("document.querySelector('.gostop')");
    await scan(page, "60102");
    expect(await told(page, "60102", false)).toMatch(/Not taken.*checked already.*Change the rolls/s);
    await scan(page, "60101");
    expect(await told(page, "60101", true)).toMatch(/Roll 1 of this load/);
    await scan(page, "Heron");
    await page.until("location.hash === '#/load/tern-street/heron'");
    await page.close();
  }, 60_000);

  it("before the unit is chosen a roll is told to wait for it", async () => {
    const page = await at("#/load", "document.querySelector('.unitpick')");
    await focus(page, "document.querySelector('.unitpick button')");
    await scan(page, "60101");
    expect(await told(page, "60101", false)).toMatch(/scan the unit's label/);
    await scan(page, "turnstone");
    await told(page, "Turnstone", true);
    await page.until(`location.hash === ${JSON.stringify(LOAD)}`);
    await page.close();
  }, 60_000);
});

describe("on any other page", () => {
  it.each([
    ["lanes=8#/board", "document.querySelector('.alert .ack')"],
    ["#/alerts", "document.querySelector('main select')"],
    ["#/alerts/a1", "document.querySelector('main button')"],
    ["#/start", "document.querySelector('main a')"],
    ["#/hand-over", "document.querySelector('main button')"],
    ["#/strips/tern-street/plover/c41", "document.querySelector('main button')"],
    ["#/settings/house", "document.querySelector('main input')"],
    ["#/duty", "document.querySelector('main button')"],
    ["#/unit/tern-street/plover", "document.querySelector('main button')"],
  ])("%s: a roll is looked up, and nothing on the page changes", async (query, what) => {
    const page = await at(query, what);
    await focus(page, what);
    const state = "JSON.stringify([location.hash, [...document.querySelectorAll('main input, main select, main textarea')].map((e) => [e.value, e.checked]), [...document.querySelectorAll('main [aria-pressed], main [aria-expanded]')].map((e) => [e.ariaPressed, e.ariaExpanded]), document.querySelectorAll('.alert').length])";
    const before = await page.value(state);
    await scan(page, KNOWN);
    expect(await told(page, KNOWN, true)).toMatch(/^(Ran in|In) (Heron|Plover|Avocet|Dunlin|Curlew|Turnstone)/);
    expect(await page.value(state)).toBe(before);
    expect(await page.value("tones")).toBe(1);
    await scan(page, "99999");
    expect(await told(page, "99999", false)).toMatch(/Not taken.*No run carried it/s);
    expect(await page.value(state)).toBe(before);
    expect(page.troubles).toEqual([]);
    await page.close();
  }, 60_000);

  it("a unit's label opens its loading; a card says where it counts; what is no code says why", async () => {
    const page = await at("lanes=8#/board", "document.querySelector('.lane')");
    await scan(page, "C-41 +1");
    expect(await told(page, "C-41 +1", false)).toMatch(/counts while a unit is loaded/);
    await scan(page, "!?%");
    expect(await told(page, "!?%", false)).toMatch(/no twin check \(1 to 32 digits and letters/);
    await scan(page, "plover");
    await told(page, "Plover", true);
    await page.until("location.hash === '#/load/tern-street/plover'");
    await page.close();
  }, 60_000);

  it("text that a person had begun stays, and no form is sent", async () => {
    const page = await at("lanes=6&alerts=3#/board", "document.querySelector('.alert [aria-expanded]')");
    await page.value("document.querySelector('.alert [aria-expanded]').click()");
    await page.until("document.querySelector('.shelve [name=reason]')");
    await focus(page, "document.querySelector('.shelve [name=reason]')");
    await type(page, "waits for 48");
    await page.until("document.querySelector('.shelve [name=reason]').value === 'waits for 48'");
    await scan(page, KNOWN);
    await told(page, KNOWN, true);
    expect(await page.value("[document.querySelector('.shelve [name=reason]').value, [...document.querySelectorAll('.seen')].some((e) => e.textContent.includes('shelved until'))]")).toEqual(["waits for 48", false]);
    // By hand Enter sends it, as ever.
    await type(page, " 9\n");
    await page.until("[...document.querySelectorAll('.seen')].some((e) => e.textContent.includes('waits for 48 9'))");
    await page.close();
  }, 60_000);

  it("an instrument that types its readings into its own field is left alone", async () => {
    const page = await at("strips#/strips/tern-street/plover/c41", "document.querySelector('input.density')");
    await focus(page, "document.querySelectorAll('input.density')[1]");
    await scan(page, "0.76");
    await page.until("document.querySelectorAll('input.density')[1].value === '0.76'");
    expect(await page.value("document.querySelector('.scanflash:popover-open') === null")).toBe(true);
    await page.close();
  }, 60_000);

  it("is told over a sheet that is open", async () => {
    const page = await at("lanes=6#/board", "document.querySelector('.tank .reach')");
    await page.value("document.querySelector('.tank .reach').click()");
    await page.until("document.querySelector('dialog.sheet[open]')");
    await scan(page, KNOWN);
    await told(page, KNOWN, true);
    expect(await page.value("(() => { const r = document.querySelector('.scanflash .code').getBoundingClientRect(); return document.elementsFromPoint(r.x + 30, r.y + r.height / 2).some((e) => e.closest('.scanflash')) || getComputedStyle(document.querySelector('.scanflash')).display; })()")).toBeTruthy();
    await page.close();
  }, 60_000);

  it("the runs take it for what is looked for, wherever the focus is", async () => {
    const page = await at("#/runs", "document.querySelector('.runs .seek')");
    await focus(page, "document.querySelector('.runs select')");
    await scan(page, KNOWN);
    await told(page, KNOWN, true);
    await page.until("location.hash.startsWith('#/runs/')");
    await page.close();
  }, 60_000);
});

// A 24-inch screen of 16:9 is 24 * 25.4 * 16 / hypot(16, 9) = 531 mm wide. 16
// arc minutes: as for the board (ISO 9241-303, 5.5.4 of its first edition, from memory).
const SCREEN_MM = (24 * 25.4 * 16) / Math.hypot(16, 9);

it.each(["light", "dark"])("is read at three metres, and stands out (%s)", async (scheme) => {
  const page = await at(`lanes=8&scheme=${scheme}#/board`, "document.querySelector('.lane')", { width: 1920, height: 1080 });
  for (const code of [KNOWN, "99999", "A-17-1234-5678-9012-3456-7890"]) {
    await scan(page, code);
    await told(page, code, code === KNOWN);
    const arcs = await page.value<number[]>(`[".scanflash .code b", ".scanflash .words"].map((w) => {
      const e = document.querySelector(w), style = getComputedStyle(e), pen = document.createElement("canvas").getContext("2d");
      pen.font = style.fontWeight + " 1000px " + style.fontFamily;
      const mm = pen.measureText("H").actualBoundingBoxAscent / 1000 * parseFloat(style.fontSize) * ${SCREEN_MM} / innerWidth;
      return 2 * Math.atan(mm / 2 / 3000) * 60 * 180 / Math.PI;
    })`);
    expect(Math.min(...arcs)).toBeGreaterThanOrEqual(16);
    expect(await page.value("(() => { const r = document.querySelector('.scanflash').getBoundingClientRect(); return r.bottom <= innerHeight && r.right <= innerWidth; })()")).toBe(true);
    expect(await page.value("lab.axe()")).toEqual([]);
  }
  await page.close();
}, 60_000);

it("on a phone the flash is whole", async () => {
  const page = await at("lanes=6#/board", "document.querySelector('.lane')", { width: 390, height: 844 });
  await scan(page, "99999");
  await told(page, "99999", false);
  expect(await page.value("(() => { const e = document.querySelector('.scanflash'), r = e.getBoundingClientRect(); return r.bottom <= innerHeight && r.right <= innerWidth && e.scrollWidth <= e.clientWidth && [...e.querySelectorAll('a, button')].every((b) => b.getBoundingClientRect().height >= 48); })()")).toBe(true);
  await page.close();
}, 60_000);
