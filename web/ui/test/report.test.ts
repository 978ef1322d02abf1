import { describe, expect, it } from "vitest";
import { across, bathLines, clockMarks, envelopes, farthest, layOut, stretches } from "../src/report/layout";
import { place, scaleOf, ticks } from "../src/report/scale";
import { entryWords, takenBack, timeNear } from "../src/report/statements";
import { batchRows } from "../src/report/batch";
import { hangsWords } from "../src/report/hangs";
import { neverChecked } from "../src/unit/figures";
import { narrowerWords } from "../src/words/range";
import { noError } from "../src/report/Head";
import type { Entry, Timeline, TimelineStep } from "../src/types";
import { errorWords, signed, thirds } from "../src/words/stops";
import { standingOf } from "../src/words/verdict";
import { at, T0 } from "./make";
import { pastRun, pastStep } from "./makepast";

const step = (n: number, planned: number | null, from?: number, to?: number, low: number | null = 37, high: number | null = 39): TimelineStep => ({
  n, step: `s${n}`, label: "", kind: "dev", planned_s: planned, started_at: from === undefined ? null : at(from), ended_at: to === undefined ? null : at(to), low_c: low, high_c: high,
});
const line = (steps: TimelineStep[], change: Partial<Timeline> = {}): Timeline => ({
  from: at(0), to: at(600), steps, bath: [], outages: [], unheard: [], still: [], by_hand: [], envelope: [], ...change,
});
const s = (seconds: number): number => T0 + seconds * 1000;

describe("the plan beside what happened", () => {
  it("lies under it while all goes to plan", () => {
    const l = layOut(line([step(1, 200, 10, 210), step(2, 100, 222, 322)]));
    expect(l.frames.map((f) => f.plan)).toEqual([[s(10), s(210)], [s(222), s(322)]]);
    expect(l.frames.map((f) => f.was)).toEqual(l.frames.map((f) => f.plan));
  });
  it("stays where it was meant when a step runs over", () => {
    const l = layOut(line([step(1, 200, 10, 250), step(2, 100, 262, 362)]));
    expect(l.frames[1]?.plan).toEqual([s(222), s(322)]);
  });
  it("takes in fills and drains, not a wait of ten minutes", () => {
    const l = layOut(line([step(1, 100, 0, 100), step(2, 100, 700, 800)], { to: at(900) }));
    expect(l.frames[1]?.plan).toEqual([s(160), s(260)]);
  });
  it("shows a step that was left out in the plan alone", () => {
    const l = layOut(line([step(1, 100, 0, 100), step(2, 60), step(3, 100, 112, 212)]));
    expect(l.frames[1]?.was).toBeNull();
    expect(l.frames[1]?.plan).toEqual([s(112), s(172)]);
  });
  it("puts what was not heard before what was, and never calls it left out by itself", () => {
    const lost = { ...step(1, 120), step: "first-developer" };
    const l = layOut(line([step(2, 100, 40, 140), step(3, 60), lost]), { outcome: "aborted", reasons: [] });
    expect(l.frames.map((f) => [f.n, f.absent])).toEqual([[1, "no data"], [2, ""], [3, "not reached"]]);
    expect(l.frames[0]?.plan).toEqual([s(-92), s(28)]);
    expect(l.from).toBe(s(-122));
    const judged = layOut(line([lost, step(2, 100, 40, 140)]), { outcome: "done", reasons: [{ code: "step-skipped", step: "first-developer" }] });
    expect(judged.frames[0]?.absent).toBe("skipped");
    expect(judged.from).toBe(s(10));
    expect(layOut(line([step(1, 60, 0, 60), step(2, 60)]), { outcome: "running", reasons: null }).frames[1]?.absent).toBe("to come");
  });
  it("says which reason there is for no push error", () => {
    const told = (change: object, steps: TimelineStep[]): string => noError({ run: { ...pastRun("x"), push_error_stops: null, reasons: [], ...change }, timeline: line(steps) });
    const dev = { ...step(1, 195), step: "developer" };
    expect(told({ outcome: "running" }, [dev])).toContain("not done");
    expect(told({ outcome: "done" }, [{ ...dev, kind: "exact" }])).toContain("no developer");
    expect(told({ outcome: "done" }, [dev])).toBe("no data was received of the developer.");
    const whole = { ...dev, started_at: at(0), ended_at: at(195) };
    expect(told({ outcome: "done", reasons: [{ code: "missing-evidence", step: "developer", text: "" }] }, [whole])).toBe("not all data of the developer was received.");
    expect(told({ outcome: "done" }, [whole])).toContain("no push times");
  });
  it("ends a step that goes on where the drawing ends", () => {
    expect(layOut(line([step(1, 900, 10)])).frames[0]?.was).toEqual([s(10), s(600)]);
  });
  it("leaves the heating before and the drying after undrawn, and knows how much", () => {
    const l = layOut(line([step(1, 200, 300, 500), step(2, 100, 512, 612)], { to: at(1800) }));
    expect([l.from, l.to, l.before / 1000, l.after / 1000]).toEqual([s(270), s(642), 270, 1158]);
  });
  it("draws no plan where no time was set", () => {
    expect(layOut(line([step(1, null, 0, 100)])).frames[0]?.plan).toBeNull();
  });
});

describe("the bath inside its limits", () => {
  const bath = (...list: [number, number | null][]) => list.map(([t, c]) => ({ at: at(t), c }));
  it("gives the limits the middle half of the film", () => {
    const f = layOut(line([step(1, 300, 0, 300)])).frames[0]!;
    expect([across(37, f), across(38, f), across(39, f)]).toEqual([0.25, 0.5, 0.75]);
  });
  it("makes room for what went far out, to scale", () => {
    const f = layOut(line([step(1, 300, 0, 300)], { bath: bath([100, 38], [200, 43]) })).frames[0]!;
    const [low, high, top] = [across(37, f), across(39, f), across(43, f)];
    expect(top).toBeLessThan(0.97);
    expect((top - high) / (high - low)).toBeCloseTo(2, 9);
  });
  it("keeps at least a sixth for the limits, however far it went", () => {
    const f = layOut(line([step(1, 300, 0, 300)], { bath: bath([100, 90]) })).frames[0]!;
    expect(across(39, f) - across(37, f)).toBeGreaterThan(1 / 7);
    expect(across(90, f)).toBe(0.97);
  });
  it("breaks the line where no reading is, and joins it where it crosses a limit", () => {
    const l = layOut(line([step(1, 300, 0, 300)], { bath: [] }));
    const lines = bathLines(l, bath([5, 30], [20, 36.5], [40, 38], [60, 40], [80, 40], [100, null], [120, 38], [140, 38]));
    expect(lines.map((x) => x.part)).toEqual(["settling", "inside", "outside", "inside"]);
    expect(lines[1]?.points[0]).toEqual(lines[0]?.points.at(-1));
    expect(lines[3]?.points[0]?.[0]).toBe(s(120));
  });
  it("writes the farthest figure, and none of the settling", () => {
    const l = layOut(line([step(1, 300, 0, 300)]));
    expect(farthest(l, bath([5, 20], [60, 39.5], [90, 40.25], [120, 38]))).toEqual([{ n: 1, t: s(90), c: 40.25, warm: true }]);
    expect(farthest(l, bath([5, 20], [60, 38]))).toEqual([]);
  });
  it("closes the band of the good runs around where they lay", () => {
    const l = layOut(line([step(1, 300, 0, 300)]));
    const band = [{ at: at(0), low: 37.5, high: 38.5 }, { at: at(100), low: 37.5, high: 38.5 }];
    expect(envelopes(l, band)[0]?.map(([t]) => t)).toEqual([s(0), s(100), s(100), s(0)]);
  });
  it("names what lasted and leaves out what has no time", () => {
    const t = line([], { outages: [{ from: at(1), to: at(9), label: "x" }], still: [{ from: "no time", to: at(2), label: "" }] });
    expect(stretches(t).map((m) => m.kind)).toEqual(["outage"]);
  });
  it("writes no more clock times than there is room for", () => {
    const l = layOut(line([step(1, 3600, 0, 3600)], { to: at(3600) }));
    expect(clockMarks(l, 7)).toHaveLength(7);
    expect(clockMarks(l, 4).every((t) => t % (20 * 60_000) === 0)).toBe(true);
  });
});

describe("push error", () => {
  it.each([[0, "0"], [0.36, "+⅓"], [-0.3, "−⅓"], [0.62, "+⅔"], [1.02, "+1"], [-1.7, "−1⅔"], [0.16, "0"], [0.17, "+⅓"]])("says %d in thirds: %s", (v, want) => expect(thirds(v)).toBe(want));
  it("never says minus nought", () => expect([signed(-0.001), signed(0.36), signed(-1.2, 1)]).toEqual(["0.00", "+0.36", "−1.2"]));
  it("says which way in words", () => expect([0.02, 0.1, 0.4, -0.4].map(errorWords)).toEqual(["as asked for", "a little pushed", "pushed", "pulled"]));
  it("takes the range of the step with push times", () => {
    const run = pastRun("a", { push_error_stops: 0.4, steps: [pastStep(1, { push_error_stops: 0.4, push_error_low_stops: 0.1, push_error_high_stops: 0.7 }), pastStep(2)] });
    expect(scaleOf(run, 0.17, 0.33)).toMatchObject({ best: 0.4, low: 0.1, high: 0.7, reach: 1 });
    expect(scaleOf(pastRun("b", { push_error_stops: null }), 0.17, 0.33)).toBeNull();
  });
  it("reaches as far as it must, in whole thirds", () => {
    const sc = scaleOf(pastRun("a", { push_error_stops: -1.4 }), null, null)!;
    expect(sc.reach).toBeCloseTo(5 / 3, 9);
    expect(place(sc, -sc.reach)).toBe(0);
    expect(ticks(sc).filter((t) => t.whole).map((t) => t.v)).toEqual([-1, 0, 1]);
  });
});

describe("what people state", () => {
  const noon = new Date(2026, 2, 1, 12, 0).getTime();
  const midnight = new Date(2026, 2, 2, 0, 10).getTime();
  it("takes a time of day on the nearest day", () => {
    expect(timeNear("12:03:20", noon)).toBe(noon + 200_000);
    expect(timeNear("23:55", midnight)).toBe(midnight - 15 * 60_000);
    expect([timeNear("24:00", noon), timeNear("12:60", noon), timeNear("noon", noon), timeNear("", noon)]).toEqual([null, null, null, null]);
  });
  const entry = (id: string, what: string, body: unknown, more: Partial<Entry> = {}): Entry => ({ id, unit: "l/a", what, at: at(0), entered: at(0), by: "Ana", body, ...more });
  it("says an entry in words, also one that it does not know", () => {
    const clock = (t: number): string => String((t - T0) / 1000);
    expect(entryWords(entry("1", "turned-by-hand", { from: at(5), to: null }), clock)).toBe("Turned by hand from 5 to the end of the outage");
    expect(entryWords(entry("2", "rolls", { add: [{ twin_check: "7" }], remove: ["8"] }), clock)).toBe("Rolls added: 7. Rolls removed: 8");
    expect(entryWords(entry("3", "something-new", null), clock)).toBe("something new");
  });
  it("knows what was taken back", () => {
    expect(takenBack([entry("1", "note", {}), entry("2", "takes-back", { id: "1" }), entry("3", "note", {})])).toEqual(new Set(["1"]));
  });
});

describe("the batch", () => {
  it("lists the others, newest first, with what they share and which was good", () => {
    const [a, b, c] = [pastRun("a", { started_at: at(0) }), pastRun("b", { started_at: at(100) }), pastRun("c", { started_at: at(200) })];
    const rows = batchRows({ unit: "l/a", process: "c41", last_good: "a", next_good: null, runs: [a, b, c].map((run) => ({ run, codes: [], shared: run === c ? ["bath-warm"] : [] })) }, "b");
    expect(rows.map((r) => [r.run.id, r.shares, r.good])).toEqual([["c", ["bath-warm"], false], ["a", [], true]]);
  });
  it("never calls an unjudged run good", () => {
    expect(standingOf({ verdict: null, outcome: "lost" })).toBe("unjudged");
    expect(standingOf({ verdict: null, outcome: "running" })).toBe("running");
  });
});

describe("what a report hangs on", () => {
  it("is said with its figure", () => {
    expect(hangsWords([])).toBe("");
    expect(hangsWords([{ step: "developer", figure: "per_10c", value: "2.9 times as fast for each +10 °C (2.5 to 3.1)", standing: "unconfirmed" }]))
      .toBe("This verdict depends on unconfirmed figures: developer speed by temperature: 2.9 times as fast for each +10 °C (2.5 to 3.1). Confirm it from your own manual.");
  });
  it("is narrowed by what is said", () => {
    expect(narrowerWords(null)).toBe("");
    expect(narrowerWords({ text: "Check the probe against a thermometer", to: 0.5 })).toBe("Check the probe against a thermometer: halves the range.");
    expect(narrowerWords({ text: "Check the probe against a thermometer", to: 0.12 })).toBe("Check the probe against a thermometer: leaves 12 % of the range.");
  });
  it("takes a probe that was never checked for class B, or for what it is (IEC 60751 at 38 °C: 0.49 and 0.23 °C)", () => {
    expect(neverChecked({ probe_kind: null }, "C")).toContain("0.49 °C (class B");
    expect(neverChecked({ probe_kind: { id: "k", by: "Ana", at: "", entered: "", class: "A", within_c: 0.23 } }, "F")).toBe("0.41 °F (class A, IEC 60751)");
  });
});
