import { describe, expect, it } from "vitest";
import { addReading, BAND_BOTTOM, BAND_TOP, HEIGHT, tracePaths, reachOf, unheard, yOf } from "../src/board/trace";
import type { Layout } from "../src/board/segments";

const one = (from: number, to: number, low: number | null = 37, high: number | null = 39) =>
  ({ n: 1, step: "developer", label: "", state: "now" as const, from, to, low, high });
const layout: Layout = { from: 0, to: 100_000, segments: [one(0, 100_000)] };

describe("a temperature in its band", () => {
  it("is to scale: the limits are the band's edges, the middle its middle", () => {
    expect(yOf(39, 37, 39)).toBe(BAND_TOP);
    expect(yOf(37, 37, 39)).toBe(BAND_BOTTOM);
    expect(yOf(38, 37, 39)).toBe(HEIGHT / 2);
  });
  it("outside is drawn outside, and stops at the edge of the drawing", () => {
    expect(yOf(39.2, 37, 39)).toBeLessThan(BAND_TOP);
    expect(yOf(80, 37, 39)).toBeGreaterThan(0);
    expect(yOf(0, 37, 39)).toBeLessThan(HEIGHT);
  });
});

describe("the line", () => {
  it("tells settling from being outside", () => {
    const p = tracePaths(layout, [{ t: 0, c: 35 }, { t: 10_000, c: 38 }, { t: 20_000, c: 38 }, { t: 39_000, c: 40 }]);
    expect(p.settling).toMatch(/^M0\.0/);
    expect(p.inside).toBe("M0.0 97.0L100.0 50.0L200.0 50.0");
    expect(p.outside).toMatch(/^M200\.0 50\.0L390\.0/);
  });
  it("breaks where readings are missing and says where", () => {
    const list = [{ t: 0, c: 38 }, { t: 5000, c: 38 }, { t: 80_000, c: 38 }, { t: 85_000, c: 38 }];
    expect(tracePaths(layout, list).inside.match(/M/g)).toHaveLength(2);
    expect(unheard(layout, list)).toEqual([{ from: 50, to: 800 }]);
  });
  it("calls nothing outside where a step has no limits", () => {
    const open: Layout = { ...layout, segments: [one(0, 100_000, null, null)] };
    expect(tracePaths(open, [{ t: 50_000, c: 90 }, { t: 60_000, c: 91 }]).outside).toBe("");
  });
  it("is the same while it would be drawn the same", () => {
    const at = (t: number, c = 38, by = 100_000, first = 0): string => reachOf(layout, [{ t: first, c: 38 }, { t, c }], by);
    expect(at(40_010)).toBe(at(40_090)); // a column of the drawing is 100 ms wide
    expect(at(40_010)).not.toBe(at(40_110));
    expect(at(40_010)).not.toBe(at(40_010, 40)); // now outside
    expect(at(40_010)).not.toBe(at(40_010, 38, 100_000, 5)); // the past came in behind it
    expect(at(40_010, 38, 30_000)).toBe(at(50_010, 38, 30_000)); // later than the lane shows
    expect(reachOf(layout, [], 0)).toBe("");
  });
  it("keeps readings in order and within bounds", () => {
    const list = addReading(addReading([{ t: 5, c: 1 }], { t: 4, c: 2 }), { t: 6, c: 3 }, 1);
    expect(list).toEqual([{ t: 6, c: 3 }]);
  });
});
