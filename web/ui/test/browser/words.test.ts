// @vitest-environment node
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { cutWords } from "./cut";
import { openLab, settled, type Lab } from "./lab";

// Words on the board are whole: at each size, with names as long as they come,
// in every state of a lane; and none lies on another.

let lab: Lab;
beforeAll(async () => {
  lab = await openLab();
}, 120_000);
afterAll(() => lab?.close(), 30_000);

const sizes = [[1920, 1080], [1280, 800], [1024, 768], [390, 844]] as const;
const STATES = 37;

describe.each(sizes)("at %i by %i", (width, height) => {
  // Few lanes are tall, some full, many slim: each state is looked at in each form.
  it.each([["few, short names", 4, ""], ["some, long names", 8, "&long"], ["many, short names", STATES, ""], ["many, long names", STATES, "&long"]] as const)("%s", async (_name, lanes, more) => {
    const found: string[] = [];
    for (let from = 0; from < STATES; from += lanes) {
      const page = await lab.open(`lanes=${lanes}&states&alerts=1&outlook&from=${from}${more}`, { width, height });
      const pages = await page.value<number>("Math.max(1, document.querySelectorAll('.turn button.dot').length)");
      for (let i = 0; i < pages; i++) {
        if (i > 0) {
          await page.value(`document.querySelectorAll('.turn button.dot')[${i}].click()`);
          await settled(page);
        }
        found.push(...(await page.value<string[]>(cutWords)));
      }
      await page.close();
    }
    expect([...new Set(found)]).toEqual([]);
  }, 240_000);

  it.each([3, 14, 159, 2653, 58_979])("the job line, jobs dealt by %i", async (seed) => {
    const page = await lab.open(`lanes=6&calm&jobs=${seed}`, { width, height });
    await page.until("document.querySelectorAll('.jobline .mark').length > 1");
    expect(await page.value<string[]>(cutWords)).toEqual([]);
    await page.close();
  }, 60_000);
});

describe("what has cleared", () => {
  it("pushes no unit off the first wall page, and goes by one press for each unit", async () => {
    const page = await lab.open("lanes=16&calm&over", { width: 1920, height: 1080 });
    expect(await page.value("[document.querySelectorAll('.lane').length, document.querySelectorAll('.turn').length, document.querySelectorAll('.cleared').length]")).toEqual([16, 0, 4]);
    expect(await page.value<string[]>(cutWords)).toEqual([]);
    // An idle unit has the press in its row; a running one under its count.
    await page.value("[...document.querySelectorAll('.lane .ackcleared')].find((b) => b.textContent === 'Acknowledge cleared, Dunlin').click()");
    await page.until("document.querySelectorAll('.cleared').length === 3");
    await page.value("document.querySelector('.cleared.count button.seen').click()");
    await page.until("document.querySelector('.clearedlist .ackcleared')");
    expect(await page.value("document.querySelector('.clearedlist').textContent")).toMatch(/Acknowledge cleared, \w+.*Cleared at .*Developer ran 38 s/);
    await page.value("document.querySelector('.clearedlist .ackcleared').click()");
    await page.until("document.querySelectorAll('.cleared').length === 2");
    await page.close();
  }, 60_000);

  it("is one line a unit where there is room, with what it was", async () => {
    const page = await lab.open("lanes=4&calm&over", { width: 1280, height: 800 });
    expect(await page.value("[...document.querySelectorAll('.cleared')].map((e) => e.querySelector('.seen').textContent.replace(/\\d+:\\d+/, '00:00'))")).toEqual(expect.arrayContaining([expect.stringMatching(/^2 cleared, the last at 00:00: Developer ran 38 s/), expect.stringMatching(/^Cleared at 00:00: Developer ran 38 s/)]));
    expect(await page.value("[...document.querySelectorAll('.lane')].every((l) => l.querySelectorAll('.cleared').length <= 1)")).toBe(true);
    await page.close();
  }, 60_000);
});

describe("trouble", () => {
  it("of mains power is said once", async () => {
    const page = await lab.open("lanes=6&mains", { width: 1920, height: 1080 });
    const said = await page.value<string>("document.querySelector('[data-unit$=plover]').innerText");
    expect(said.match(/by hand/gi)).toHaveLength(1);
    expect(said.match(/Mains power lost/g)).toHaveLength(1);
    expect(await page.value("[...document.querySelectorAll('[data-unit$=plover] .alert .what')].map((e) => e.lastChild.textContent.trim())")).toEqual(["Mains power lost; unit on battery", "Battery 12 %"]);
    await page.close();
  }, 60_000);

  it("that no alert marks is marked by the lane itself", async () => {
    const page = await lab.open("lanes=12&states&alerts=0&from=3", { width: 1280, height: 800 });
    const unmarked = await page.value<string[]>("[...document.querySelectorAll('.lane:has(.doing.hand)')].filter((l) => !l.querySelector('.alert .shape, .doing .shape, .advice')).map((l) => l.querySelector('h2').textContent)");
    expect(unmarked).toEqual([]);
    expect(await page.value("document.querySelectorAll('.doing .shape').length")).toBeGreaterThan(3);
    await page.close();
  }, 60_000);
});
