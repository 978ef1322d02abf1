// @vitest-environment node
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { openLab, type Lab } from "./lab";

// Rolls as people meet them: a loud question at loading, a list that is pasted,
// film that is released in one go, a search.

let lab: Lab;
beforeAll(async () => {
  lab = await openLab();
}, 120_000);
afterAll(() => lab?.close(), 30_000);

const text = (where: string): string => `document.querySelector(${JSON.stringify(where)})?.textContent ?? ""`;
const says = (where: string, what: string): string => `(${text(where)}).includes(${JSON.stringify(what)})`;
const press = (where: string, what: string): string =>
  `[...document.querySelectorAll(${JSON.stringify(where)} + " button")].find((b) => b.textContent.includes(${JSON.stringify(what)})).click()`;
/** Writes as a person would, into a field that a signal follows. */
const write = (where: string, what: string): string =>
  `(() => { const e = document.querySelector(${JSON.stringify(where)}); e.value = ${JSON.stringify(what)}; e.dispatchEvent(new Event("input", { bubbles: true })); })()`;
const scan = (code: string): string => `${write(".scanfield input", code)}; document.querySelector(".scanfield form, form.scanfield").requestSubmit()`;

for (const size of [{ width: 1280, height: 800 }, { width: 390, height: 844 }]) {
  describe(`rolls at ${size.width}x${size.height}`, () => {
    it("a roll that ran stops, says in which run, by whom and when, and goes once it is answered", async () => {
      const page = await lab.open("lanes=6#/load/tern-street/turnstone", size);
      await page.until("document.querySelector('.scanfield input')");
      await page.value(scan("48214"));
      await page.until(says(".rollrows", "48214"));
      await page.value(press("main", "Check"));
      await page.until(says(".gostop", "STOP"));
      expect(await page.value(text(".gsreasons"))).toMatch(/Roll 48214 went through run .* on avocet, C-41, begun .*Mina.*What is this\?/);
      const cut = "[...document.querySelectorAll('.gsask button')].filter((b) => b.scrollWidth > b.clientWidth + 1 || b.getBoundingClientRect().right > innerWidth || b.getBoundingClientRect().height < 44).map((b) => b.textContent)";
      expect(await page.value(cut)).toEqual([]);
      await page.value(press(".gsask", "(rescue)"));
      await page.until("!document.querySelector('.gsask')");
      expect(await page.value(text(".gsreasons"))).toContain("Answered: the same film");
      expect(page.troubles).toEqual([]);
      await page.close();
    }, 60_000);

    it("a list is pasted; what is wrong with a row is said of that row, and the list shows what waits", async () => {
      const page = await lab.open("lanes=6#/rolls", size);
      await page.until(says(".waiting", "60212"));
      await page.value(write(".paste textarea", "twin check,process,push,order\n70001,C-41,0,C-9\na+b,C-41,0,C-9\n"));
      await page.until("!document.querySelector('.paste button').disabled");
      await page.value("document.querySelector('.paste').requestSubmit()");
      await page.until(says("main", "1 new, 1 not taken."));
      expect(await page.value(text(".refused"))).toContain("Row 3");
      await page.until(says(".waiting", "70001"));
      expect(page.troubles).toEqual([]);
      await page.close();
    }, 60_000);

    it("undecided film has an owner and an age, and all of it is released in one press", async () => {
      const page = await lab.open("lanes=6#/hand-over", size);
      await page.until(says(".undecided", "will decide, undecided for"));
      await page.value(press(".undecided", "Tick all"));
      await page.until(says(".undecidedacts", "Release the 4 ticked runs"));
      await page.value(press(".undecidedacts", "Release the 4"));
      await page.until(says("main", "Every run that was off has been decided about."));
      expect(page.troubles).toEqual([]);
      await page.close();
    }, 60_000);

    it("a roll that waits is found, and a search after a miss starts anew", async () => {
      const page = await lab.open("lanes=6#/runs", size);
      await page.until("document.querySelector('#seek')");
      const seek = async (what: string): Promise<void> => {
        await page.value(`${write("#seek", what)}; document.querySelector("form.seek").requestSubmit()`);
      };
      await seek("60212");
      await page.until(says(".rollnow", "waits"));
      expect(await page.value(text(".rollnow"))).toContain("order A-1071");
      await page.until(says(".empty", "No run carried 60212"));
      await seek("plover");
      await page.until("document.querySelector('.runrows li') && !document.querySelector('.rollnow, .empty')");
      expect(page.troubles).toEqual([]);
      await page.close();
    }, 60_000);
  });
}
