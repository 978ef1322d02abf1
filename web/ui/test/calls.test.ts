import { describe, expect, it } from "vitest";
import { Caller, callable, URGENT_EVERY_MS } from "../src/state/calls";
import { at, alert, T0 } from "./make";

const urgent = alert("u", "l/a");
const high = alert("h", "l/b", { priority: "high" });
const low = alert("n", "l/c", { priority: "low" });

/** Lets a minute pass second by second; what sounded, and when. */
function minute(c: Caller, list: () => ReturnType<typeof alert>[], from = T0): [number, string][] {
  const out: [number, string][] = [];
  for (let s = 0; s < 60; s++) {
    const call = c.next(list(), from + s * 1000);
    if (call) out.push([s, call.alert.id]);
  }
  return out;
}

describe("calling aloud", () => {
  it("repeats urgent every ten seconds until somebody has seen it, and no sooner", () => {
    expect(minute(new Caller(), () => [urgent])).toEqual([[0, "u"], [10, "u"], [20, "u"], [30, "u"], [40, "u"], [50, "u"]]);
    const c = new Caller();
    minute(c, () => [urgent]);
    expect(minute(c, () => [{ ...urgent, state: "acknowledged" }], T0 + 60_000)).toEqual([]);
  });

  it("says high and low once each", () => {
    expect(minute(new Caller(), () => [high])).toEqual([[0, "h"]]);
    expect(minute(new Caller(), () => [low])).toEqual([[0, "n"]]);
  });

  it("calls again when it comes back", () => {
    const c = new Caller();
    minute(c, () => [high]);
    expect(minute(c, () => [{ ...high, occurrence: 2 }], T0 + 60_000)).toEqual([[0, "h"]]);
  });

  it("makes one sound of a flood, the worst one's", () => {
    const flood = Array.from({ length: 40 }, (_, i) => alert(`f${i}`, `l/u${i}`, { priority: i % 2 ? "urgent" : "high" }));
    const got = minute(new Caller(), () => flood);
    expect(got.length).toBe(6);
    for (let i = 1; i < got.length; i++) expect(got[i]![0] - got[i - 1]![0]).toBeGreaterThanOrEqual(URGENT_EVERY_MS / 1000);
  });

  it("calls when something high rises to urgent", () => {
    const c = new Caller();
    expect(c.next([high], T0)?.priority).toBe("high");
    expect(c.next([{ ...high, priority: "urgent" }], T0 + 1000)?.priority).toBe("urgent");
  });

  it.each([
    ["shelved", { shelved_until: at(60) }],
    ["held back", { held: "out-of-service" }],
    ["found afterwards", { found_afterwards: true }],
    ["over", { state: "cleared-unacknowledged" as const }],
  ])("is silent about what is %s", (_, change) => {
    expect(callable({ ...urgent, ...change }, T0)).toBe(false);
  });

  it("keeps nothing of alerts that are gone", () => {
    const c = new Caller();
    for (let i = 0; i < 5000; i++) c.next([alert(`x${i}`, "l/a", { priority: "high" })], T0 + i * 4000);
    expect([...c.kept()]).toEqual(["x4999 1"]);
  });
});
