import { describe, expect, it } from "vitest";
import { lookUp } from "../src/scan/lookup";
import type { Store } from "../src/state/store";
import { T0, unit } from "./make";

/** A store whose API knows a roll as the test says. */
function knows(roll: unknown, runs: unknown[] = []): Store {
  const heard = [{ unit: unit("lab/heron", { name: "Heron" }), heardAt: T0 }, { unit: unit("lab/plover", { name: "Plover" }), heardAt: T0 }];
  return {
    units: () => heard, unit: () => undefined, nameOf: (id: string) => heard.find((h) => h.unit.id === id)?.unit.name ?? id, now: { peek: () => T0 }, mayAct: true,
    source: { get: async (path: string) => (path.startsWith("/rolls/") ? roll : { runs }) },
  } as unknown as Store;
}

const run = (over: object = {}): object => ({ id: "r1", rolls: [], unit: "lab/heron", run: "r1", outcome: "done", verdict: "in-control", started_at: new Date(T0 - 3_600_000).toISOString(), ended_at: new Date(T0).toISOString(), ...over });

describe("a roll that is scanned anywhere", () => {
  it.each([
    ["ran", { runs: [run()], loaded: [] }, true, /^Ran in Heron.*in control, no decision yet\.$/],
    ["is in a run now", { runs: [run({ outcome: "running" })], loaded: [] }, true, /^In Heron now\.$/],
    ["is loaded", { runs: [], loaded: [{ unit: "lab/plover" }] }, true, /^Loaded in Plover, not started\.$/],
    ["is loaded twice", { runs: [], loaded: [{ unit: "lab/plover" }, { unit: "lab/heron" }] }, false, /it can be in one only/],
    ["is on the list", { runs: [], loaded: [], known: { process: "c41", push: 1, order: "A-7" } }, true, /^Waits, in no unit yet: .*C-41 \+1.*To load it/],
    ["must not be run", { runs: [], loaded: [], known: { push: null, stop: "torn perforation" } }, false, /^Marked STOP: torn perforation\./],
    ["must not be run and is loaded", { runs: [], loaded: [{ unit: "lab/plover" }], known: { push: null, stop: "torn perforation" } }, false, /^Marked STOP: torn perforation\. Loaded in Plover/],
    ["nobody knows", { runs: [], loaded: [], known: null }, false, /^No run carried it and no unit is loaded with it\./],
  ])("%s", async (_what, roll, ok, words) => {
    const got = await lookUp(knows(roll), "48213");
    expect(got.ok).toBe(ok);
    expect(got.words).toMatch(words);
  });
  it("by its order, where that is no twin check", async () => {
    expect((await lookUp(knows({}, [run(), run({ id: "r2" })]), "A/1042")).words).toMatch(/^2 runs, the last in Heron/);
    expect((await lookUp(knows({}), "A/1042")).ok).toBe(false);
  });
});
