import { describe, expect, it } from "vitest";
import { doDeed, justDone, UNDO_MS } from "../src/load/deeds";
import { dropRoll, nothingLoaded, setWant, takeCode, unitOf, type Loading } from "../src/load/loading";
import { isOdd, oddWords, readWant, twinCheck } from "../src/load/rolls";
import { notKnown } from "../src/load/Verdict";
import { heatedBy, startLines, startSum, type Morning } from "../src/load/start";
import { containerCautions, containerName, deedsFor } from "../src/words/container";
import { MINUTE } from "../src/words/time";
import { at, T0, unit } from "./make";
import { pastRun } from "./makepast";

const scan = (...codes: string[]): { s: Loading; words: string[] } => {
  let s = nothingLoaded;
  const words = codes.map((c) => {
    const r = takeCode(s, c);
    s = r.next;
    return `${r.heard.ok ? "+" : "-"}${r.heard.words}`;
  });
  return { s, words };
};

describe("scanning rolls", () => {
  it("takes each roll once and says which it was", () => {
    const { s, words } = scan("48213", " 48214 ", "48213");
    expect(s.rolls.map((r) => r.twin_check)).toEqual(["48213", "48214"]);
    expect(words).toEqual(["+48213, roll 1", "+48214, roll 2", "-48213 is in already, as roll 1"]);
  });
  it("takes a card for what the rolls after it want", () => {
    const { s } = scan("1", "E-6 +1", "2");
    expect(s.rolls).toEqual([{ twin_check: "1" }, { twin_check: "2", process: "e6-7", push: 1 }]);
  });
  it("refuses what is no twin check, in words", () => {
    const { s, words } = scan("12 34", "-5", "");
    expect(s.rolls).toEqual([]);
    expect(words[0]).toContain("no twin check");
  });
  it("keeps twin checks in capitals, as the server does", () => expect([twinCheck("ab-12"), twinCheck("a-"), twinCheck("x".repeat(33))]).toEqual(["AB-12", null, null]));
  it("leaves a roll out, and sets what one wants", () => {
    const { s } = scan("1", "2");
    expect(dropRoll(s, "1").rolls.map((r) => r.twin_check)).toEqual(["2"]);
    const odd = setWant(s, "2", { process: "bw", push: 0 });
    expect(odd.rolls[1]).toEqual({ twin_check: "2", process: "bw", push: 0 });
    expect(setWant(odd, "2", { process: "c41", push: 0 }).rolls[1]).toEqual({ twin_check: "2", process: "c41", push: 0 });
  });
  it.each([["c41", "c41", 0], ["C-41", "c41", 0], ["e6-7", "e6-7", 0], ["c41-kit", "c41-kit", 0], ["e6-3 -1", "e6-3", -1], ["B&W +2", "bw", 2], ["C-41 −1", "c41", -1]])("reads the card %s", (code, process, push) =>
    expect(readWant(code)).toEqual({ process, push }));
  it("takes no twin check for a card", () => expect([readWant("48213"), readWant("41"), readWant("+1")]).toEqual([null, null, null]));
  it("finds the odd roll", () => {
    const run = { process: "c41", push: 1 };
    expect(isOdd({ twin_check: "1" }, run)).toBe(false);
    expect(isOdd({ twin_check: "1", process: "c41", push: 1 }, run)).toBe(false);
    expect(oddWords({ twin_check: "1", process: "c41" }, run)).toBe("for C-41");
    expect(isOdd({ twin_check: "1", process: "e6-7" }, run)).toBe(true);
  });
  it("knows a unit by its label", () => {
    const list = [{ id: "tern-street/plover", name: "The plover" }];
    expect([unitOf("PLOVER", list), unitOf("the plover", list), unitOf("tern-street/plover", list), unitOf("heron", list)]).toEqual([list[0]?.id, list[0]?.id, list[0]?.id, null]);
  });
});

describe("what is done to containers", () => {
  it("enters it under the container's own name and offers to take it back", async () => {
    const sent: unknown[] = [];
    const store = {
      nameOf: () => "Heron",
      act: async <T>(method: string, path: string, body?: unknown): Promise<T> => {
        sent.push([method, path, body]);
        return { id: "e/1" } as T;
      },
    };
    const before = Date.now();
    await doDeed(store, "l/heron", { name: "e6-7/fixer", role: "bottle" }, "swapped");
    expect(sent).toEqual([["POST", "/units/l/heron/containers/e6-7%2Ffixer/events", { what: "swapped" }]]);
    expect(justDone.value?.path).toBe("/units/l/heron/containers/e6-7%2Ffixer/events/e%2F1");
    expect(justDone.value?.words).toBe("Heron: fixer bottle swapped");
    expect((justDone.value?.until ?? 0) - before).toBeGreaterThanOrEqual(UNDO_MS);
  });
  it("offers for each role what is done to it, and says what to mind", () => {
    expect(deedsFor("waste")[0]?.[0]).toBe("emptied");
    expect(deedsFor("wash")[0]?.[0]).toBe("topped-up");
    for (const role of ["waste", "wash", "recovery", "bottle"] as const) {
      expect(deedsFor(role).some(([d]) => d === "emptied")).toBe(role === "waste" || role === "recovery");
      expect(containerCautions(role)[0]).toMatch(/Gloves and goggles/);
    }
    expect(containerCautions("waste").join()).toContain("Never mix waste streams");
    expect(containerName({ name: "waste-2", role: "waste" })).toBe("Waste 2");
    expect(containerName({ name: "blue-drum", role: "recovery" })).toBe("Silver recovery, blue drum");
  });
});

describe("go or stop", () => {
  it("names each container of which it is not known whether it is enough", () => {
    const c = (name: string, role: "waste" | "wash" | "bottle", standing: "enough" | "short" | "unknown") => ({ name, role, needs_l: null, has_l: 3, standing });
    expect(notKnown([c("waste", "waste", "unknown"), c("wash", "wash", "enough"), c("c41/developer", "bottle", "unknown")])).toBe("waste, developer bottle");
    expect(notKnown([c("waste", "waste", "enough")])).toBe("");
  });
});

describe("the start of the day", () => {
  const box = { name: "waste", role: "waste" as const, litres: 5, capacity_l: 18.9, fraction: 0.26, runs_left: 3, at: at(0) };
  const morning = (change: Partial<Morning> = {}): Morning => ({
    unit: unit("l/a", { containers: [box], power: { source: "mains", since: null, battery_pct: 95 } }), plan: null, trace: [], runs: [], now: T0, degrees: "C", volumes: "l", ...change,
  });
  const rising = Array.from({ length: 11 }, (_, i) => ({ at: at((i - 10) * 60), preheat_c: 25 + i }));
  const plan = { process: "c41", process_name: "C-41", process_known: true, containers: [], heater: { standing: "heating" as const, c: 35, aim_c: 37.8 }, running: false };
  it("says when it will be warm, from how it rises", () => {
    // One degree a minute, 35 now: half a degree short of 37.8 in 2.3 minutes.
    expect(heatedBy(rising.map((p) => ({ t: Date.parse(p.at), c: p.preheat_c })), 37.8, T0)).toBeCloseTo(T0 + 2.3 * MINUTE, -2);
    const line = startLines(morning({ trace: rising, plan }))[0];
    expect(line?.standing).toBe("todo");
    expect(line?.words).toMatch(/35\.0.°C of 37\.8.°C, there at about \d\d:\d\d/);
  });
  it("asks for the heater where nothing rises", () => {
    const still = rising.map((p) => ({ ...p, preheat_c: 22 }));
    expect(startLines(morning({ trace: still, plan: { ...plan, heater: { ...plan.heater, c: 22 } } }))[0]?.words).toContain("is the heater on?");
    expect(heatedBy([{ t: T0, c: 20 }], 38, T0)).toBeNull();
  });
  it("calls unknown what was not heard, and never ready", () => {
    const lines = startLines(morning({ unit: unit("l/a", { containers: [{ ...box, litres: null, runs_left: null }] }) }));
    expect(lines.map((l) => [l.what, l.standing])).toEqual([["Heated", "unknown"], ["Waste", "unknown"], ["Dryer", "unknown"], ["Strip", "unknown"], ["Battery", "unknown"]]);
    expect(startSum(lines)).toEqual({ todo: 0, unknown: 5 });
  });
  it("says that it is not known for how many runs a tank will do", () => {
    const lines = startLines(morning({ unit: unit("l/a", { containers: [{ ...box, runs_left: null }] }) }));
    expect(lines[1]).toMatchObject({ what: "Waste", standing: "unknown", words: expect.stringContaining("for how many runs is not known") });
  });
  it("wants a full waste emptied and an offline unit switched on", () => {
    const full = startLines(morning({ unit: unit("l/a", { containers: [{ ...box, litres: 18, runs_left: 0 }] }) }));
    expect(full.find((l) => l.what === "Waste")?.standing).toBe("todo");
    expect(startLines(morning({ unit: unit("l/a", { link: "offline" }) }))).toHaveLength(1);
  });
  it("speaks the reader's measures", () => {
    // 5 of 18.9 l: room for 13.9 l, which is 3.67 US gallons of 231 cubic inches (NIST Handbook 44, appendix C).
    expect(startLines(morning({ volumes: "gal" })).find((l) => l.what === "Waste")?.words).toContain("room for 3.7\u00a0gal");
  });
  it("knows today's strip", () => {
    const strip = (verdict: "in-control" | "inspect") => startLines(morning({ runs: [pastRun("s", { kind: "strip", verdict })] })).find((l) => l.what === "Strip");
    expect(strip("in-control")?.standing).toBe("fine");
    expect(strip("inspect")?.standing).toBe("todo");
  });
});
