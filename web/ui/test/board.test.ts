import { afterEach, describe, expect, it, vi } from "vitest";
import { adviceOf } from "../src/board/advice";
import { sortOut } from "../src/board/Alerts";
import { canWait } from "../src/board/waits";
import { leapt } from "../src/state/clock";
import { readWall } from "../src/state/kiosk";
import { laneKind, urgency } from "../src/state/order";
import { degrees, followPerson, scheme, takeLabUnits, volumes } from "../src/state/prefs";
import type { Outlook, PlanStep, Unit } from "../src/types";
import { asides, dealtWith, overWords } from "../src/words/alert";
import { faultWords } from "../src/words/fault";
import { litres } from "../src/words/measure";
import { alert, at, run, step, T0, unit } from "./make";

const outlook = (change: Partial<Outlook>): Outlook => ({
  step: "developer", why: "battery", action: "go-on", act_at: null, go_on_until: null, drain_from: null, too_late_from: null,
  push_stops: null, push_low_stops: null, push_high_stops: null, now_stops: null, text: "t", measured: [], estimated: [], assumed: [], ...change,
});

describe("advice", () => {
  it("says until when it may stay, what then, and when it is too late", () => {
    const a = adviceOf(outlook({ go_on_until: at(65), act_at: at(90), too_late_from: at(200), push_stops: 0.34, push_low_stops: 0.2, push_high_stops: 0.7 }), T0);
    expect([a.word, a.left, a.now]).toEqual(["until", "1:05", false]);
    expect(a.at).toMatch(/^until \d\d:\d\d:\d\d$/);
    expect(a.more.join(" ")).toMatch(/drain at \d\d:\d\d:\d\d Too late to drain after .* \+⅓ stop \(\+⅓ to \+⅔\)/);
  });
  it("counts down to the drain and says now when it has come", () => {
    const o = outlook({ action: "drain-at", act_at: at(40) });
    expect(adviceOf(o, T0)).toMatchObject({ deed: "Drain developer", word: "at", left: "0:40", now: false });
    expect(adviceOf(o, T0 + 41_000)).toMatchObject({ at: "now", left: "", now: true });
  });
  it("never counts down to what is too late", () => {
    expect(adviceOf(outlook({ action: "hold", too_late_from: at(-5) }), T0)).toMatchObject({ at: "", left: "", more: [] });
  });
});

describe("can it wait here?", () => {
  const here = (name: string, kind: PlanStep["kind"], before: string[], light: Unit["light"]["state"]): Unit => {
    const plan = [...before, name].map((s, i) => ({ ...step(i + 1, s, 100, i < before.length ? ("past" as const) : ("now" as const), i * 100), kind: s.includes("developer") ? ("dev" as const) : kind }));
    return unit("l/a", { light: { state: light, since: null }, run: run(plan, { n: plan.length, step: name }) });
  };
  it.each([
    ["developer", "dev", [], "dark", "never"],
    ["bleach", "min", ["developer"], "dark", "unknown"],
    ["fixer", "min", ["developer", "bleach"], "safe", "yes"],
    ["wash-2", "min", ["developer", "bleach", "fixer"], "safe", "yes"],
    ["wash-1", "min", ["first-developer"], "dark", "unknown"],
    ["color-developer", "dev", ["first-developer", "wash-1", "reversal-bath"], "safe", "never"],
  ] as const)("%s: %s", (name, kind, before, light, want) => {
    expect(canWait(here(name, kind, [...before], light))).toBe(want);
  });
});

describe("alerts of a lane", () => {
  it("shows two large and the others in a line each; none is left out", () => {
    const list = [1, 2, 3, 4].map((n) => alert(String(n), "l/a"));
    const { large, small } = sortOut(list, T0);
    expect([large.length, small.length]).toEqual([2, 2]);
  });
  it("is loud again when the shelf's time is up", () => {
    const a = alert("1", "l/a", { shelved_until: at(60) });
    expect(laneKind(unit("l/a"), [a], T0)).toBe("calm");
    expect(laneKind(unit("l/a"), [a], T0 + 61_000)).toBe("urgent");
  });
  it("says why nobody is paged, and what was found afterwards", () => {
    expect(asides(alert("1", "l/a", { held: "chattering", found_afterwards: true, occurrence: 3 })).join(" ")).toBe(
      "Detected late: it had cleared before it was noticed. 3 times. Nobody is paged again: it comes and goes.",
    );
    expect(asides(alert("1", "l/a", { held: "lab-closed" }))).toEqual(["Nobody is paged: the lab is closed."]);
  });
  it("says first of what is over that it is, and when it ended", () => {
    expect(overWords(alert("1", "l/a", { state: "cleared-unacknowledged", cleared_at: at(300) }))).toMatch(/^Cleared at \d\d:05:$/);
    expect(overWords(alert("1", "l/a", { found_afterwards: true }))).toBe("Cleared:");
    expect(overWords(alert("1", "l/a"))).toBe("");
  });
  it("is large only while it goes on, and calls nobody to a lane when it is over", () => {
    const goes = alert("1", "l/a");
    const over = alert("2", "l/a", { state: "cleared-unacknowledged", cleared_at: at(300) });
    const found = alert("3", "l/a", { found_afterwards: true });
    expect(sortOut([over, found, goes], T0)).toEqual({ large: [goes], small: [], cleared: [over, found] });
    expect(laneKind(unit("l/a"), [over, found], T0)).toBe("calm");
  });
  it("says who put it aside, until when and why", () => {
    const a = alert("1", "l/a", { shelved_until: at(600), shelved_by: "Ana", shelved_reason: "waits for a hose" });
    expect(dealtWith(a, T0)).toMatch(/^shelved until \d\d:10 by Ana: waits for a hose$/);
    expect(dealtWith(a, T0 + 700_000)).toBe("not acknowledged");
  });
});

describe("a machine's sleep", () => {
  it.each([[1000, 1000, false], [1400, 1390, false], [9000, 9000, false], [3_600_000, 1000, true], [12_000, 12_000, true], [-3_600_000, 1000, true], [6000, 1000, true]])(
    "a step of %i ms by the clock and %i ms run: %s",
    (wall, ran, want) => expect(leapt(wall, ran)).toBe(want),
  );
});

describe("a wall's link", () => {
  it.each([["#/wall?key=abc", "abc"], ["#/wall", ""], ["#wall?key=a%2Bb", "a+b"]])("%s", (hash, key) => expect(readWall(hash)).toEqual({ key }));
  it.each(["#/board", "", "#/walls?key=a", "#/alerts?key=a"])("%s is none", (hash) => expect(readWall(hash)).toBeNull());
});

describe("what a person chose", () => {
  afterEach(() => vi.useRealTimers());
  it("comes from the server, and goes there once it changes", async () => {
    vi.useFakeTimers();
    const sent: unknown[] = [];
    const stop = await followPerson({
      get: async <T>() => ({ theme: "plaid", temperature: "f", volume: "l", sound: "on", spoken: false }) as T,
      send: async <T>(method: string, path: string, body?: unknown) => (sent.push([method, path, body]), undefined as T),
    });
    expect([degrees.value, scheme.value]).toEqual(["F", "auto"]);
    await vi.advanceTimersByTimeAsync(5000);
    expect(sent).toEqual([]);
    volumes.value = "gal";
    degrees.value = "C";
    await vi.advanceTimersByTimeAsync(5000);
    expect(sent).toEqual([["PUT", "/me/preferences", { theme: "system", temperature: "c", volume: "gal", sound: "on", spoken: false }]]);
    stop();
    volumes.value = "l";
    await vi.advanceTimersByTimeAsync(5000);
    expect(sent).toHaveLength(1);
  });
  it("is for a wall what the lab reads in, of units of measure only", async () => {
    const wish = scheme.value;
    await takeLabUnits({ get: async <T>() => ({ theme: "dark", temperature: "f", volume: "gal", sound: "off" }) as T });
    expect([degrees.value, volumes.value, scheme.value]).toEqual(["F", "gal", wish]);
    await takeLabUnits({ get: () => Promise.reject(new Error("away")) });
    expect([degrees.value, volumes.value]).toEqual(["F", "gal"]);
    degrees.value = "C";
    volumes.value = "l";
  });
  it("stays in the browser where the server keeps nothing", async () => {
    const stop = await followPerson({ get: () => Promise.reject(new Error("404")), send: () => Promise.reject(new Error("never")) });
    degrees.value = "F";
    expect(localStorage.getItem("wetside.degrees")).toBe("F");
    degrees.value = "C";
    stop();
  });
});

// A US gallon is 3.785411784 litres: NIST Handbook 44, appendix C.
it("gives litres or US gallons", () => {
  expect([litres(18.9), litres(18.927058920, "gal")]).toEqual(["18.9\u00a0L", "5.0\u00a0gal"]);
});

describe("a unit that wetside itself cannot judge", () => {
  const fault = { since: at(0), judged: false, text: "x" };
  it("says since when, and is no calm lane", () => {
    const u: Unit = { ...unit("l/a"), fault };
    expect(faultWords(u, T0)).toMatch(/^Not judged since \d\d:\d\d: a fault of wetside's own$/);
    expect(laneKind(u, [], T0)).toBe("high");
    expect(urgency(u, [], T0)).toBeGreaterThan(30);
  });
  it("is calm where only its view is old, or nothing is at fault", () => {
    const u: Unit = { ...unit("l/a"), fault: { ...fault, judged: true } };
    expect(faultWords(u, T0)).toMatch(/^Shown as it was at /);
    expect(laneKind(u, [], T0)).toBe("calm");
    expect(faultWords(unit("l/a"), T0)).toBeNull();
  });
});
