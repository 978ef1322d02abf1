import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { build } from "vite";
import { serveFolder, startChromium, type Page } from "../../scripts/chromium.mjs";

/** The invented lab built and served, and a Chromium to look at it. */
export interface Lab {
  open(query: string, size?: { width: number; height: number; scale?: number; touch?: boolean }): Promise<Page>;
  close(): Promise<void>;
}

export async function openLab(): Promise<Lab> {
  const folder = await mkdtemp(join(tmpdir(), "wetside-lab-"));
  await build({ configFile: "fixture/vite.config.ts", logLevel: "error", build: { outDir: folder, emptyOutDir: true } });
  const site = await serveFolder(folder);
  const chromium = await startChromium();
  return {
    async open(query, size) {
      const page = await chromium.page(size);
      await page.open(`${site.address}?${query}`);
      await page.until("document.querySelector('.lane, .empty, .list')");
      await settled(page);
      return page;
    },
    async close() {
      await chromium.close();
      await site.close();
      await rm(folder, { recursive: true, force: true });
    },
  };
}

/** Waits until the lanes stand still: laid out, measured, and no glide under way. */
export const settled = (page: Page): Promise<unknown> =>
  page.value(`new Promise((ok) => {
    let last = "", same = 0;
    const look = () => {
      const now = JSON.stringify([...document.querySelectorAll(".lane, .path")].map((e) => [e.className, e.offsetTop, e.offsetHeight])) + document.getAnimations().filter((a) => a.playState === "running" && a.constructor === Animation).length;
      same = now === last ? same + 1 : 0;
      last = now;
      same > 20 ? ok(true) : requestAnimationFrame(look);
    };
    look();
  })`);
