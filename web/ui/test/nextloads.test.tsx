import { render } from "preact";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { proposal } from "../fixture/nextloads";
import type { Source } from "../src/api/source";
import { Lane } from "../src/board/Lane";
import { NextLoadsProvider, useNextLoads } from "../src/board/nextload";
import { StoreContext } from "../src/context";
import { NextLoads, ProposedHere } from "../src/load/NextLoads";
import { Store } from "../src/state/store";
import type { Proposal } from "../src/types";
import { figuresWords, gainWords, laneLine, promiseWords, provenWords, setTo, startWords } from "../src/words/nextloads";
import { hourMinute } from "../src/words/time";
import { T0, unit } from "./make";

const p = proposal(T0, false);
const first = (q: Proposal): Proposal["runs"][number] => {
  const r = q.runs[0];
  if (!r) throw new Error("no run");
  return r;
};

describe("what to load next, in words", () => {
  it("is one line in the lane of an idle unit, for the half hour to come", () => {
    expect(laneLine(p, "tern-street/turnstone", T0, false)).toBe("Load next: E-6, push not said, 3 rolls, now");
    expect(laneLine(p, "tern-street/dunlin", T0, true)).toBe(`Load next: B&W, ${hourMinute(T0 + 6 * 60_000)}`);
    expect(["curlew", "avocet"].map((u) => laneLine(p, `tern-street/${u}`, T0, false))).toEqual(["", ""]);
    expect([laneLine(proposal(T0, true), "tern-street/dunlin", T0, false), laneLine(null, "tern-street/dunlin", T0, false)]).toEqual(["", ""]);
  });
  it("says a push that nobody said as not said", () => expect(p.runs.map(setTo)).toEqual(["E-6, push not said", "B&W", "C-41 +1", "B&W"]));
  it("says now for what should have begun already", () => expect([startWords(first(p), T0 + 5e6), startWords(first(p), T0 - 120_000)]).toEqual(["now", hourMinute(T0)]));
  it("says what is promised, and what would be late", () => {
    expect(promiseWords(first(p), T0)).toEqual({ late: false, text: "" });
    expect(p.runs.slice(1, 3).map((r) => promiseWords(r, T0))).toEqual([{ late: false, text: `promised ${hourMinute(T0 + 90 * 60_000)}` }, { late: true, text: "1 roll late, by up to 29 minutes" }]);
  });
  it("says each figure that differs from first come, first served, worse ones too", () => {
    expect(gainWords(p)).toBe("Beside first come, first served: 2 fewer late rolls, 56 minutes less late in all, 2 fewer moments when two runs need hands at once, done 19 minutes earlier.");
    expect(gainWords({ ...p, figures: { ...p.first_come, late: 2, collisions: 3 } })).toBe("Beside first come, first served: 1 fewer late roll, 1 more moment when two runs need hands at once.");
    expect(gainWords({ ...p, better: false })).toBe("First come, first served would do as well.");
    expect(figuresWords({ ...p.figures, late: 0, late_min: 0 }, T0)).toBe(`No roll is late; no two runs need hands within two minutes; the last film is ready at ${hourMinute(T0 + 118 * 60_000)}.`);
    expect([provenWords(p), provenWords({ ...p, proven: true })]).toEqual(["The best of many plans that were tried; a better one may exist.", ""]);
  });
});

describe("what to load next, on the pages", () => {
  let root: HTMLElement;
  beforeEach(() => document.body.append((root = document.createElement("div"))));
  afterEach(() => {
    render(null, root);
    root.remove();
  });
  let answered = 0;
  const open = async (what: Proposal | "refused", page: preact.JSX.Element): Promise<void> => {
    const source: Source = {
      listen(on) {
        on.frame({ type: "snapshot", at: new Date().toISOString(), units: [unit("tern-street/avocet", { name: "Avocet" }), unit("tern-street/turnstone"), unit("tern-street/heron", { load: { process: "c41", push: 0, rolls: [{ twin_check: "1" }] } })], alerts: [] });
        return { check: () => undefined, close: () => undefined };
      },
      get<T>(path: string): Promise<T> {
        if (path === "/session") return Promise.resolve({ setup_needed: false, name: "Ana", role: "operator" } as T);
        if (path === "/next-loads") answered++;
        return path === "/next-loads" && what !== "refused" ? Promise.resolve(what as T) : Promise.reject(new Error("no"));
      },
      send: () => Promise.reject(new Error("no")),
    };
    const store = new Store(source);
    await store.refreshSession();
    render(<StoreContext.Provider value={store}>{page}</StoreContext.Provider>, root);
  };
  const shown = (want: string): Promise<void> => vi.waitFor(() => expect(root.textContent).toContain(want), { timeout: 3000, interval: 5 });
  const live = proposal(Date.now(), false);

  it("names each run with its rolls, what is left out and why, and leads to the unit", async () => {
    await open(live, <NextLoads />);
    await shown("60231, 60232, 60233, 60240, 60241");
    for (const words of ["Flush it first.", "Look at the cards.", "▲ 1 roll late, by up to 29 minutes", "Marked STOP: they must not be run. 60213", "Avocet Waste is full (float switch). Empty it first.", "its time is from the sheet"]) {
      expect(root.textContent).toContain(words);
    }
    expect([...root.querySelectorAll("ol a")].map((a) => a.getAttribute("href"))[2]).toBe("#/load/tern-street/curlew");
    expect(root.querySelector("details")?.open).toBe(false);
  });
  it("says that nothing can be planned yet, and shows at once why", async () => {
    await open({ ...live, runs: [], waiting: 3 }, <NextLoads />);
    await shown("3 rolls wait; none can be planned yet.");
    expect(root.querySelector("details")?.open).toBe(true);
  });
  const Lanes = (): preact.JSX.Element => <NextLoadsProvider value={useNextLoads(0)}>{["turnstone", "avocet", "heron"].map((u) => <Lane key={u} id={`tern-street/${u}`} form="full" scale={1} />)}</NextLoadsProvider>;
  it("is a line in the lane of the unit, and one where it is loaded; what is loaded is not proposed again", async () => {
    await open(live, <><Lanes /><ProposedHere unit="tern-street/curlew" /><ProposedHere unit="tern-street/avocet" /></>);
    await shown("Load next: E-6, push not said, 3 rolls, now");
    await shown("Proposed here: C-41 +1, 2 rolls, start");
    expect(root.textContent).toContain("Loaded: 1 roll, C-41");
    expect([root.querySelectorAll(".next").length, root.querySelectorAll(".proposedhere").length, root.querySelectorAll("[role=alert]").length]).toEqual([1, 1, 0]);
  });
  it("is silent where no roll waits, and where it cannot be read", async () => {
    for (const what of [proposal(Date.now(), true), "refused" as const]) {
      answered = 0;
      await open(what, <><i>page</i><NextLoads /><Lanes /><ProposedHere unit="tern-street/curlew" /></>);
      await vi.waitFor(() => expect(answered).toBe(3), { timeout: 3000, interval: 5 });
      await shown("page");
      expect([root.querySelectorAll(".nextloads, .next, .proposedhere").length, root.textContent?.includes("oad next")]).toEqual([0, false]);
      render(null, root);
    }
  });
});
