// @vitest-environment node
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { openLab, type Lab } from "./lab";

// WCAG 2.2, 1.4.10 (Reflow): text that runs across needs no scrolling in two
// directions. A phone here is 390 px wide.

let lab: Lab;
beforeAll(async () => {
  lab = await openLab();
}, 120_000);
afterAll(() => lab?.close(), 30_000);

const places = [
  "", "alerts", "alerts/a1", "rolls", "runs", "runs/run-2042", "runs/run-2041", "load", "load/tern-street/plover", "start", "unit", "unit/tern-street/plover", "duty", "hand-over", "figures",
  "settings/mine", "settings/house", "settings/people", "settings/screens", "settings/units", "settings/sheets", "settings/checks", "settings/changes", "set-up",
];

/** What reaches beyond the right edge, except inside what scrolls by itself. */
const beyond = `[...document.querySelectorAll("body *")].filter((e) => e.getBoundingClientRect().right > innerWidth + 0.5 && !e.closest(".scroll")).slice(0, 4).map((e) => e.tagName + "." + e.getAttribute("class") + " " + (e.textContent ?? "").trim().slice(0, 30))`;

describe("on a phone", () => {
  it("no page is wider than the screen, with all its folds open", async () => {
    const page = await lab.open("", { width: 390, height: 844 });
    const wide: string[] = [];
    for (const place of places) {
      await page.value(`location.hash = "#/${place}"`);
      await page.until("!document.querySelector('main [role=status]')?.textContent.includes('One moment') && document.querySelector('main h1, .lane')");
      await page.value("document.querySelectorAll('details').forEach((d) => (d.open = true)); new Promise((ok) => requestAnimationFrame(() => requestAnimationFrame(ok)))");
      const over = await page.value<number>("document.scrollingElement.scrollWidth - innerWidth");
      if (over > 0) wide.push(`${place}: ${over} px, ${(await page.value<string[]>(beyond)).join("; ")}`);
    }
    expect(wide).toEqual([]);
    expect(page.troubles).toEqual([]);
    await page.close();
  }, 120_000);
});
