import { describe, expect, it } from "vitest";
import { crowds, needs, placeNeeds, type Need, type Spot } from "../src/board/jobs";
import { at, run, T0, unit } from "./make";

const need = (name: string, minutes: number): Need => ({ unit: `l/${name}`, what: "to-dryer", due: T0 + minutes * 60_000 });
const words = (n: Need) => ({ name: n.unit.slice(2), what: "to dryer" });

describe("next jobs", () => {
  it("adds the end of a run that the server does not mention, once", () => {
    const wet = unit("l/heron", { activity: "running", run: run([], { ends_at: at(600) }) });
    expect(needs([], [wet])).toEqual([{ unit: "l/heron", what: "to-dryer", due: T0 + 600_000 }]);
    expect(needs([{ unit: "l/heron", what: "to-dryer", due_at: at(610) }], [wet])).toHaveLength(1);
  });

  it("marks several units within two minutes, not one unit twice", () => {
    const list = [need("a", 5), need("b", 6), need("c", 6.9), need("d", 20), need("d", 20.5)];
    expect(crowds(list)).toEqual([{ from: T0 + 5 * 60_000, to: T0 + 6.9 * 60_000, units: 3 }]);
  });
});

describe("the line of next jobs", () => {
  const em = 0.0089;
  const overlap = (a: Spot, b: Spot): boolean => {
    const reach = (s: Spot): [number, number] => {
      const w = (s.name.length + s.what.length + 2 + (s.more ? 3 : 0)) * em;
      return s.flip ? [s.x - w, s.x] : [s.x, s.x + w];
    };
    const [a0, a1] = reach(a);
    const [b0, b1] = reach(b);
    const texts = a.row === b.row && a0 < b1 && b0 < a1;
    const stem = (s: Spot, from: number, to: number, row: number): boolean => s.x > from && s.x < to && s.row >= row;
    return texts || stem(b, a0, a1, a.row) || stem(a, b0, b1, b.row);
  };
  it.each([
    ["spread", [2, 8, 15, 22]],
    ["close", [2, 2.5, 3, 9, 9.5, 10, 28, 29, 29.5]],
    ["all at once", [5, 5, 5, 5, 5, 5, 5, 5]],
  ])("puts no words over others and no stem through words: %s", (_, minutes) => {
    const spots = placeNeeds(minutes.map((m, i) => need(`unit${i}`, m)), T0, em, words);
    for (const a of spots) for (const b of spots) if (a !== b) expect(overlap(a, b)).toBe(false);
    // Nobody is left out: each is shown or counted.
    expect(spots.reduce((n, s) => n + 1 + s.more, 0)).toBe(minutes.length);
  });
  it("shows what is overdue at now and leaves out what is later than half an hour", () => {
    const spots = placeNeeds([need("late", -3), need("far", 31)], T0, em, words);
    expect(spots.map((s) => [s.name, s.x, s.overdue])).toEqual([["late", 0, true]]);
  });
});
