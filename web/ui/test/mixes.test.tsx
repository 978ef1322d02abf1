import { render } from "preact";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { needWords } from "../src/chemistry/MixingPart";
import { MixesPage } from "../src/chemistry/MixesPage";
import { partsIn } from "../src/chemistry/NewMix";
import { ageWords, limitWords, milliliters, mixLabel, standOf, useWords } from "../src/chemistry/words";
import { StoreContext } from "../src/context";
import { Links } from "../src/nav/Links";
import { subject } from "../src/route";
import { lookUp } from "../src/scan/lookup";
import { Store } from "../src/state/store";
import type { Source } from "../src/api/source";
import { Refusal } from "../src/api/source";
import type { MixUse } from "../src/types";
import { offices } from "../fixture/offices";

const use = (change: Partial<MixUse>): MixUse => ({ runs: 2, roll_equivalents: 4, assumed: 0, unscanned: 0, maybe: 0, ...change });

describe("the words of mixes", () => {
  it("knows a label from a roll", () => {
    expect([mixLabel("mix-7qk2fm"), mixLabel("48213"), mixLabel("MIX-"), mixLabel("MIX 7QK2FM")]).toEqual(["MIX-7QK2FM", null, null, null]);
  });
  it("says what is not known of the film that went through", () => {
    expect(useWords(use({}))).toBe("4 roll-equivalents in 2 runs");
    expect(useWords(use({ runs: 1, roll_equivalents: 1, unscanned: 1, assumed: 1, maybe: 2 }))).toBe("1 roll-equivalent in 1 run; 1 run with no roll scanned is not in the count; 1 roll of unknown format counted as one each; 2 runs may have used it");
  });
  it("says how a mix stands, with or without limits", () => {
    const state = (is: "fine" | "soon" | "over" | "withdrawn" | "done", limited = true): [string, string] => standOf({ state: { is, limited, why: [], age_days: 1 }, at: [] });
    expect([state("fine"), state("fine", false), state("over"), state("withdrawn")].map(([, w]) => w)).toEqual(["within its limits", "no limit set", "beyond its limit", "withdrawn: do not use"]);
    expect([ageWords(0.4), ageWords(1.2), ageWords(26)]).toEqual(["mixed today", "1 day old", "26 days old"]);
    expect([limitWords({ solution: "a/b" }), limitWords({ solution: "a/b", days: 1, rolls_per_l: 20 })]).toEqual(["", "1 day, 20 roll-equivalents a liter"]);
  });
  it("says what to mix, and where that is not known", () => {
    const need = { solution: "c41/developer", roll_equivalents: 12, assumed: 0, need_ml: 1200, have_ml: 500, mix_ml: 700 };
    expect(needWords(need)).toBe("12 roll-equivalents wait: 1,200 mL. 500 mL in the bottles. Mix 700 mL at least.");
    expect(needWords({ ...need, have_ml: null, mix_ml: null })).toBe("12 roll-equivalents wait: 1,200 mL. How much is in the bottles is not known.");
    expect(needWords({ ...need, need_ml: null })).toContain("How much that takes is not known");
    expect(milliliters(71.25)).toBe("71.3 mL");
  });
  it("reads parts as they are typed", () => {
    expect(partsIn("Part A, 500\n\nPart B 50 mL\nStarter")).toEqual([{ part: "Part A", ml: 500 }, { part: "Part B", ml: 50 }, { part: "Starter", ml: 0 }]);
  });
});

describe("the page of mixes", () => {
  const nothing: Source = { listen: () => ({ check: () => undefined, close: () => undefined }), get: (p) => Promise.reject(new Refusal(404, p)), send: () => Promise.reject(new Refusal(404, "")) };
  let box: HTMLElement;
  const show = async (query: string, at: string): Promise<Store> => {
    subject.value = at;
    const store = new Store(offices(new URLSearchParams(query), { ...nothing, get: <T,>(p: string) => (p === "/session" ? Promise.resolve({ setup_needed: false, name: "Ana", role: "lead" } as T) : nothing.get<T>(p)) }));
    await store.refreshSession();
    render(<StoreContext.Provider value={store}><Links /><MixesPage /></StoreContext.Provider>, box);
    return store;
  };
  beforeEach(() => void document.body.appendChild((box = document.createElement("div"))));
  afterEach(() => {
    render(null, box);
    box.remove();
    subject.value = "";
  });
  it("is not in the bar until the lab writes mixes, and asks nothing then", async () => {
    const store = await show("", "");
    await vi.waitFor(() => expect(box.textContent).toContain("No mix is written yet"));
    expect([...box.querySelectorAll("a")].some((a) => a.textContent === "Mixes")).toBe(false);
    expect(box.textContent).not.toContain("Put a bottle up");
    expect(store.session.value?.name).toBe("Ana");
  });
  it("shows those in use with their limits, the withdrawn one loud", async () => {
    await show("books", "");
    await vi.waitFor(() => expect(box.querySelectorAll(".mixlist > li").length).toBe(3));
    expect([...box.querySelectorAll("a")].some((a) => a.textContent === "Mixes")).toBe(true);
    expect(box.textContent).toContain("It is 26 days old; limit 28 days");
    expect(box.textContent).toContain("withdrawn: do not use");
    expect(box.textContent).toContain("Mix 750 mL at least");
  });
  it("finds the rolls of a withdrawn mix by order, and says what is not known", async () => {
    await show("books", "MIX-C9R3HB");
    await vi.waitFor(() => expect(box.textContent).toContain("A-1071"));
    expect(box.textContent).toContain("5 rolls in 3 runs");
    expect(box.textContent).toContain("1 run with film had no roll scanned");
    expect(box.textContent).toContain("may have used it");
    expect(box.querySelector<HTMLAnchorElement>("a[download]")?.getAttribute("href")).toBe("/api/v1/mixes/MIX-C9R3HB/rolls.csv");
  });
  it("opens a mix whose label is scanned anywhere", async () => {
    const store = await show("books", "");
    expect((await lookUp(store, "mix-c9r3hb")).doors?.[0]?.href).toBe("#/mixes/MIX-C9R3HB");
  });
});
