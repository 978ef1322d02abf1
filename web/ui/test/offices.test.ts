import { describe, expect, it } from "vitest";
import { axisOf, figure, standOf } from "../src/figures/figures";
import { attendWords, calm } from "../src/handover/handover";
import { readPlace } from "../src/route";
import { changeWords } from "../src/settings/changes";
import { groupOf, hoursLines, moved, readSpans } from "../src/settings/house";
import { changeOf, figureWords, readChange, writeChange } from "../src/settings/sheets";
import { firstOpen, progress, type Known } from "../src/setup/progress";
import { checkOrder, dueWords } from "../src/unit/checks";
import { readSpan } from "../src/unit/figures";
import { bands, columns, GAP_S, joined, tableRows } from "../src/unit/trace";
import { entryWords, offsetWords } from "../src/words/entry";
import { factsInWords } from "../src/words/facts";
import { at, step, T0, unit } from "./make";
import type { HandOver, SheetStep } from "../src/types";

const as = { degrees: "C", volumes: "l", nameOf: (u: string) => u.split("/")[1] ?? u } as const;

describe("places", () => {
  it.each([
    ["#/alerts", "alerts", ""], ["#/alerts/a%2F1", "alert", "a/1"], ["#/unit/tern-street/plover", "unit", "tern-street/plover"], ["#/settings/sheets/c41", "settings", "sheets/c41"],
    ["#/hand-over", "hand-over", ""], ["#/set-up", "set-up", ""], ["#/figures", "figures", ""], ["#/nowhere", "board", ""],
  ])("%s", (hash, page, rest) => expect(readPlace(hash)).toEqual({ page, rest }));
});

describe("facts of an alert", () => {
  it("come in words with their units, the moment to act first, and limits to their last digit", () => {
    const list = factsInWords({ bath_c: 38.57, low_c: 37.65, act_at: at(0), outlook: {}, off_c: -0.62, level_l: 16.2, push_error_end_stops: 0.41, push_error_end_low_stops: 0.33, push_error_end_high_stops: 0.49, units: ["l/a", "l/b"] }, as);
    expect(list[0]?.name).toBe("To be done by");
    const by = Object.fromEntries(list.map((f) => [f.name, f.words]));
    expect(by["Lowest allowed"]).toBe("37.65 °C");
    expect(by["Off by"]).toBe("0.6 °C too cool");
    expect(by["Level"]).toBe("16.2\u00a0L");
    expect(by["Push error at the end, if nothing is done"]).toContain("from +0.33 to +0.49");
    expect(by["Units"]).toBe("a, b");
    expect(list).toHaveLength(7);
  });
  it("are differences in °F without the 32", () => {
    expect(factsInWords({ off_c: 1 }, { ...as, degrees: "F" })[0]?.words).toBe("1.8 °F too warm");
    expect(offsetWords(-0.1, "F")).toBe("−0.18 °F");
  });
  it("that nobody foresaw are named by themselves", () => {
    expect(factsInWords({ sump_depth_l: 2, odd: "so-so" }, as)).toEqual([{ name: "Sump depth", words: "2.0\u00a0L" }, { name: "Odd", words: "so so" }]);
    expect(factsInWords(null, as)).toEqual([]);
  });
});

describe("figures of the alerting", () => {
  const g = { value: 4, limit: 2, unit: "pages", at_least: false, ok: false };
  it("stand in a word", () => {
    expect(standOf(g)).toEqual({ is: "out", word: "too many" });
    expect(standOf({ ...g, at_least: true })).toEqual({ is: "out", word: "too few" });
    expect(standOf({ ...g, ok: true }).word).toBe("acceptable");
    expect(standOf({ ...g, value: null }).word).toBe("no figure");
    expect(standOf({ ...g, ok: null, limit: null }).word).toBe("for information");
  });
  it.each([[4, 2, false], [0, 0, false], [1, 0, false], [0.93, 0.9, true], [0, 6, false], [300, 6, false]])("%f against %f lies within the bar, on its side of the mark", (value, limit, at_least) => {
    const a = axisOf({ value, limit, unit: at_least ? "part" : "pages", at_least });
    expect(a).not.toBeNull();
    for (const v of [a?.value, a?.limit, a?.okFrom, a?.okTo]) expect(v).toBeGreaterThanOrEqual(0), expect(v).toBeLessThanOrEqual(1);
    expect(Math.sign((a?.value ?? 0) - (a?.limit ?? 0))).toBe(Math.sign(value - limit));
  });
  it("are said with their unit", () => expect([figure(1, "pages"), figure(0.934, "part"), figure(2.5, "pages")]).toEqual(["1 page", "93 %", "2.5 pages"]));
});

describe("hand-over", () => {
  it("says why a unit wants somebody", () => {
    const c = { name: "waste", role: "waste" as const, litres: 18, capacity_l: 18.9, fraction: 0.95, runs_left: 0, at: null };
    expect(attendWords(unit("l/a", { containers: [c] }))).toBe("waste has no room for another run: empty it");
    expect(attendWords(unit("l/a", { standing: "out-of-service", containers: [{ ...c, float_closed: true }] }))).toBe("is out of service; waste is full (float switch)");
  });
  it("is calm only where nothing is left", () => {
    const h: HandOver = { at: at(0), since: at(0), open: [], shelved: [], held: [], running: [], due: [], attend: [], undecided: [], ended: [], closed: 2 };
    expect(calm(h)).toBe(true);
    expect(calm({ ...h, attend: [unit("l/a")] })).toBe(false);
  });
});

describe("a unit's trace", () => {
  it("is one row a moment; other channels' rows break no line, a hole does", () => {
    const c = columns([{ at: at(0), bath_c: 37 }, { at: at(2), wash_c: 30 }, { at: at(4), bath_c: 37.2 }, { at: at(4), room_c: 21 }, { at: at(4 + GAP_S.bath_c + 1), bath_c: 38 }]);
    expect(c.t.map((t) => t - T0 / 1000)).toEqual([0, 2, 4, 5, 25]);
    expect(c.of.bath_c).toEqual([37, undefined, 37.2, null, 38]);
    expect(c.of.room_c[2]).toBe(21);
  });
  it("keeps two days at a reading a second apart without comparing all with all", () => {
    const old = Array.from({ length: 172_800 }, (_, i) => ({ at: at(i), bath_c: 37 }));
    const next = joined(old, [{ at: at(172_799), bath_c: 37 }, { at: at(172_800), bath_c: 37.1 }], T0 + 1000);
    expect(next).toHaveLength(172_800);
    expect(next[0]?.at).toBe(at(1));
  });
  it("breaks a channel that fell silent while others spoke", () => {
    const c = columns([{ at: at(0), bath_c: 37 }, { at: at(60), room_c: 20 }, { at: at(130), room_c: 20 }, { at: at(200), bath_c: 38 }]);
    expect(c.of.bath_c).toEqual([37, null, undefined, 38]);
    expect(c.of.room_c).toEqual([undefined, 20, 20, undefined]);
  });
  it("takes points in any order and none twice", () => {
    const old = [{ at: at(0), bath_c: 37 }, { at: at(5), bath_c: 37.1 }];
    const next = joined(old, [{ at: at(5), bath_c: 37.1 }, { at: at(5), room_c: 20 }, { at: at(10), bath_c: 37.2 }], T0 + 1000);
    expect(next).toHaveLength(3);
    expect(columns([...next].reverse()).t).toEqual(columns(next).t);
    expect(columns([{ at: "never", bath_c: 1 }]).t).toEqual([]);
  });
  it("has the band of each step as long as it lasted, the one that goes on until now", () => {
    const b = bands([step(1, "developer", 195, "past", 0, 195), step(2, "bleach", 390, "now", 210), step(3, "wash-1", 195, "ahead")], T0 + 300_000);
    expect(b.map((x) => [x.step, x.from - T0 / 1000, x.to - T0 / 1000, x.low])).toEqual([["developer", 0, 195, 37], ["bleach", 210, 300, 37]]);
  });
  it("reads as a table, newest first, lowest and highest in each stretch", () => {
    const rows = tableRows([{ at: at(1), bath_c: 37 }, { at: at(50), bath_c: 36.5 }, { at: at(70), bath_c: 38 }], 1);
    expect(rows.map((r) => r.of.bath_c)).toEqual([[38, 38], [36.5, 37]]);
  });
});

describe("checks", () => {
  it("come with what wants somebody first", () => {
    const c = (check: string, is: "fine" | "fault" | "overdue" | "never" | "due-soon") => ({ check, is, label: "", how: "", from: "", standing: "", days: 30, runs: 0, ran: 0, due_at: null, last: null });
    expect(checkOrder([c("a", "fine"), c("b", "never"), c("c", "fault"), c("d", "due-soon"), c("e", "overdue")]).map((x) => x.check)).toEqual(["c", "e", "b", "d", "a"]);
  });
  it.each([[2 * 86400, "due in 2 days, every 7 days"], [-86400, "1 day overdue, every 7 days"], [100, "due today, every 7 days"]])("%i s away", (s, want) => expect(dueWords({ is: "fine", due_at: at(s), days: 7, runs: 0, ran: 0 }, T0)).toBe(want));
  it("has no due date before the first", () => expect(dueWords({ is: "never", due_at: null, days: 1, runs: 0, ran: 0 }, T0)).toBe("every day"));
  it("says how many runs there were since, where it is due by runs", () => {
    expect(dueWords({ is: "fine", due_at: at(2 * 86400), days: 7, runs: 100, ran: 47 }, T0)).toBe("due in 2 days, every 7 days or 100 runs (47 since)");
    expect(dueWords({ is: "overdue", due_at: at(2 * 86400), days: 7, runs: 100, ran: 101 }, T0)).toBe("due in 2 days, every 7 days or 100 runs (over 100 since)");
    expect(dueWords({ is: "never", due_at: null, days: 7, runs: 100, ran: 0 }, T0)).toBe("every 7 days or 100 runs");
  });
});

describe("a process sheet's change", () => {
  const s: SheetStep = { step: "developer", label: "developer", kind: "dev", wash: false, optional: false, time_from_unit: false, aim_s: 195, least_s: null, aim_c: 37.8, low_c: 37.65, high_c: 37.95, push: [], per_10c: null, aim_is_usual: false, note: "", sources: [], figures: [] };
  const f = { aim: "3:15", least: "", c: "37.8", low: "37.65", high: "37.95" };
  const text = "id: c41\nsteps:\n  - {id: developer, aim_s: 190, limits_c: [37.6, 38]}\n  - {id: bleach, least_s: 240}\n";
  it("is read back as it was written", () => {
    const c = readChange("c41", text);
    expect(c).toEqual({ developer: { aim_s: 190, limits_c: [37.6, 38] }, bleach: { least_s: 240 } });
    expect(writeChange("c41", c ?? {})).toBe(text);
    expect([readChange("c41", ""), writeChange("c41", {})]).toEqual([{}, ""]);
    const why = { developer: { limits_c: [37.4, 38.2] as [number, number], why: 'strips say "in control" to 38.2' } };
    expect(readChange("c41", writeChange("c41", why))).toEqual(why);
  });
  it.each([
    ["of another sheet", "id: bw\nsteps:\n  - {id: developer, aim_s: 190}"], ["with a remark", `${text}# ours`], ["with a figure this form does not know", "id: c41\nsteps:\n  - {id: developer, fills: 2}"],
    ["in block style", "id: c41\nsteps:\n  - id: developer\n    aim_s: 190"], ["with a name", "id: c41\nname: Ours"],
  ])("is left alone where it was written by hand: %s", (_, t) => expect(readChange("c41", t)).toBeNull());
  it("holds only what differs", () => {
    expect(changeOf(s, f, readSpan)).toEqual({ change: {} });
    expect(changeOf(s, { ...f, aim: "190", high: "38" }, readSpan)).toEqual({ change: { aim_s: 190, limits_c: [37.65, 38] } });
  });
  it.each([[{ aim: "3.15.2" }, "must be such as 3:15"], [{ c: "warm" }, "must be numbers"], [{ c: "39" }, "not within"], [{ least: "4:00" }, "longer than"]])("says what is wrong with %j", (change, want) => expect(JSON.stringify(changeOf(s, { ...f, ...change }, readSpan))).toContain(want));
  it("names figures as people do", () => expect([figureWords("aim_s limits_c"), figureWords("push_s -1"), figureWords("per_10c")]).toEqual(["time and limits", "push times -1", "speed by temperature"]));
  it.each([["3:15", 195], ["195", 195], ["1:02:05", 3725], ["3:75", null], ["", null], ["-5", null]])("time %s", (t, want) => expect(readSpan(t)).toBe(want));
});

describe("the lab's settings", () => {
  it.each([["09:00-18:00", ["09:00-18:00"]], ["9:00 to 13:00, 14:00-18:00", ["09:00-13:00", "14:00-18:00"]], ["", []], ["00:00-24:00", ["00:00-24:00"]]])("hours %s", (t, want) => expect(readSpans(t)).toEqual(want));
  it.each([["nine to five", "must be a span of hours"], ["18:00-09:00", "ends before"], ["09:00-25:00", "no clock"]])("refuses %s", (t, want) => expect(readSpans(t)).toContain(want));
  it("puts days of the same hours together", () => {
    expect(hoursLines({ monday: ["08:00-18:00"], tuesday: ["08:00-18:00"] })).toEqual(["Mon to Tue: 08:00 to 18:00", "Wed to Sun: closed"]);
    expect(hoursLines({})).toEqual([]);
  });
  it("keeps a unit in one group, and no group without a unit", () => {
    const g = { left: ["l/a", "l/b"], sinks: ["l/c"] };
    expect(moved(g, "l/c", "left")).toEqual({ left: ["l/a", "l/b", "l/c"] });
    expect(moved(g, "l/a", "")).toEqual({ left: ["l/b"], sinks: ["l/c"] });
    expect([groupOf(g, "l/c"), groupOf(undefined, "l/c")]).toEqual(["sinks", ""]);
  });
  it("says what a change did by what was before it", () => {
    const c = (value: unknown, key = "house") => ({ at: at(0), by: "Ana", key, value });
    expect(changeWords(c({ time_zone: "UTC", closed: true }), c({ time_zone: "UTC", closed: false }), String)).toBe("closed the lab");
    expect(changeWords(c({ time_zone: "Europe/Dublin", closed: false }), c({ time_zone: "UTC", closed: false }), String)).toBe("changed time zone to Europe/Dublin of the lab");
    expect(changeWords(c({ standing: "out-of-service" }, "unit l/a"), c({ standing: "accepted" }, "unit l/a"), (u) => u.toUpperCase())).toBe("changed standing to out of service of L/A");
  });
});

describe("first steps", () => {
  const k: Known = { signedIn: true, house: { time_zone: "" }, units: [], duty: null, me: "Ana", paged: false, links: 0, skipped: new Set() };
  const hours = [{ days: ["mon"], from: "00:00", to: "24:00", people: ["Ana"] }];
  const duty = { set: true, people: [], plan: { hours } as never };
  it("stand as the server knows them, and come back where they were left", () => {
    expect(firstOpen(progress(k))).toBe("lab");
    expect(firstOpen(progress({ ...k, house: { time_zone: "UTC" }, skipped: new Set(["units"]) }))).toBe("called");
    expect(progress({ ...k, units: [{ standing: "new" }] }).units).toBe("open");
    expect(progress({ ...k, units: [{ standing: "accepted" }], skipped: new Set(["units"]) }).units).toBe("done");
  });
  it("count being called as done only once a page was handed over", () => {
    expect(progress({ ...k, duty }).called).toBe("open");
    expect(progress({ ...k, duty, paged: true }).called).toBe("done");
  });
});

describe("entries", () => {
  it.each([
    ["note", { text: "drips" }, "drips"], ["container", { container: "waste", what: "emptied", litres: 0 }, "Waste emptied (0.0\u00a0L)"], ["probe", { offset_c: 0.12, reference: "no. 3" }, "Probe: +0.12 °C is added to what it says, by no. 3"],
    ["house-aim", { process: "c41", step: "developer", push: 0, equivalent_s: 0 }, "House aim of C-41 developer: back to the sheet"], ["check", { check: "float", ok: false, note: "sticks" }, "float: a fault was found, sticks"], ["odd-one", null, "odd one"],
    ["capacity", { container: "waste", capacity_l: 12.5 }, "Capacity of waste: 12.5\u00a0L"], ["capacity", { container: "waste", capacity_l: 0 }, "Capacity of waste: as the unit says"],
  ])("%s", (what, body, want) => expect(entryWords(what, body, as)).toBe(want));
});
