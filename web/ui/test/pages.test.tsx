import { render, type ComponentType } from "preact";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import type { Source } from "../src/api/source";
import { Refusal } from "../src/api/source";
import { StoreContext } from "../src/context";
import { ContainerSheet } from "../src/load/ContainerSheet";
import { justDone, openContainer, UNDO_MS } from "../src/load/deeds";
import { LoadPage } from "../src/load/LoadPage";
import { UndoToast } from "../src/load/UndoToast";
import { ReportPage } from "../src/report/ReportPage";
import { RunList } from "../src/runs/RunList";
import { subject } from "../src/route";
import { Store } from "../src/state/store";
import type { UserRole } from "../src/types";
import { reports } from "../fixture/reports";
import { ChecksPart } from "../src/unit/ChecksPart";
import { unit } from "./make";

type Answer = (path: string, body: unknown) => unknown;

let root: HTMLElement;
let store: Store;
let sent: [string, string, unknown][];

/** A store with two units, whose API is what a test says. */
async function open(Page: ComponentType, answer: Answer, role: UserRole = "operator"): Promise<void> {
  const waste = { name: "waste", role: "waste" as const, litres: 15, capacity_l: 18.9, fraction: 0.8, runs_left: 1, at: null };
  const source: Source = {
    listen(on) {
      on.frame({ type: "snapshot", at: new Date().toISOString(), units: [unit("lab/heron", { name: "Heron", containers: [waste], processes: ["c41"] }), unit("lab/plover", { name: "Plover" })], alerts: [] });
      return { check: () => undefined, close: () => undefined };
    },
    async get<T>(path: string): Promise<T> {
      if (path === "/session") return { setup_needed: false, name: "Ana", role } as T;
      if (path === "/next-jobs") return { jobs: [] } as T;
      return answer(path, undefined) as T;
    },
    async send<T>(method: string, path: string, body?: unknown): Promise<T> {
      sent.push([method, path, body]);
      return answer(path, body) as T;
    },
  };
  store = new Store(source);
  await store.refreshSession();
  render(<StoreContext.Provider value={store}><Page /></StoreContext.Provider>, root);
}

const text = (): string => root.textContent ?? "";
const shown = (want: string): Promise<void> => vi.waitFor(() => expect(text()).toContain(want), { timeout: 3000, interval: 5 });
const button = (words: string): HTMLButtonElement => {
  const b = [...root.querySelectorAll("button")].find((x) => (x.textContent ?? "").includes(words));
  if (!b) throw new Error(`no button says ${words}`);
  return b;
};

function scan(code: string, field = ".scanfield input"): void {
  const input = root.querySelector<HTMLInputElement>(field);
  if (!input) throw new Error(`no field ${field}`);
  input.value = code;
  input.dispatchEvent(new Event("input", { bubbles: true }));
  input.form?.dispatchEvent(new Event("submit", { bubbles: true, cancelable: true }));
}

beforeEach(() => {
  root = document.createElement("div");
  document.body.append(root);
  sent = [];
  subject.value = "";
  openContainer.value = null;
  justDone.value = null;
});
afterEach(() => {
  render(null, root);
  root.remove();
  store.disconnect();
  vi.useRealTimers();
});

describe("a run's report", () => {
  const past = reports(Date.UTC(2026, 10, 24, 14));
  const answer: Answer = (path) => {
    const id = path.split("/")[2] ?? "";
    if (path.startsWith("/symptoms")) return { symptoms: [{ seen: "thin", label: "Thin negatives" }] };
    if (path.endsWith("/batch")) return { last_good: null, next_good: null, runs: [] };
    const r = past.get(id);
    if (!r) throw new Refusal(404, `there is no run ${id}`);
    return r;
  };

  it("says how far off, why, and which rolls, each in words beside its shape", async () => {
    subject.value = "run-2042";
    await open(ReportPage, answer);
    await shown("+⅓ stop");
    expect(root.querySelector(".vmark svg")).not.toBeNull();
    for (const words of ["inspect", "bath too warm, developer", "Look for", "Can still be done", "48213", "Dense negatives", "Nobody has decided yet"]) expect(text()).toContain(words);
    const scale = root.querySelector(".pushscale svg");
    expect(scale?.getAttribute("aria-label")).toContain("from +0.29 to +0.44");
    expect(text().toLowerCase()).not.toContain("spoiled");
  });

  it("lies along the sheet on paper, whatever the screen was", async () => {
    subject.value = "run-2041";
    await open(ReportPage, answer, "viewer");
    await shown("out of control");
    dispatchEvent(new Event("beforeprint"));
    await vi.waitFor(() => expect(root.querySelector("svg.drawing")?.getAttribute("viewBox")).toMatch(/^0 0 1000 /));
    expect(root.querySelector("svg.drawing.hanging")).toBeNull();
    dispatchEvent(new Event("afterprint"));
  });

  it("shows unknown rolls as unknown", async () => {
    subject.value = "run-2038";
    await open(ReportPage, answer);
    await shown("Unknown: no roll was scanned for this run.");
  });

  it("adds a scanned roll once, and takes one out with a way back", async () => {
    subject.value = "run-2042";
    await open(ReportPage, answer);
    await shown("48216");
    scan("48216");
    await shown("48216 is in this run already");
    expect(sent).toEqual([]);
    scan("k-77");
    await shown("K-77 added");
    expect(sent).toEqual([["POST", "/runs/run-2042/rolls", { add: [{ twin_check: "K-77" }] }]]);
    button("Remove").click();
    await shown("was removed");
    button("Undo").click();
    await vi.waitFor(() => expect(sent).toHaveLength(3));
    expect(sent[2]?.[2]).toMatchObject({ add: [{ twin_check: "48213", order: "A-1042" }] });
  });

  it("lets a viewer read and enter nothing", async () => {
    subject.value = "run-2041";
    await open(ReportPage, answer, "viewer");
    await shown("out of control");
    expect(root.querySelectorAll("input, select, form")).toHaveLength(0);
    expect(text()).toContain("Customer told");
  });

  it("says in a whole sentence that there is no such run", async () => {
    subject.value = "run-0";
    await open(ReportPage, answer);
    await shown("There is no run with this name.");
  });
});

describe("what is entered on one part of a page", () => {
  const probe = (last: unknown): object => ({ checks: [{ check: "probe", label: "Probe against a reference", how: "Hold it in.", every_days: 30, due_at: null, last, from: "", standing: "practice" }] });
  it("shows on all others at once", async () => {
    let checked = false;
    await open(() => <ChecksPart unit="lab/heron" />, (path) => {
      if (path === "/units/lab/heron/figures") checked = true;
      return path === "/units/lab/heron/checks" ? probe(checked ? { at: "2026-03-01T09:00:00.000Z", by: "Mina", ok: true, note: "ice point", value: null } : null) : {};
    });
    await shown("Probe against a reference");
    expect(text()).not.toContain("Mina");
    await store.act("POST", "/units/lab/heron/figures", { probe: { offset_c: 0.1 } });
    await shown("by Mina: ice point");
  });
});

describe("the list of runs", () => {
  it("says what to do next where there is none", async () => {
    await open(RunList, () => ({ runs: [] }));
    await shown("A run appears here by itself when a unit begins it.");
  });
  it("opens the run of a scanned roll", async () => {
    const run = reports(Date.UTC(2026, 10, 24, 14)).get("run-2042")?.run;
    await open(RunList, (path) => ({ runs: path.includes("q=48213") ? [run] : [] }));
    await shown("No run yet");
    scan("48213", ".seek input");
    await vi.waitFor(() => expect(subject.value).toBe("run-2042"));
    const back = new Promise((done) => addEventListener("hashchange", done, { once: true }));
    location.hash = "";
    await back;
  });
});

describe("loading", () => {
  const plan = { process: "c41", process_name: "C-41", process_known: true, running: false, heater: null,
    containers: [{ name: "waste", role: "waste", needs_l: 2.8, has_l: 1.3, standing: "short" }] };
  it("fills the view with STOP and names the odd roll", async () => {
    subject.value = "lab/heron";
    await open(LoadPage, (path, body) => {
      if (path.startsWith("/rolls/")) return { twin_check: "", runs: [], loaded: [{ unit: "lab/plover" }] };
      if (!path.endsWith("/load") || body === undefined) return { unit: "lab/heron", verdict: "go", reasons: [], load: null, plan };
      return { unit: "lab/heron", verdict: "stop", load: body, plan, reasons: [{ code: "roll-process", roll: "K2", stops: true, text: "Roll K2 wants E-6; this run is C-41." }] };
    });
    await shown("too full");
    scan("k1");
    await shown("It is loaded in Plover too");
    scan("e6-7");
    scan("k2");
    await shown("the odd one");
    scan("");
    await shown("STOP");
    expect(sent).toEqual([["POST", "/units/lab/heron/load", { process: "c41", push: 0, answers: [], rolls: [{ twin_check: "K1" }, { twin_check: "K2", process: "e6-7", push: 0 }] }]]);
    expect(root.querySelector(".gsodd")?.textContent).toBe("K2");
    button("Undo").click();
    await shown("Load Heron");
    expect(sent[1]).toEqual(["DELETE", "/units/lab/heron/load", undefined]);
  });
});

describe("a container's sheet", () => {
  const Both = () => (<><ContainerSheet /><UndoToast /></>);
  const answer: Answer = (path) => (path.includes("?limit") ? { events: [] } : { id: "e1" });
  it("enters emptied with one press and takes it back with another", async () => {
    openContainer.value = { unit: "lab/heron", name: "waste" };
    await open(Both, answer);
    await shown("room for 3.9");
    expect(text()).toContain("Gloves and goggles");
    button("Emptied").click();
    await shown("Heron: waste emptied");
    expect(openContainer.value).toBeNull();
    button("Undo").click();
    await shown("Undone.");
    expect(sent).toEqual([["POST", "/units/lab/heron/containers/waste/events", { what: "emptied" }], ["DELETE", "/units/lab/heron/containers/waste/events/e1", undefined]]);
  });
  it("refuses a level that the container cannot hold, and says what would be right", async () => {
    openContainer.value = { unit: "lab/heron", name: "waste" };
    await open(Both, answer);
    await shown("Set the level");
    scan("25", ".deeds input");
    await shown("must be 0 to 18.9");
    expect(sent).toEqual([]);
  });
  it("offers the way back for ten seconds and no longer", async () => {
    vi.useFakeTimers();
    await open(Both, answer);
    justDone.value = { words: "Heron: waste emptied", path: "/x", until: Date.now() + UNDO_MS };
    await vi.advanceTimersByTimeAsync(UNDO_MS - 100);
    expect(text()).toContain("Undo");
    await vi.advanceTimersByTimeAsync(200);
    expect(text()).not.toContain("Undo");
  });
  it("shows a viewer what it holds and no button to enter anything", async () => {
    openContainer.value = { unit: "lab/heron", name: "waste" };
    await open(Both, answer, "viewer");
    await shown("Only operators and leads");
    expect(root.querySelector(".deeds")).toBeNull();
  });
});
