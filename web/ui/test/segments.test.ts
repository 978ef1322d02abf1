import { describe, expect, it } from "vitest";
import { along, layoutRun, letters, minutes, nameSegments } from "../src/board/segments";
import { at, run, step, T0 } from "./make";

const seconds = (t: number): number => (t - T0) / 1000;

describe("a run laid out in time", () => {
  const plan = [step(1, "developer", 195, "past", 0, 190), step(2, "bleach", 100, "now", 200), step(3, "fixer", 120, "ahead")];
  const now = T0 + 240_000;

  it("puts what was where it was and ends the present step when it is over", () => {
    const l = layoutRun(run(plan), now, 60);
    expect(l.segments.map((s) => [seconds(s.from), seconds(s.to)])).toEqual([[0, 190], [200, 300], [300, 420]]);
  });

  it("spreads the waits that the end time holds before the steps to come", () => {
    const l = layoutRun(run(plan, { ends_at: at(450) }), now, 60);
    expect(l.segments.map((s) => [seconds(s.from), seconds(s.to)])).toEqual([[0, 190], [200, 300], [330, 450]]);
    expect(seconds(l.to)).toBe(450);
  });

  it("stretches the present step to now when it overruns", () => {
    const l = layoutRun(run(plan), T0 + 340_000, -40);
    expect(seconds(l.segments[1]!.to)).toBe(340);
    expect(seconds(l.segments[2]!.from)).toBe(340);
  });

  it("begins a step that is only heated for after now, not before", () => {
    const heating = [step(1, "developer", 195, "past", 0, 190), step(2, "bleach", 100, "now"), step(3, "fixer", 120, "ahead")];
    const l = layoutRun(run(heating, { phase: "heating", ends_at: at(500) }), now, null);
    expect(seconds(l.segments[1]!.from)).toBe(260);
    expect(seconds(l.segments[2]!.to)).toBe(500);
  });

  it("lays unheard steps before the first one heard", () => {
    const joined = [step(1, "developer", 195, "unheard"), step(2, "bleach", 100, "now", 200)];
    const l = layoutRun(run(joined), now, 60);
    expect(seconds(l.segments[0]!.from)).toBe(5);
    expect(seconds(l.segments[0]!.to)).toBe(200);
  });

  it("never overlaps, whatever the times say", () => {
    const crossed = [step(1, "a", 100, "past", 0, 300), step(2, "b", 100, "past", 250, 260), step(3, "c", 100, "now", 255)];
    const { segments } = layoutRun(run(crossed, { n: 3 }), T0 + 320_000, 10);
    for (let i = 1; i < segments.length; i++) expect(segments[i]!.from).toBeGreaterThanOrEqual(segments[i - 1]!.to);
  });

  it("survives an empty plan", () => {
    const l = layoutRun(run([]), now, null);
    expect(l.segments).toEqual([]);
    expect(l.to).toBeGreaterThan(l.from);
  });

  it("has a perforation for each whole minute", () => {
    expect(minutes({ from: 0, to: 240_000, segments: [] })).toEqual([0.25, 0.5, 0.75]);
  });
});

describe("names of segments", () => {
  const l = layoutRun(run([step(1, "a", 300, "past", 0, 300), step(2, "b", 20, "past", 300, 320), step(3, "c", 300, "now", 320)], { n: 3 }), T0 + 330_000, 290);
  const names = nameSegments(l, 0.02, () => ["first developer", "first dev"]);

  it("chooses the longest that fits and none where none does", () => {
    expect(names.map((n) => [n.n, n.text])).toEqual([[1, "first developer"], [3, "first developer"]]);
  });
  it("never lets a name reach into the next segment", () => {
    for (const n of names.slice(0, -1)) {
      const next = l.segments.find((s) => s.n === n.n + 1)!;
      expect(n.at + letters(n.text) * 0.02).toBeLessThanOrEqual(along(l, next.from));
    }
  });
});
