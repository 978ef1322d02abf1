import { describe, expect, it } from "vitest";
import { hatchLines } from "../src/board/Tanks";
import { drawTank, tanksToShow } from "../src/board/tanks";
import { enoughFor } from "../src/load/PlanList";
import type { Container } from "../src/types";
import { changedWords, levelBasis, willLast } from "../src/words/container";
import { runsLeftOf } from "../src/words/measure";
import { unit } from "./make";

const tank = (role: Container["role"], change: Partial<Container> = {}): Container => ({
  name: role, role, litres: 10, capacity_l: 20, fraction: 0.5, runs_left: 3, at: null, ...change,
});

describe("containers", () => {
  it("draws what is to come above the waste and below the water", () => {
    expect(drawTank(tank("waste", { owed_l: 4, next_run_l: 6 }))).toMatchObject({ owed: [0.5, 0.7], next: [0.7, 1], short: false });
    expect(drawTank(tank("wash", { owed_l: 4, next_run_l: 6 }))).toMatchObject({ owed: [0.3, 0.5], next: [0, 0.3], short: false });
  });
  it("sees what will not fit and what is not there", () => {
    expect(drawTank(tank("waste", { owed_l: 11 })).short).toBe(true);
    expect(drawTank(tank("wash", { owed_l: 11 })).short).toBe(true);
    expect(drawTank(tank("waste", { owed_l: 10 })).short).toBe(false);
  });
  it("takes a level that was never heard for unknown, not for empty", () => {
    expect(drawTank(tank("waste", { litres: null, owed_l: 40 }))).toMatchObject({ level: null, short: false, owed: null });
  });
  it("shows of the bottles only the shortest, and only when it is short", () => {
    const bottle = (name: string, runs: number) => tank("bottle", { name, runs_left: runs });
    const of = (...bottles: Container[]) => tanksToShow(unit("l/a", { containers: [...bottles, tank("wash"), tank("waste")] }));
    expect(of(bottle("c41/bleach", 5)).map((d) => d.name)).toEqual(["waste", "wash"]);
    expect(of(bottle("c41/bleach", 1), bottle("c41/developer", 0)).at(-1)?.label).toBe("dev");
  });
  it("says a range where the level is not known better, and asks what people did", () => {
    expect(drawTank(tank("waste", { runs_left_low: 3, runs_left_high: 4 })).runsSaid).toBe("3 to 4");
    expect(drawTank(tank("waste", { runs_left_low: 3, runs_left_high: 3 })).runsSaid).toBe("3");
    expect(drawTank(tank("waste")).runsSaid).toBe("3");
    expect(runsLeftOf(tank("waste", { runs_left: 1, runs_left_low: 0, runs_left_high: 1 }))).toBe("0 to 1 runs");
    expect(runsLeftOf(tank("waste", { runs_left: 1 }))).toBe("1 run");
    const changed = { what: "emptied" as const, from_l: 14.2, to_l: 0.1, at: "2026-03-02T09:00:00.000Z", within_s: 60, ask: true };
    expect(drawTank(tank("waste", { changed })).ask).toBe(true);
    expect(drawTank(tank("waste", { changed: { ...changed, ask: false } })).ask).toBe(false);
    expect(changedWords(changed, "l", Date.parse("2026-03-02T09:30:00Z"))).toMatch(/^Looks emptied at .*: from 14\.2.L to 0\.1.L, with no pump running\. Was that one of you\?/);
    expect(levelBasis({ spread_l: 0.4, level_by: "counted" }, "gal")).toBe(", to within 0.2\u00a0gal, counted by what the unit moved");
    expect(levelBasis({ spread_l: 0.02, level_by: "probe" }, "l")).toBe("");
  });
  it("says whether it will last, until when, and what is not known of that", () => {
    const at = (h: string): string => new Date(`2026-03-02T${h}:00`).toISOString();
    const now = Date.parse(at("12:00"));
    const lasts = (change: Partial<Container>): string => willLast(tank("waste", { runs_left_low: 3, runs_left_high: 3, ...change }), now);
    expect(lasts({ lasts_from: at("15:40"), lasts_to: at("15:40") })).toBe("enough for 3 runs, at today's pace until about 15:40");
    expect(lasts({ runs_left_high: 4, lasts_from: at("14:50"), lasts_to: at("15:40") })).toBe("enough for 3 to 4 runs, at today's pace until 14:50 to 15:40");
    expect(lasts({ lasts_from: at("11:00"), lasts_to: at("11:00") })).toBe("enough for 3 runs");
    expect(lasts({ lasts_why: "no-pace" })).toBe("enough for 3 runs, until when is not known: fewer than two runs began today");
    expect(lasts({ lasts_why: "beyond-today" })).toBe("enough for 3 runs, all day at today's pace");
    expect(lasts({ runs_left: null, lasts_why: "no-volumes" })).toBe("for how many runs is not known");
    expect(lasts({ litres: null, lasts_why: "no-level" })).toBe("no level received: look");
    expect(lasts({ lasts_why: "untouched" })).toBe("the next run does not touch it");
    expect(lasts({ runs_left: 0, runs_left_low: 0, runs_left_high: 0 })).toBe("not enough for a run");
    expect(lasts({ float_closed: true })).toBe("full (float switch)");
    expect(enoughFor({ runs_low: 3, runs_high: 4 })).toBe(": enough for 3 to 4 runs like this");
    expect(enoughFor({ runs_low: 1, runs_high: 1 })).toBe(": enough for 1 run like this");
    expect(enoughFor({})).toBe("");
  });
  it("hatches within the box", () => {
    const numbers = hatchLines(10, 30).match(/[\d.]+ [\d.]+/g) ?? [];
    expect(numbers.length).toBeGreaterThan(4);
    for (const pair of numbers) {
      const [x = NaN, y = NaN] = pair.split(" ").map(Number);
      expect(x).toBeGreaterThanOrEqual(5);
      expect(x).toBeLessThanOrEqual(39);
      expect(y).toBeGreaterThanOrEqual(10);
      expect(y).toBeLessThanOrEqual(30);
    }
  });
});
