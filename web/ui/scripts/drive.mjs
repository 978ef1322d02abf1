// Measures the board in Chromium with an invented lab that talks all the time:
//
//   node scripts/drive.mjs tablet   40 units at 1 Hz, the CPU throttled four times: how much of a core
//   node scripts/drive.mjs soak     an hour at 40 units and 10 Hz, run faster: memory flat, frames kept
//
// Figures go to stdout as JSON; the exit status is 1 where a promise is not kept.
import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { build } from "vite";
import { serveFolder, startChromium } from "./chromium.mjs";

const kinds = { tablet, soak };
const run = kinds[process.argv[2] ?? ""];
if (!run) {
  console.error("usage: node scripts/drive.mjs tablet|soak");
  process.exit(2);
}
const folder = await mkdtemp(join(tmpdir(), "wetside-drive-"));
await build({ root: fileURLToPath(new URL("../fixture/", import.meta.url)), configFile: fileURLToPath(new URL("../fixture/vite.config.ts", import.meta.url)), logLevel: "error", build: { outDir: folder } });
const site = await serveFolder(folder);
const chromium = await startChromium(["--enable-precise-memory-info", "--js-flags=--expose-gc"]);
try {
  const { figures, kept } = await run(chromium, site);
  console.log(JSON.stringify(figures, null, 1));
  if (!kept) process.exitCode = 1;
} finally {
  await chromium.close();
  await site.close();
  await rm(folder, { recursive: true, force: true });
}

async function metrics(page) {
  const { metrics } = await page.send("Performance.getMetrics");
  return Object.fromEntries(metrics.map((m) => [m.name, m.value]));
}

/** Lets so many seconds pass in the page. */
function pass(page, s) {
  return page.value(`new Promise((ok) => setTimeout(ok, ${s * 1000}))`);
}

/** 40 units at 1 Hz on a slow machine: the main thread's busy time as part of a core, not throttled back. */
async function tablet(chromium, site) {
  const page = await chromium.page({ width: 1280, height: 800 });
  // Thread time: what others do on this machine does not count.
  await page.send("Performance.enable", { timeDomain: "threadTicks" });
  await page.open(`${site.address}?lanes=40&hz=1&alerts=3`);
  await page.until("document.querySelectorAll('.lane').length > 3");
  await pass(page, 5);
  await page.send("Emulation.setCPUThrottlingRate", { rate: 4 });
  await pass(page, 3);
  const a = await metrics(page);
  await pass(page, 30);
  const b = await metrics(page);
  const busy = (b.TaskDuration - a.TaskDuration) / (b.Timestamp - a.Timestamp);
  const part = (name) => Number((((b[name] - a[name]) / (b.Timestamp - a.Timestamp)) * 100).toFixed(2));
  const figures = {
    what: "40 units at 1 Hz, CPU throttled 4x, 1280x800, 30 s",
    core_percent: Number((busy * 100).toFixed(1)),
    script_percent: part("ScriptDuration"), style_percent: part("RecalcStyleDuration"), layout_percent: part("LayoutDuration"),
    promise: "under 20",
  };
  return { figures, kept: busy < 0.2 };
}

/**
 * An hour of 40 units at 10 Hz is 1,440,000 frames. They are fed as fast as the
 * page draws them: so many a drawn frame of the screen, each drawn before the
 * next come. Memory is read after a collection at each twelfth of the way.
 */
async function soak(chromium, site) {
  const frames = Number(process.env.FRAMES ?? 40 * 10 * 3600);
  const page = await chromium.page({ width: 1920, height: 1080 });
  await page.send("Performance.enable", { timeDomain: "threadTicks" });
  await page.open(`${site.address}?lanes=40&alerts=3&feed`);
  await page.until("globalThis.lab?.feed && document.querySelectorAll('.lane').length > 3");
  const heap = [];
  const nodes = [];
  let took = 0;
  let worst = 0;
  const before = await metrics(page);
  let drawn = 0;
  const parts = 12;
  for (let i = 0; i < parts; i++) {
    const r = await page.value(`lab.feed(${Math.ceil(frames / parts)})`);
    took += r.ms;
    drawn += r.drawn;
    worst = Math.max(worst, r.p99);
    await page.send("HeapProfiler.collectGarbage");
    const { usedSize } = await page.send("Runtime.getHeapUsage");
    heap.push(Number((usedSize / 1e6).toFixed(2)));
    nodes.push((await page.send("Memory.getDOMCounters")).nodes);
  }
  // Invented runs last half an hour: the lines of the bath are as long at the
  // end of the first half as at the end of the second. Which page stands where
  // the nodes are counted is chance, so the most of each half is taken.
  const half = parts / 2;
  const first = heap[half - 1];
  const last = heap.at(-1);
  const most = (list) => Math.max(...list);
  const after = await metrics(page);
  const cpu = ((after.TaskDuration - before.TaskDuration) * 1000) / drawn;
  const figures = {
    what: "an hour at 40 units and 10 Hz, run faster", frames, seconds: Number((took / 1000).toFixed(1)), times_faster: Number((frames / 400 / (took / 1000)).toFixed(1)),
    screens_drawn: drawn, frames_a_screen: Math.round(frames / drawn), cpu_ms_a_screen: Number(cpu.toFixed(2)), slowest_percent_ms_by_the_wall: Number(worst.toFixed(1)), heap_mb: heap, dom_nodes: nodes,
    promise: "heap after the second half hour within 1 MB of that after the first, no more nodes, a second's 400 frames taken and drawn in under 33 ms of CPU",
  };
  return { figures, kept: last - first < 1 && most(nodes.slice(half)) <= most(nodes.slice(0, half)) * 1.05 && cpu * 400 / (frames / drawn) < 33 };
}
