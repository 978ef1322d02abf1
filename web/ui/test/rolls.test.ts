import { beforeEach, describe, expect, it } from "vitest";
import { ownerWords, undecidedRolls } from "../src/handover/handover";
import { asSent } from "../src/load/loading";
import { onRolls } from "../src/report/statements";
import { answerWords, chunks, overdue } from "../src/rolls/list";
import { complete, knownWords, scannedWords } from "../src/rolls/known";
import { noteFound } from "../src/runs/missed";
import { everything } from "../src/runs/query";
import { asked, seek } from "../src/runs/seek";
import { at, T0, unit } from "./make";
import { pastRun } from "./makepast";
import type { Decision, KnownRoll } from "../src/types";

const known = (more: Partial<KnownRoll> = {}): KnownRoll => ({ twin_check: "7", push: null, entered_at: at(0), entered_by: "Mina", changed_at: at(0), changed_by: "Mina", ...more });
const name = (id: string): string => (id === "l/b" ? "Heron" : id);

describe("what is known of a roll", () => {
  it("completes a roll that says nothing of itself, and never changes what it says", () => {
    const k = known({ process: "e6-7", push: 1, order: "B-7" });
    expect(complete({ twin_check: "7" }, k)).toEqual({ twin_check: "7", process: "e6-7", push: 1, order: "B-7" });
    expect(complete({ twin_check: "7", process: "c41", push: 0 }, k)).toEqual({ twin_check: "7", process: "c41", push: 0, order: "B-7" });
    expect(complete({ twin_check: "7" }, known())).toEqual({ twin_check: "7" });
  });
  it("is told when the roll is scanned, STOP before anything else", () => {
    const told = (p: Partial<Parameters<typeof scannedWords>[0]>): { ok: boolean; words: string } => scannedWords({ twin_check: "7", known: null, runs: [], loaded: [], ...p }, "l/a", name, T0);
    expect(told({ known: known({ process: "e6-7", push: 1, order: "B-7" }) })).toEqual({ ok: true, words: "For E-6 +1, order B-7" });
    expect(told({ known: known({ stop: "order canceled", order: "B-7" }) })).toEqual({ ok: false, words: "Marked STOP: order canceled. Take it out. Order B-7" });
    expect(told({ loaded: ["l/a", "l/b"].map((u) => ({ unit: u, roll: { twin_check: "7" } })) }).words).toBe("It is loaded in Heron too");
    expect(told({ runs: [pastRun("r", { unit: "l/b", outcome: "running" })] }).words).toBe("It is in Heron now");
    expect(told({})).toEqual({ ok: true, words: "" });
  });
  it("says what it does not know of a roll in no words", () => expect(knownWords(known(), T0)).toBe(""));
  it("sends a roll without what the server worked out itself", () =>
    expect(asSent({ twin_check: "7", decision: { decision: "hold", by: "Mina", at: at(0) }, ...{ push_error_stops: 0.1 } })).toEqual({ twin_check: "7" }));
});

describe("a list of rolls", () => {
  it("goes in parts that the server takes, each with the head, and rows keep their numbers", () => {
    const rows = Array.from({ length: 450 }, (_, i) => `${i + 1},c41`);
    const parts = chunks(["twin check,process", ...rows].join("\r\n"));
    expect(parts.map((p) => [p.text.split("\n").length, p.rows])).toEqual([[201, 0], [201, 200], [51, 400]]);
    expect(parts[1]?.text.startsWith("twin check,process\n201,c41\n")).toBe(true);
    expect(chunks("1\n2\n")).toEqual([{ text: "1\n2\n", rows: 0 }]);
    expect(chunks(" \n\n")).toEqual([]);
  });
  it("says in a line what became of it", () => {
    const none = { new: 0, changed: 0, same: 0, taken: [], refused: [], ignored: [] };
    expect(answerWords({ ...none, new: 12, same: 3, refused: [{ row: 2, twin_check: "x", error: "y" }] })).toBe("12 new, 3 known already, 1 not taken.");
    expect(answerWords(none)).toBe("The list holds no roll.");
  });
  it("knows what is overdue", () => expect([overdue(known({ due_at: at(-60) }), T0), overdue(known({ due_at: at(60) }), T0), overdue(known(), T0)]).toEqual([true, false, false]));
});

describe("film that nobody has decided about", () => {
  it("has an owner, or says that it has none", () => {
    expect(ownerWords({ owner: { name: "Mina", said: true } })).toBe("Mina will decide");
    expect(ownerWords({ owner: { name: "Ana", said: false } })).toBe("Ana, who is on call, will decide");
    expect(ownerWords({ owner: null })).toContain("Nobody is assigned");
  });
  it("is of the rolls that have no decision of their own", () => {
    const d: Decision = { decision: "hold", by: "Mina", at: at(0) };
    expect(undecidedRolls({ rolls: [{ twin_check: "1", decision: d }, { twin_check: "2" }] })).toEqual(["2"]);
  });
});

describe("a fault seen on the film", () => {
  it("is of the rolls that were named, of all where that was said, and else of none", () => {
    expect([onRolls(["1"], false), onRolls(["1", "2"], false), onRolls([], true), onRolls([], false)]).toEqual(["on roll 1", "on rolls 1, 2", "on all rolls", "rolls not said"]);
  });
});

describe("a search after one that found nothing", () => {
  const store = {
    units: () => [{ unit: unit("l/a", { name: "Plover" }) }], now: { peek: () => T0 },
    source: { get: () => Promise.resolve({ runs: [] }) },
  } as unknown as Parameters<typeof seek>[0];
  beforeEach(() => {
    asked.value = everything;
    noteFound(3);
  });
  it("starts anew: neither the number nor a filter of before stays", async () => {
    await seek(store, "99999");
    noteFound(0);
    await seek(store, "Plover");
    expect(asked.value).toEqual({ ...everything, unit: "l/a" });
    noteFound(0);
    await seek(store, "c41");
    expect(asked.value).toEqual({ ...everything, process: "c41" });
  });
  it("narrows what was found further", async () => {
    await seek(store, "Plover");
    noteFound(2);
    await seek(store, "c41");
    expect(asked.value).toEqual({ ...everything, unit: "l/a", process: "c41" });
  });
});
