// @vitest-environment node
import { afterAll, beforeAll, expect, it } from "vitest";
import { openLab, settled, type Lab } from "./lab";

let lab: Lab;
beforeAll(async () => {
  lab = await openLab();
}, 120_000);
afterAll(() => lab?.close(), 30_000);

// Who chose °F and gallons reads no °C and no liters, wherever a figure stands:
// texts of the server, figures of the pages, charts, titles and labels. A
// symbol that is a choice (the settings of this screen) is no figure.
const left = `(() => {
  const said = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_ELEMENT | NodeFilter.SHOW_TEXT);
  for (let n = walk.nextNode(); n; n = walk.nextNode()) {
    if (n.nodeType === 3) { if (!n.parentElement.closest("#this-screen, script, style, option")) said.push(n.data); }
    else for (const a of ["title", "aria-label", "aria-description", "placeholder"]) if (n.hasAttribute(a)) said.push(n.getAttribute(a));
  }
  return said.filter((s) => /°C|[0-9][ \u00a0][lL]\b/.test(s));
})()`;

const places = [["the board", "lanes=8&own&outlook"], ["the board with tanks and doubts", "lanes=6&alerts=6"]] as const;
const pages = [["an alert", "past", "#/alerts/"], ["a unit", "lanes=6", "#/unit/tern-street/plover"], ["a report", "lanes=6", "#/runs/"], ["the hand-over", "lanes=6", "#/hand-over"], ["the start of the day", "lanes=6", "#/start"], ["the alerts", "lanes=6", "#/alerts"], ["the sheets", "lanes=6", "#/settings/sheets"]] as const;

it.each(places)("%s", async (_what, query) => {
  const page = await lab.open(`${query}&f`);
  await settled(page);
  await page.until("/°F/.test(document.body.innerText)");
  expect(await page.value("/°F/.test(document.body.innerText)")).toBe(true);
  expect(await page.value(left)).toEqual([]);
  await page.close();
}, 60_000);

it.each(pages)("%s", async (_what, query, where) => {
  const page = await lab.open(`${query}&f`);
  const first = { "#/alerts/": "a[href^='#/alerts/']", "#/runs/": "a[href^='#/runs/']" }[where as string];
  if (first) {
    await page.value(`location.hash = '${where === "#/runs/" ? "#/runs" : "#/alerts"}'`);
    await page.until(`document.querySelector("main ${first}")`);
    await page.value(`location.hash = document.querySelector("main ${first}").getAttribute("href")`);
  } else {
    await page.value(`location.hash = '${where}'`);
  }
  await page.until("document.querySelector('main h1, main h2')");
  if (where !== "#/alerts/") await page.until("![...document.querySelectorAll('main *')].some((e) => e.children.length === 0 && /One moment|Fetching/.test(e.textContent))");
  expect(await page.value(left)).toEqual([]);
  await page.close();
}, 60_000);
