import { describe, expect, it } from "vitest";
import { detailWords } from "../src/duty/DutyLog";
import { resultWords } from "../src/duty/PageTestPart";
import { always, cleaned, forward, planTrouble } from "../src/duty/plan";
import { deviceName, fromBase64, pushState } from "../src/duty/push";
import type { Plan, Swap } from "../src/duty/types";
import type { Try } from "../src/types";
import { datePlus, emptyStretches, minutesOf, nextChange, onDuty, stretches, stretchWords, wallAt, weekRows } from "../src/duty/week";
import { daysWords, hoursWords, stepsWords, tryWords, waitWords } from "../src/words/duty";

const plan = (change: Partial<Plan> = {}): Plan => ({
  time_zone: "Europe/London", hours: [
    { days: ["mon", "tue", "wed", "thu", "fri"], from: "08:00", to: "17:30", people: ["Wren", "Robin"] },
    { days: ["fri"], from: "22:00", to: "06:00", people: ["Ana"] },
  ],
  urgent: [{ who: "first", after_s: 0 }], high: [{ who: "first", after_s: 0 }], repeat_urgent_s: 120, repeat_high_s: 900, quiet: [], flood: { pages: 2, in_s: 60, gather_s: 5 },
  retries_s: [0], link_hours: 24, address: "", ...change,
});
const swap = (day: string, off: string, on: string): Swap => ({ id: 1, day, off, on, by: "x", at: "" });
// Thursday 5 March 2026 is a fact of the calendar (ISO 8601).
const at = (iso: string) => wallAt(Date.parse(iso), "Europe/London");

describe("the clock on the lab's wall", () => {
  it.each([
    ["in winter London is at UTC", "2026-03-05T09:00:00Z", "Europe/London", "thu", "2026-03-05", "09:00"],
    ["in summer it is an hour on (EU directive 2000/84: last Sunday of March)", "2026-03-29T09:00:00Z", "Europe/London", "sun", "2026-03-29", "10:00"],
    ["elsewhere it is another day", "2026-03-05T23:30:00Z", "Asia/Tokyo", "fri", "2026-03-06", "08:30"],
    ["a zone nobody knows is UTC", "2026-03-05T09:00:00Z", "Europe/Nowhere", "thu", "2026-03-05", "09:00"],
  ])("%s", (_, t, zone, day, date, clock) => {
    const w = wallAt(Date.parse(t), zone);
    expect([w.day, w.date, w.minute % 1440]).toEqual([day, date, minutesOf(clock)]);
  });
  it("counts dates over the end of a month and a leap day", () => {
    expect([datePlus("2026-02-28", 1), datePlus("2028-02-28", 1), datePlus("2026-01-01", -1)]).toEqual(["2026-03-01", "2028-02-29", "2025-12-31"]);
  });
});

describe("who is on", () => {
  it.each([
    ["in hours, in their order", "2026-03-05T09:00:00Z", [], ["Wren", "Robin"]],
    ["not at the very end", "2026-03-05T17:30:00Z", [], []],
    ["past midnight, by the day it began", "2026-03-07T05:59:00Z", [], ["Ana"]],
    ["with a swap for that day", "2026-03-05T09:00:00Z", [swap("2026-03-05", "Wren", "Ana")], ["Ana", "Robin"]],
    ["not with one for another day", "2026-03-05T09:00:00Z", [swap("2026-03-06", "Wren", "Ana")], ["Wren", "Robin"]],
    ["a swap counts for hours that began the day before", "2026-03-07T01:00:00Z", [swap("2026-03-06", "Ana", "Wren")], ["Wren"]],
    ["swapped for one who is on already: once", "2026-03-05T09:00:00Z", [swap("2026-03-05", "Wren", "Robin")], ["Robin"]],
    ["nobody stands in", "2026-03-05T09:00:00Z", [swap("2026-03-05", "Wren", ""), swap("2026-03-05", "Robin", "")], []],
    ["a later swap goes on from an earlier one", "2026-03-05T09:00:00Z", [swap("2026-03-05", "Wren", "Ana"), swap("2026-03-05", "Ana", "Teal")], ["Teal", "Robin"]],
  ])("%s", (_, t, swaps, want) => expect(onDuty(plan(), swaps, at(t))).toEqual(want));

  it.each([
    ["later the same day", "2026-03-05T09:00:00Z", [], { when: "today 17:30", on: [] }],
    ["the next morning", "2026-03-05T18:00:00Z", [], { when: "tomorrow 08:00", on: ["Wren", "Robin"] }],
    ["over the week's end", "2026-03-07T07:00:00Z", [], { when: "Mon 08:00", on: ["Wren", "Robin"] }],
    ["by a swap", "2026-03-05T18:00:00Z", [swap("2026-03-06", "Wren", "Ana")], { when: "tomorrow 08:00", on: ["Ana", "Robin"] }],
  ])("who is next: %s", (_, t, swaps, want) => expect(nextChange(plan(), swaps, at(t))).toEqual(want));

  it("says that nothing changes where one person is always on", () => {
    expect(nextChange(always(plan(), "Ana", "UTC"), [], at("2026-03-05T09:00:00Z"))).toBeNull();
    expect(onDuty(always(plan(), "Ana", "UTC"), [], at("2026-03-08T23:59:00Z"))).toEqual(["Ana"]);
  });
});

describe("the drawn week", () => {
  it("breaks what passes Sunday's end in two", () => {
    const s = stretches({ days: ["sun"], from: "22:00", to: "06:00" });
    expect(s).toEqual([{ from: 0, to: 360 }, { from: 9960, to: 10080 }]);
  });
  const rows = (p: Plan, swaps: Swap[] = []) => weekRows(p.hours ?? [], swaps, "2026-03-02");
  it("has a row a person with their place", () => {
    expect(rows(plan()).map((r) => [r.person, r.bars.length, r.bars[0]?.place])).toEqual([["Wren", 5, 1], ["Robin", 5, 2], ["Ana", 1, 1]]);
  });
  it("shows when nobody is on, and nothing where somebody always is", () => {
    const gaps = emptyStretches(rows(plan())).map(stretchWords);
    expect(gaps[0]).toBe("Mon 00:00 to Mon 08:00");
    expect(gaps.at(-1)).toBe("Sat 06:00 to Sun 24:00");
    expect(emptyStretches(rows(always(plan(), "Ana", "UTC")))).toEqual([]);
    expect(emptyStretches([]).map(stretchWords)).toEqual(["Mon 00:00 to Sun 24:00"]);
  });
  it("draws a swap in both rows on its day, in no other week, and who is new in a row of their own", () => {
    const swaps = [swap("2026-03-05", "Wren", "Ana"), swap("2026-03-06", "Ana", "Teal"), swap("2026-03-12", "Robin", "Ana")];
    const drawn = rows(plan(), swaps).map((r) => [r.person, r.bars.map((b) => `${b.as} ${stretchWords(b)}`).filter((x) => !x.startsWith("planned"))]);
    expect(drawn).toEqual([
      ["Wren", ["off Thu 08:00 to Thu 17:30"]],
      ["Robin", []],
      ["Ana", ["in Thu 08:00 to Thu 17:30", "off Fri 22:00 to Sat 06:00"]],
      ["Teal", ["in Fri 22:00 to Sat 06:00"]],
    ]);
  });
  it("shows that nobody is on where nobody stands in", () => {
    const gaps = emptyStretches(rows(plan(), [swap("2026-03-05", "Wren", ""), swap("2026-03-05", "Robin", "")])).map(stretchWords);
    expect(gaps).toContain("Wed 17:30 to Fri 08:00");
  });
  it("goes by the day on which hours began, over the week's end too", () => {
    const night = plan({ hours: [{ days: ["sun"], from: "22:00", to: "06:00", people: ["Ana"] }] });
    const drawn = (day: string) => rows(night, [swap(day, "Ana", "Teal")]).find((r) => r.person === "Teal")?.bars.map(stretchWords);
    expect(drawn("2026-03-01")).toEqual(["Mon 00:00 to Mon 06:00"]);
    expect(drawn("2026-03-08")).toEqual(["Sun 22:00 to Sun 24:00"]);
  });
  it.each([["08:30", 510], ["24:00", 1440], ["24:01", null], ["8:60", null], ["noon", null], ["7:05", 425]])("reads %s", (t, want) => expect(minutesOf(t)).toBe(want));
});

describe("in words", () => {
  it("says the steps as one would aloud", () => {
    const steps: Plan["urgent"] = [{ who: "first", after_s: 0 }, { who: "second", after_s: 15 }, { who: "everybody", after_s: 120 }];
    expect(stepsWords(steps, 120)).toBe("At once the first on call; after 15 s the second on call; after 2 min more everybody, again every 2 min, until somebody acknowledges.");
    expect(stepsWords([], 120)).toBe("Nobody is called.");
    expect(stepsWords([{ who: "named", person: "Ana", after_s: 90 }], 0)).toBe("After 1 min 30 s Ana, until somebody acknowledges.");
  });
  it.each([[["mon", "tue", "wed"], "Mon to Wed"], [["sat", "sun"], "Sat and Sun"], [["fri", "mon", "wed"], "Mon, Wed and Fri"], [["mon", "tue", "wed", "thu", "fri", "sat", "sun"], "every day"], [[], "on no day"]])("%j", (d, want) => expect(daysWords(d)).toBe(want));
  it.each([["08:00", "17:30", "08:00 to 17:30"], ["22:00", "06:00", "22:00 to 06:00 the next day"], ["00:00", "24:00", "the whole day"]])("%s %s", (a, b, want) => expect(hoursWords(a, b)).toBe(want));
  it.each([[45, "45 s"], [60, "1 min"], [3600, "1 h"], [5400, "1 h 30 min"]])("%i s", (s, want) => expect(waitWords(s)).toBe(want));
  const tried = (t: Pick<Try, "way" | "outcome"> & Partial<Try>): Try => ({ at: "2026-03-01T09:00:00.000Z", detail: "", took_ms: 0, ...t });
  it("tells a try that failed from a way that is unavailable", () => {
    expect(tryWords(tried({ way: "mail", outcome: "failed", detail: "no answer" }))).toBe("failed: no answer");
    expect(tryWords(tried({ way: "push", outcome: "unavailable", detail: "not over https" }))).toBe("unavailable: not over https");
    expect(tryWords(tried({ way: "push", outcome: "sent", took_ms: 1412 }))).toBe("handed over in 1.4 s");
  });
  it("never says of a page that it was seen", () => {
    expect(resultWords({ id: "1", way: "mail", at: "", state: "sent", tries: [] })).toBe("handed over. Check whether it came.");
    expect(resultWords({ id: "1", way: "mail", at: "", state: "waiting", tries: [{ at: "", way: "mail", outcome: "failed", detail: "busy", took_ms: 1 }] })).toBe("failed: busy; it is tried again");
  });
  it("leaves whole plans out of the log", () => {
    expect(detailWords({ day: "2026-03-05", on: "", plan: { hours: [] }, minutes: 10 })).toBe("day: 2026-03-05, minutes: 10");
    expect(detailWords(null)).toBe("");
  });
});

describe("changing the plan", () => {
  it.each([
    ["a whole plan", {}, ""],
    ["a line without a day", { hours: [{ days: [], from: "08:00", to: "09:00", people: ["Ana"] }] }, "no day"],
    ["a line without a person", { hours: [{ days: ["mon"], from: "08:00", to: "09:00", people: [] }] }, "names nobody"],
    ["a time that is none", { hours: [{ days: ["mon"], from: "8", to: "09:00", people: ["Ana"] }] }, "times such as"],
    ["no length at all", { hours: [{ days: ["mon"], from: "08:00", to: "08:00", people: ["Ana"] }] }, "00:00 to 24:00"],
    ["no step", { urgent: [] }, "no step for urgent"],
    ["one person, but whom", { high: [{ who: "named", after_s: 0 }] }, "say whom"],
  ] as [string, Partial<Plan>, string][])("%s", (_, change, want) => {
    const got = planTrouble(plan(change));
    if (want === "") expect(got).toBe("");
    else expect(got).toContain(want);
  });
  it("sends no name with a step that calls nobody by name, and keeps what it does not show", () => {
    const p = cleaned(plan({ urgent: [{ who: "first", person: "Ana", after_s: 0 }], retries_s: [0, 9], address: " https://b.example " }));
    expect(p.urgent).toEqual([{ who: "first", after_s: 0 }]);
    expect([p.retries_s, p.flood.gather_s, p.address]).toEqual([[0, 9], 5, "https://b.example"]);
    expect("weekly_test" in p).toBe(false);
  });
  it("moves one forward", () => expect([forward(["a", "b", "c"], 2), forward(["a", "b"], 0)]).toEqual([["a", "c", "b"], ["a", "b"]]));
});

describe("this phone", () => {
  const key = { available: true, why: "", key: "BA" };
  const all = { secure: true, worker: true, push: true, permission: "default" as const };
  it.each([
    ["the server has none", { available: false, why: "no https", key: "" }, all, null, { is: "unavailable", why: "no https" }],
    ["all is there", key, all, null, { is: "ready" }],
    ["not allowed", key, { ...all, permission: "denied" as const }, null, { is: "denied" }],
    ["it is on", key, all, "https://push.example/1", { is: "on", endpoint: "https://push.example/1" }],
  ])("%s", (_, k, b, e, want) => expect(pushState(k, b, e)).toEqual(want));
  it.each([[{ ...all, secure: false }, "https"], [{ ...all, push: false }, "home screen"], [{ ...all, permission: "none" as const }, "home screen"]])("says why it is unavailable", (b, want) => {
    const s = pushState(key, b, null);
    expect(s.is).toBe("unavailable");
    expect(JSON.stringify(s)).toContain(want);
  });
  it("reads base64url by RFC 4648 section 10 and 5", () => {
    expect(new TextDecoder().decode(fromBase64("Zm9vYg=="))).toBe("foob");
    expect([...fromBase64("-_8")]).toEqual([0xfb, 0xff]);
  });
  it.each([["Mozilla/5.0 (iPhone; CPU iPhone OS 18_0)", "Ana's phone"], ["Mozilla/5.0 (Linux; Android 15) Mobile", "Ana's phone"], ["Mozilla/5.0 (X11; Linux x86_64)", "Ana's computer"]])("%s", (agent, want) => expect(deviceName("Ana", agent)).toBe(want));
});
