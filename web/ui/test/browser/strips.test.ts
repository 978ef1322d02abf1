// @vitest-environment node
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { openLab, type Lab } from "./lab";

// Control strips as they are seen: from two metres, on a phone, on paper.

let lab: Lab;
beforeAll(async () => {
  lab = await openLab();
}, 120_000);
afterAll(() => lab?.close(), 30_000);

const PAGE = "#/strips/tern-street/plover/c41";

// A 24-inch screen of 16:9 is 24 * 25.4 * 16 / hypot(16, 9) = 531 mm wide. 16
// arc minutes: as for the board (ISO 9241-303, 5.5.4 of its first edition, from
// memory).
const SCREEN_MM = (24 * 25.4 * 16) / Math.hypot(16, 9);
const AWAY_MM = 2000;
const capitals = `(() => {
  const of = { gate: ".strips .gate b", figure: ".striprow figcaption b", latest: ".striprow .latest" };
  const pen = document.createElement("canvas").getContext("2d");
  return Object.entries(of).flatMap(([what, where]) => [...document.querySelectorAll(where)].map((e) => {
    const style = getComputedStyle(e);
    pen.font = style.fontWeight + " 1000px " + style.fontFamily;
    const mm = pen.measureText("H").actualBoundingBoxAscent / 1000 * parseFloat(style.fontSize) * ${SCREEN_MM} / innerWidth;
    return [what, 2 * Math.atan(mm / 2 / ${AWAY_MM}) * 60 * 180 / Math.PI];
  }));
})()`;

describe("the strips page", () => {
  it("is read from two metres: the gate, and each figure with its last value", async () => {
    const page = await lab.open(`strips&out${PAGE}`, { width: 1920, height: 1080 });
    await page.until("document.querySelectorAll('.striprow').length === 5");
    const found = await page.value<[string, number][]>(capitals);
    expect(found.filter(([, arc]) => arc < 16)).toEqual([]);
    expect(found).toHaveLength(11);
    const overflow = await page.value<string[]>("[...document.querySelectorAll('.striprow figcaption')].filter((e) => e.scrollWidth > e.clientWidth + 1).map((e) => e.textContent)");
    expect(overflow).toEqual([]);
    expect(page.troubles).toEqual([]);
    await page.close();
  }, 60_000);

  it("has keys for wet fingers on a phone: large, and under the thumb while a field is in sight", async () => {
    const page = await lab.open(`strips${PAGE}`, { width: 390, height: 844, touch: true });
    await page.until("document.querySelector('.keypad') || document.querySelector('.pad')");
    if (!(await page.value("!!document.querySelector('.keypad')"))) await page.value("[...document.querySelectorAll('.pad button')].find((b) => b.textContent === 'Large keys').click()");
    await page.until("document.querySelector('.keypad')");
    await page.value("document.querySelectorAll('input.density')[4].focus()");
    await page.value("[...document.querySelectorAll('.keypad button')].filter((b) => ['0', '7', '6'].includes(b.textContent)).sort((a, b) => '076'.indexOf(a.textContent) - '076'.indexOf(b.textContent)).forEach((b) => b.click())");
    await page.until("document.querySelectorAll('input.density')[4].value === '0.76' && document.activeElement === document.querySelectorAll('input.density')[5]");
    const keys = await page.value<{ w: number; h: number; bottom: number }[]>("[...document.querySelectorAll('.keypad button')].map((b) => { const r = b.getBoundingClientRect(); return { w: r.width, h: r.height, bottom: r.bottom }; })");
    // 68 px of a phone of 390 px are over 11 mm; WCAG 2.2 (2.5.5) wants 44 px.
    expect(keys.every((k) => k.h >= 68 && k.w >= 84 && k.bottom <= 844)).toBe(true);
    expect(await page.value("document.documentElement.scrollWidth <= innerWidth")).toBe(true);
    await page.close();
  }, 60_000);

  it("prints as sheets of A4 across: the chart on the first, the figures behind it", async () => {
    const page = await lab.open(`strips&out${PAGE}`, { width: 1280, height: 900 });
    await page.until("document.querySelectorAll('.striprow').length === 5");
    const pdf = (await page.paper()).toString("latin1");
    const boxes = [...pdf.matchAll(/\/MediaBox *\[0 0 ([\d.]+) ([\d.]+)\]/g)].map((m) => [Math.round(Number(m[1])), Math.round(Number(m[2]))]);
    // ISO 216: A4 is 210 by 297 mm, 595 by 842 points.
    expect(boxes).toEqual([[842, 595], [842, 595]]);
    await page.close();
  }, 60_000);

  it.each(["light", "dark"])("has nothing that axe-core finds (%s)", async (scheme) => {
    const page = await lab.open(`strips&out&scheme=${scheme}${PAGE}`, { width: 1280, height: 900 });
    await page.until("document.querySelectorAll('.striprow').length === 5");
    expect(await page.value("lab.axe()")).toEqual([]);
    await page.close();
  }, 60_000);
});
