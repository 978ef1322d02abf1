import { describe, expect, it } from "vitest";
import { HOLD_AFTER_TOUCH_MS, planDesk, planWall, turn, TURN_EVERY_MS, type LaneRoom, type WallPlan } from "../src/board/wall";

// A wall of 1080 lines leaves about 840 for the lanes; heights as lane.css makes them.
const ROOM = 840;
const BAR = 52;
const calm = (id: string, more = 0): LaneRoom => ({ id, needs: false, urgent: false, tall: 168 + more, full: 104 + more, slim: 52 + more });
const loud = (id: string, urgent = true, alerts = 1): LaneRoom => ({ id, needs: true, urgent, tall: 168 + 96 * alerts, full: 104 + 96 * alerts, slim: 52 + 84 * alerts });
const some = (n: number, make: (id: string) => LaneRoom): LaneRoom[] => Array.from({ length: n }, (_, i) => make(`u${i}`));
const forms = (p: WallPlan): string[] => [...new Set(p.pages.flat().map((x) => x.form))];

function check(lanes: LaneRoom[], p: WallPlan, height: number): void {
  const by = new Map(lanes.map((l) => [l.id, l]));
  const bar = p.pages.length > 1 ? BAR : 0;
  for (const page of p.pages) {
    const h = page.reduce((s, x) => s + (by.get(x.id)?.[x.form] ?? 0), 0);
    // One lane may be higher than the whole wall; two may not.
    if (page.length > 1) expect(h).toBeLessThanOrEqual(height - bar);
    expect(new Set(page.map((x) => x.id)).size).toBe(page.length);
  }
  expect(new Set(p.pages.flat().map((x) => x.id))).toEqual(new Set(by.keys()));
}

describe("the height of a wall shared out", () => {
  it.each([[4, 1, "tall"], [8, 1, "full"], [16, 1, "slim"], [40, 3, "slim"]])("%i calm units: %i page(s), %s", (n, pages, form) => {
    const lanes = some(n, (id) => calm(id));
    const p = planWall(lanes, ROOM, BAR);
    expect(p.pages).toHaveLength(pages);
    expect(forms(p)).toEqual([form]);
    check(lanes, p, ROOM);
  });

  it("keeps eight units on one page with three large alerts among them", () => {
    const lanes = [loud("a"), loud("b"), loud("c", false), ...some(5, (id) => calm(id))];
    const p = planWall(lanes, ROOM, BAR);
    expect(p.pages).toHaveLength(1);
    check(lanes, p, ROOM);
  });

  it("shows who needs someone on every page while the calm ones turn", () => {
    const lanes = [loud("a"), loud("b", false), ...some(30, (id) => calm(id))];
    const p = planWall(lanes, ROOM, BAR);
    expect(p.pages.length).toBeGreaterThan(1);
    for (const page of p.pages) expect(page.slice(0, 2).map((x) => x.id)).toEqual(["a", "b"]);
    check(lanes, p, ROOM);
  });

  it("keeps the urgent first when more need someone than a page holds", () => {
    const lanes = [loud("a"), loud("b"), ...Array.from({ length: 9 }, (_, i) => loud(`h${i}`, false)), ...some(20, (id) => calm(id))];
    const p = planWall(lanes, ROOM, BAR);
    for (const page of p.pages) expect(page.slice(0, 2).map((x) => x.id)).toEqual(["a", "b"]);
    check(lanes, p, ROOM);
  });

  it("forgets nobody, whatever the trouble and the room", () => {
    let seed = 7;
    const chance = (): number => (seed = (seed * 48271) % 2147483647) / 2147483647;
    for (let i = 0; i < 400; i++) {
      const lanes = some(1 + Math.floor(chance() * 40), (id) =>
        chance() < 0.3 ? loud(id, chance() < 0.5, 1 + Math.floor(chance() * 3)) : calm(id, chance() < 0.2 ? 34 : 0),
      ).sort((a, b) => Number(b.urgent) - Number(a.urgent) || Number(b.needs) - Number(a.needs));
      const height = 400 + chance() * 900;
      check(lanes, planWall(lanes, height, BAR), height);
    }
  });
});

describe("a desk", () => {
  it("has one page, whatever there is: what does not fit is scrolled to", () => {
    const lanes = [loud("a"), loud("b", false), ...some(30, (id) => calm(id))];
    expect(planDesk(lanes, 600).pages.map((p) => p.length)).toEqual([32]);
    expect(planDesk(lanes, 600).pages[0]?.slice(0, 3).map((x) => x.form)).toEqual(["full", "full", "slim"]);
    // A screen of 1280 x 800 leaves its lanes 617 px, that is 925 of a 1920th of its width.
    expect(forms(planDesk(some(6, (id) => calm(id)), 925))).toEqual(["full"]);
  });
});

describe("turning", () => {
  const now = 1_000_000;
  it("turns every twelve seconds, round and round", () => {
    expect(turn(0, 3, now - TURN_EVERY_MS + 1, -Infinity, false, now)).toBeNull();
    expect(turn(0, 3, now - TURN_EVERY_MS, -Infinity, false, now)).toBe(1);
    expect(turn(2, 3, now - TURN_EVERY_MS, -Infinity, false, now)).toBe(0);
  });
  it("not under a hand, nor while held", () => {
    expect(turn(0, 3, 0, now - HOLD_AFTER_TOUCH_MS + 1, false, now)).toBeNull();
    expect(turn(0, 3, 0, -Infinity, true, now)).toBeNull();
  });
  it("goes back to the first page when there is no other any more", () => {
    expect(turn(2, 1, now, -Infinity, true, now)).toBe(0);
    expect(turn(3, 3, now, now, false, now)).toBe(0);
  });
});
