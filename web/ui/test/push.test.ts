import { readFileSync } from "node:fs";
import { runInNewContext } from "node:vm";
import { beforeEach, describe, expect, it } from "vitest";

interface Shown { title: string; body: string; tag?: string; renotify?: boolean; data: { id: string; link: string } }

/** The service worker as it is delivered, and what stands on its phone. */
function phone(): { push(page: object): Promise<Shown>; tray: Shown[]; now: { value: number } } {
  const on = new Map<string, (e: unknown) => void>();
  const tray: Shown[] = [];
  const now = { value: 1_000_000 };
  const self = {
    addEventListener: (what: string, f: (e: unknown) => void) => void on.set(what, f),
    skipWaiting: () => undefined,
    registration: {
      getNotifications: async ({ tag }: { tag: string }) => tray.filter((n) => n.tag === tag),
      showNotification: async (title: string, o: Omit<Shown, "title">) => {
        const at = tray.findIndex((n) => o.tag !== undefined && n.tag === o.tag);
        if (at >= 0) tray.splice(at, 1);
        tray.push({ title, ...o });
      },
    },
  };
  runInNewContext(readFileSync("public/sw.js", "utf8"), { self, Date: { now: () => now.value }, URL });
  return {
    tray, now,
    async push(page) {
      let done: Promise<unknown> = Promise.resolve();
      on.get("push")?.({ data: { json: () => page }, waitUntil: (p: Promise<unknown>) => (done = p) });
      await done;
      return tray.at(-1) as Shown;
    },
  };
}

describe("a page on a lock screen", () => {
  let p: ReturnType<typeof phone>;
  beforeEach(() => void (p = phone()));
  const page = { id: "pg-1", topic: "plover", title: "Urgent. Plover", text: "At 15:50:48 press the button.", until: 1_060_000, after: "The time has passed.", link: "/p/x" };

  it("says after its time what holds then", async () => {
    expect((await p.push(page)).body).toBe(page.text);
    p.now.value = 1_060_000;
    expect((await p.push({ ...page, id: "pg-2" })).body).toBe(page.after);
    expect((await p.push({ ...page, id: "pg-3", until: undefined, topic: "heron" })).body).toBe(page.text);
  });
  it("gives way to the next on the same matter, which rings; a copy does not", async () => {
    await p.push(page);
    expect((await p.push(page)).renotify).toBe(false);
    expect(p.tray).toHaveLength(1);
    const next = await p.push({ ...page, id: "pg-2", title: "Mains power is back" });
    expect(next.renotify).toBe(true);
    expect(p.tray.map((n) => n.title)).toEqual(["Mains power is back"]);
    await p.push({ ...page, id: "pg-3", topic: "heron" });
    expect(p.tray).toHaveLength(2);
  });
});
