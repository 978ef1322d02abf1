import { describe, expect, it } from "vitest";
import { levelColumns, levelRows } from "../src/unit/levels";
import { asLitres, inVolume } from "../src/words/measure";

const at = (min: number): string => new Date(Date.UTC(2026, 2, 1, 9, min)).toISOString();

describe("levels over time", () => {
  const points = [{ at: at(0), levels_l: { waste: 1 } }, { at: at(4), levels_l: { waste: 2, wash: 9 } }, { at: at(11), levels_l: { wash: 8 } }];
  it("has a column a container, and a hole where one was not heard", () => {
    const c = levelColumns(points);
    expect(c.names).toEqual(["wash", "waste"]);
    expect(c.of["wash"]).toEqual([null, 9, 8]);
    expect(c.of["waste"]).toEqual([1, 2, null]);
    expect(c.t[1]! - c.t[0]!).toBe(240);
  });
  it("gives the last of each stretch as a row, newest first", () => expect(levelRows(points, 10).map((r) => r.at)).toEqual([at(11), at(4)]));
  it("shows US gallons to who wants them (a US gallon is 231 cubic inches: 3.785411784 l, NIST Handbook 44)", () => {
    expect(inVolume(18.92705892, "gal")).toBeCloseTo(5, 9);
    expect(asLitres(inVolume(12.5, "gal"), "gal")).toBeCloseTo(12.5, 9);
  });
});
