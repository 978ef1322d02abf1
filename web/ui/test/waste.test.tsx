import { render } from "preact";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import type { Source } from "../src/api/source";
import { Refusal } from "../src/api/source";
import { StoreContext } from "../src/context";
import { Links } from "../src/nav/Links";
import { Store } from "../src/state/store";
import { amount, monthSpan, monthWords, streamWords } from "../src/waste/words";
import { WastePage } from "../src/waste/WastePage";
import { offices } from "../fixture/offices";

/** As it is read: a space that does not break is a space. */
const plain = (s: string | null): string => (s ?? "").replace(/\u00a0/g, " ");

describe("the words of the waste log", () => {
  it("says what is an estimate and what is not known", () => {
    expect([amount({ litres: 14.2, litres_by: "estimate" }, "l"), amount({ litres: 14.2, litres_by: "person" }, "l"), amount({}, "l")].map(plain)).toEqual(["14.2 L (estimate)", "14.2 L", "liters not known"]);
    expect(plain(amount({ litres: 3.785411784, litres_by: "person" }, "gal"))).toBe("1.0 gal"); // NIST: one US gallon
    expect(plain(monthWords({ month: "2026-03", stream: "", litres: 15, times: 3, unknown: 1 }, "l"))).toBe("15.0 L in 3 emptyings; 1 without liters: at least that much");
    expect([streamWords("silver-rich"), streamWords(""), streamWords(undefined)]).toEqual(["silver-rich", "stream not said", "stream not said"]);
    expect(monthSpan("2026-02")).toEqual({ from: new Date(2026, 1, 1).toISOString(), to: new Date(2026, 2, 1).toISOString() });
    expect(monthSpan("")).toBeNull();
  });
});

describe("the waste log", () => {
  const nothing: Source = { listen: () => ({ check: () => undefined, close: () => undefined }), get: (p) => Promise.reject(new Refusal(404, p)), send: () => Promise.reject(new Refusal(404, "")) };
  let box: HTMLElement;
  let sent: [string, string, Record<string, unknown>][];
  const show = async (query: string, role: string): Promise<void> => {
    sent = [];
    const lab = offices(new URLSearchParams(query), { ...nothing, get: <T,>(p: string) => (p === "/session" ? Promise.resolve({ setup_needed: false, name: "Ana", role } as T) : nothing.get<T>(p)) });
    const store = new Store({ ...lab, send: <T,>(m: string, p: string, b?: unknown) => { sent.push([m, p, b as Record<string, unknown>]); return lab.send<T>(m as "POST", p, b); } });
    await store.refreshSession();
    render(<StoreContext.Provider value={store}><Links /><WastePage /></StoreContext.Provider>, box);
  };
  const button = (words: string): HTMLButtonElement | undefined => [...box.querySelectorAll("button")].find((b) => b.textContent === words);
  beforeEach(() => void document.body.appendChild((box = document.createElement("div"))));
  afterEach(() => {
    render(null, box);
    box.remove();
  });
  it("has no page in the bar and asks nothing until a lead begins it", async () => {
    await show("", "lead");
    await vi.waitFor(() => expect(button("Begin the waste log")).toBeDefined());
    expect([...box.querySelectorAll("a")].some((a) => a.textContent === "Waste")).toBe(false);
    expect(box.textContent).not.toContain("Weekly check");
    button("Begin the waste log")?.click();
    await vi.waitFor(() => expect(box.textContent).toContain("Weekly check"));
    expect(sent[0]?.slice(0, 2)).toEqual(["PUT", "/waste/settings"]);
    expect(sent[0]?.[2]["started_at"]).toBeTruthy();
  });
  it("is begun by nobody but a lead", async () => {
    await show("", "operator");
    await vi.waitFor(() => expect(box.textContent).toContain("A lead begins it."));
    expect(button("Begin the waste log")).toBeUndefined();
  });
  it("shows lines with what stood there before, gaps, totals, and whose rules decide", async () => {
    await show("books", "lead");
    await vi.waitFor(() => expect(box.querySelectorAll(".wastelines > li").length).toBe(6));
    for (const words of ["13.1 L (estimate), silver-rich, to drum 3", "Before: 14.2 L (estimate), silver-rich (by Wren; corrected: weighed the drum)", "no weekly check was written", "hauler Brook Silver, manifest M-004512", "ask your sewer authority", "not known. The log is younger", "Never mix waste streams"]) expect(plain(box.textContent)).toContain(words);
    expect(box.querySelectorAll(".removed").length).toBe(1);
  });
  it("corrects a line under its version, and a volume only where it was changed", async () => {
    await show("books", "operator");
    await vi.waitFor(() => expect(button("Correct")).toBeDefined());
    button("Correct")?.click();
    await vi.waitFor(() => expect(box.querySelector(".wasteform form")).not.toBeNull());
    const form = box.querySelector<HTMLFormElement>(".wasteform form")!;
    form.querySelector<HTMLInputElement>("[name=why]")!.value = "the drum is 4";
    form.querySelector<HTMLInputElement>("[name=to]")!.value = "drum 4";
    form.dispatchEvent(new Event("submit", { bubbles: true, cancelable: true }));
    await vi.waitFor(() => expect(sent.length).toBe(1));
    expect(sent[0]).toEqual(["PUT", "/waste/a", expect.objectContaining({ what: "emptied", version: 1, why: "the drum is 4", to: "drum 4", litres: 13.1, litres_by: "estimate", unit: "tern-street/plover" })]);
  });
});
