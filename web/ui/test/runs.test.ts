import { describe, expect, it } from "vitest";
import { readPlace, runLink } from "../src/route";
import { everything, isEverything, numberIs, readTerm, runOrder, runsPath } from "../src/runs/query";
import { findRuns } from "../src/runs/useRuns";
import { frames } from "../src/runs/MiniStrip";
import { dayEnd, dayOf, dayStart, spanWords } from "../src/words/day";
import { at } from "./make";
import { pastRun, pastStep } from "./makepast";

const units = [{ id: "tern-street/plover", name: "Plover" }, { id: "tern-street/heron", name: "Heron" }];
const now = new Date(2026, 10, 24, 15, 0).getTime();

describe("one field for all", () => {
  it.each([
    ["48213", { number: "48213" }],
    [" A-1042 ", { number: "A-1042" }],
    ["plover", { unit: "tern-street/plover" }],
    ["Tern-Street/Heron", { unit: "tern-street/heron" }],
    ["c-41", { process: "c41" }],
    ["e6-3", { process: "e6-3" }],
    ["out of control", { verdict: "out-of-control" }],
    ["Reprocess", { decision: "reprocess" }],
    ["today", { from: "2026-11-24", to: "2026-11-24" }],
    ["yesterday", { from: "2026-11-23", to: "2026-11-23" }],
    ["2026-11-05", { from: "2026-11-05", to: "2026-11-05" }],
    ["2026-13-05", { number: "2026-13-05" }],
    ["", {}],
  ])("reads %s", (text, want) => expect(readTerm(text, units, now)).toEqual(want));

  it("asks for what was asked and nothing else", () => {
    expect(runsPath(everything)).toBe("/runs?limit=200");
    const q = new URLSearchParams(runsPath({ ...everything, number: "7", decision: "none", from: "2026-11-05", to: "2026-11-05" }).split("?")[1]);
    expect(q.get("q")).toBe("7");
    expect(q.get("decision")).toBe("none");
    expect(Date.parse(q.get("to") ?? "") - Date.parse(q.get("from") ?? "")).toBe(24 * 3600_000);
    expect(isEverything(everything)).toBe(true);
  });

  it("tells a roll from an order from a run's name", () => {
    const run = pastRun("a", { rolls: [{ twin_check: "48213", order: "A-1" }] });
    expect(numberIs("48213", [run])).toBe("roll");
    expect(numberIs("a-1", [run])).toBe("order");
    expect(numberIs("r-a", [run])).toBe("run");
  });

  it("puts running ones on top, then the newest", async () => {
    const list = [pastRun("old", { started_at: at(0) }), pastRun("new", { started_at: at(900) }), pastRun("on", { started_at: at(500), outcome: "running", verdict: null })];
    expect(runOrder(list).map((r) => r.id)).toEqual(["on", "new", "old"]);
    const get = async <T>(): Promise<T> => ({ runs: [] }) as T;
    expect((await findRuns(get, everything)).rows).toEqual([]);
  });
});

describe("places", () => {
  it("knows a run by its address, whatever is in its id", () => {
    expect(readPlace(runLink("a/b c"))).toEqual({ page: "report", rest: "a/b c" });
    expect(readPlace("#/runs")).toEqual({ page: "runs", rest: "" });
    expect(readPlace("#/load/tern-street/heron")).toEqual({ page: "load", rest: "tern-street/heron" });
    expect(readPlace("#/nowhere")).toEqual({ page: "board", rest: "" });
    expect(readPlace("#/runs/%")).toEqual({ page: "report", rest: "%" });
  });
});

describe("days", () => {
  it("reads what is a day and refuses what is none", () => {
    expect(dayOf(dayStart("2026-11-24") ?? 0)).toBe("2026-11-24");
    expect(dayStart("2026-02-30")).toBeNull();
    expect((dayEnd("2026-11-24") ?? 0) - (dayStart("2026-11-24") ?? 0)).toBe(24 * 3600_000);
  });
  it("says a run that ends after midnight", () => {
    const from = new Date(2026, 10, 24, 23, 50);
    expect(spanWords(from.toISOString(), new Date(2026, 10, 25, 0, 20).toISOString())).toBe("Tue, 24 Nov 2026, 23:50 to 00:20 the next day");
  });
});

describe("the small strip", () => {
  it("gives each step its part and flags the one that a reason names", () => {
    const f = frames(pastRun("a", { steps: [pastStep(1, { time_s: 200 }), pastStep(2, { time_s: 600 })], reasons: [{ code: "bath-cool", step: "developer", text: "" }] }));
    expect(f.map((x) => [x.part, x.flag])).toEqual([[0.25, "cool"], [0.75, ""]]);
    expect(frames(pastRun("b"))).toEqual([]);
  });
});
