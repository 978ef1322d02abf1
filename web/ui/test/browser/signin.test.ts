// @vitest-environment node
import { afterAll, beforeAll, expect, it } from "vitest";
import { scan } from "./keys";
import { openLab, type Lab } from "./lab";

// A sign-in that has ended offers the way back in, and loses nothing.

let lab: Lab;
beforeAll(async () => {
  lab = await openLab();
}, 120_000);
afterAll(() => lab?.close(), 30_000);

it.each([[1280, 800], [390, 844]])("at %i by %i: rolls scanned before are still there", async (width, height) => {
  const page = await lab.open("ends#/load/tern-street/turnstone", { width, height });
  await page.until("document.querySelector('.runchoice')");
  for (const code of ["60101", "60102"]) {
    await scan(page, code);
    await page.until(`document.querySelector('.rollrows')?.textContent.includes(${JSON.stringify(code)})`);
  }
  await page.value("lab.signOutOnServer()");
  await page.value("document.querySelector('.check').click()");
  await page.until("document.querySelector('dialog.again[open]')");
  expect(await page.value("[document.querySelector('dialog.again h1').textContent, document.querySelector('dialog.again [name=name]').value, document.activeElement.name]")).toEqual(["Your sign-in has ended", "Ana", "password"]);
  // Nothing of the page shows through.
  expect(await page.value("getComputedStyle(document.querySelector('dialog.again'), '::backdrop').backgroundColor")).not.toMatch(/rgba\(.*, 0/);
  await page.send("Input.insertText", { text: "a long enough password" });
  await page.value("document.querySelector('dialog.again form').requestSubmit()");
  await page.until("!document.querySelector('dialog.again')");
  expect(await page.value("[location.hash, document.querySelectorAll('.rollrows li').length]")).toEqual(["#/load/tern-street/turnstone", 2]);
  await page.until("!document.querySelector('.check').disabled");
  await page.value("document.querySelector('.check').click()");
  await page.until("document.querySelector('.gostop')");
  expect(page.troubles).toEqual([]);
  await page.close();
}, 60_000);

it("is noticed by a question as well as by a press, and has nothing that axe-core finds", async () => {
  const page = await lab.open("ends#/runs", { width: 1280, height: 800 });
  await page.until("document.querySelector('.runs .seek')");
  await page.value("lab.signOutOnServer()");
  await page.value("document.querySelector('.runs .seek input').focus()");
  await scan(page, "48213");
  await page.until("document.querySelector('dialog.again[open]')");
  expect(await page.value("lab.axe()")).toEqual([]);
  await page.close();
}, 60_000);
