import { describe, expect, it } from "vitest";
import { freshness } from "../src/state/fresh";
import { doing } from "../src/words/doing";
import { at, run, step, T0, unit } from "./make";

const plan = [step(1, "developer", 195, "now", 0)];
const busy = (change = {}) =>
  unit("l/a", {
    activity: "running", run: run(plan, { step: "developer", n: 1, step_left_s: 66 }),
    bath: { c: 38, low_c: 37, high_c: 39, standing: "within", at: at(0) }, ...change,
  });

describe("live, late, stale and missing", () => {
  // The contract: temp at least every 5 s in the bath, a step every 10 s in a run and every 30 s when idle.
  it.each([[5, "live"], [9, "live"], [10, "late"], [29, "late"], [30, "stale"]])("a bath reading of %s s ago is %s", (s, want) =>
    expect(freshness(busy({ last_heard_at: at(s) }), T0 + s * 1000).bath).toBe(want));
  it("an idle unit may be quiet for longer", () => {
    expect(freshness(unit("l/a"), T0 + 40_000).link).toBe("live");
    expect(freshness(busy(), T0 + 40_000).link).toBe("late");
  });
  it("nothing heard is missing, a silent link is stale at once", () => {
    expect(freshness(unit("l/a", { last_heard_at: null, link: "offline" }), T0).link).toBe("missing");
    expect(freshness(busy({ link: "silent" }), T0 + 1000).bath).toBe("stale");
    expect(freshness(unit("l/a"), T0).bath).toBe("missing");
  });
});

describe("what a unit does, in words", () => {
  const text = (u = busy(), s = 0): string => {
    const d = doing(u, T0 + s * 1000, T0);
    return [d.lead, d.time, d.tail].filter(Boolean).join(" ");
  };
  it("counts down between frames", () => {
    expect(text()).toBe("Developer 1:06 left");
    expect(text(busy(), 6)).toBe("Developer 1:00 left");
  });
  it("says when it is over", () => expect(text(busy(), 78)).toBe("Developer 0:12 past its time"));
  it("does not count while the machine stands on its battery", () =>
    expect(text(busy({ power: { source: "battery", since: null, battery_pct: 80 } }), 30)).toBe("Developer 1:06 left"));
  it("says silence, and for how long", () => expect(text(busy({ link: "silent" }), 130)).toBe("Silent 2 min in developer"));
  it("never calls a unit ready that was stopped with film in it", () =>
    expect(text(unit("l/a", { light: { state: "dark", since: null } }))).toBe("Stopped, film wet"));
  it("asks for the person it waits for", () => {
    const waiting = busy({ activity: "waiting", run: run(plan, { phase: "waiting", waits_for: "to-dryer" }) });
    expect(text(waiting)).toBe("Needs you: to dryer");
  });
  it("says of an idle unit what its containers will serve", () => {
    const tank = (name: string, role: "waste" | "wash", runs: number) =>
      ({ name, role, litres: 5, capacity_l: 18.9, fraction: 0.3, runs_left: runs, at: null });
    expect(text(unit("l/a", { containers: [tank("waste", "waste", 2), tank("wash", "wash", 5)] }))).toBe("Ready for 2 runs");
    expect(text(unit("l/a", { containers: [tank("waste", "waste", 0)] }))).toBe("Not ready: no room in waste");
  });
  it("never says for how many runs where that is not known of a tank that a run touches", () => {
    const tank = (name: string, role: "waste" | "wash" | "bottle", runs: number | null, next?: number) =>
      ({ name, role, litres: 5, capacity_l: 18.9, fraction: 0.3, runs_left: runs, at: null, ...(next === undefined ? {} : { next_run_l: next }) });
    const idle = (...containers: ReturnType<typeof tank>[]) => text(unit("l/a", { containers }));
    expect(idle(tank("waste", "waste", null), tank("wash", "wash", null))).toBe("Ready, runs left not known");
    expect(idle(tank("waste", "waste", 7, 2), tank("wash", "wash", null, 4))).toBe("Ready, runs left not known");
    expect(idle(tank("waste", "waste", 0, 2), tank("wash", "wash", null, 4))).toBe("Not ready: no room in waste");
    expect(idle(tank("waste", "waste", 7, 2), tank("c41/bleach", "bottle", null))).toBe("Ready for 7 runs");
    expect(idle(tank("waste", "waste", 7, 2), tank("wash", "wash", null, 0))).toBe("Ready for 7 runs");
  });
});
