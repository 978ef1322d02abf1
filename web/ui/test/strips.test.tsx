import { render } from "preact";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import type { Source } from "../src/api/source";
import { Refusal } from "../src/api/source";
import { needs, crowds } from "../src/board/jobs";
import { tickets } from "../src/board/queue";
import { StoreContext } from "../src/context";
import { startLines } from "../src/load/start";
import { stripsOf } from "../src/report/strip";
import { subject } from "../src/route";
import { Store } from "../src/state/store";
import { gateLine, gateOf, gateTag } from "../src/strips/gates";
import { marksOf, monthName, monthSpan } from "../src/strips/marks";
import { StripsPage } from "../src/strips/StripsPage";
import { density, judgedBy, keyed, latestOf, lettersOf, pasted, rowsOf } from "../src/strips/strips";
import type { Figure, Point, Signal, StripRow } from "../src/strips/types";
import type { StripGate, UserRole } from "../src/types";
import { offices } from "../fixture/offices";
import { at, T0, unit } from "./make";

const figure = (change: Partial<Figure>): Figure => ({ plot: "ld.r", label: "LD red", value: 0.5, aim: 0.44, deviation: 0.06, action: 0.06, control: 0.08, side: "both", standing: "in", limits: "published", aim_from: "reference", ...change });

describe("the pad", () => {
  const type = (keys: string): { value: string; full: boolean } => [...keys].reduce<{ value: string; full: boolean }>((f, k) => keyed(f.value, k), { value: "", full: false });
  it("takes three digits for a density, and knows when a field is full", () => {
    expect(type("04")).toEqual({ value: "04", full: false });
    expect(type("044")).toEqual({ value: "0.44", full: true });
    expect(type("004")).toEqual({ value: "0.04", full: true }); // and not 4
    expect(type("298")).toEqual({ value: "2.98", full: true });
    expect(type("0441")).toEqual({ value: "1", full: false }); // a full field is typed anew
    expect(type("12⌫3⌫⌫")).toEqual({ value: "", full: false });
    expect(type("044⌫⌫")).toEqual({ value: "0", full: false });
    expect(keyed("0.4", "4")).toEqual({ value: "0.44", full: true });
    expect(keyed("44", "next")).toEqual({ value: "44", full: true });
  });
  it("reads what is typed and pasted as densities, with points or commas", () => {
    expect([density("0.44"), density(".44"), density("0,44"), density("44"), density("4.4.4"), density("x")]).toEqual([0.44, 0.44, 0.44, 0.44, null, null]);
    expect(pasted("0.44,0.76,0.98")).toEqual(["0.44", "0.76", "0.98"]);
    expect(pasted("0,44; 0,76; 0,98")).toEqual(["0,44", "0,76", "0,98"]);
    expect(pasted("R 44 G 76 B 98")).toEqual(["44", "76", "98"]);
  });
});

describe("the chart", () => {
  const point = (minute: number, signals: Signal["signal"][], change: Partial<Figure> = {}): Point =>
    ({ id: `s${minute}`, at: at(minute), figure: figure(change), signals: signals.map((signal) => ({ signal, detail: "d", do: "Find the cause." })) });
  const red = { plot: "ld.r", label: "LD red", points: [point(0, []), point(1, ["action-limit"], { deviation: 0.07 }), point(2, ["action-limit", "ewma"], { deviation: 0.07, standing: "action" })] };
  const green = { plot: "ld.g", label: "LD green", points: [point(0, []), point(1, ["action-limit"], { deviation: 0.02 }), point(2, ["ewma"], { deviation: -0.01 })] };
  it("puts a letter where a signal begins, once for all colors of a row", () => {
    const [row] = rowsOf({ plots: [red, green] });
    expect(row && lettersOf(row)).toEqual([{ at: at(1), letters: "A", top: 0.07, bottom: 0.02 }, { at: at(2), letters: "E", top: 0.07, bottom: -0.01 }]);
  });
  it("shows the figure that is farthest from its aim, beside its limit", () => {
    const [row] = rowsOf({ plots: [red, green] });
    expect(row && latestOf(row)).toEqual({ words: "+0.07", off: true });
    const low = { plots: [{ plot: "dmin.r", label: "D-min red", points: [point(0, [], { deviation: -0.2, side: "high" })] }, { plot: "dmin.g", label: "D-min green", points: [point(0, [], { deviation: 0.01, side: "high" })] }] };
    expect(latestOf(rowsOf(low)[0]!)).toEqual({ words: "+0.01", off: false }); // low on a side without a limit is no fault
  });
  it("says of each mark what it is of and what to do, the gravest first", () => {
    expect(marksOf({ plots: [red, green] }, "s2")).toEqual([
      { signal: "action-limit", labels: ["LD red"], do: "Find the cause.", detail: "d" }, { signal: "ewma", labels: ["LD red", "LD green"], do: "Find the cause.", detail: "" }]);
  });
  it("says whose limits and aims a strip was judged by", () => {
    expect(judgedBy([figure({}), figure({})])).toBe("published limits, aims of the reference strip");
    expect(judgedBy([figure({ limits: "own", aim_from: "own" })])).toBe("the lab's own limits, the lab's own aims");
    expect(judgedBy([figure({ deviation: null })])).toBe("nothing yet");
  });
  it("knows a month", () => {
    const span = monthSpan("2026-02");
    expect(span && (span.to - span.from) / 86_400_000).toBe(28);
    expect([monthSpan("2026-13"), monthSpan("")]).toEqual([null, null]);
    expect(monthName("2026-02")).toBe("February 2026");
  });
});

describe("the gate where people look", () => {
  const gate = (change: Partial<StripGate>): StripGate => ({ process: "c41", gate: "stop", last_in_at: null, ...change });
  it("is that of the process in hand, else the gravest", () => {
    const gates = [gate({ gate: "in" }), gate({ process: "e6-3" })];
    expect(gateOf(unit("l/a", { gates }))?.process).toBe("e6-3");
    expect(gateOf(unit("l/a", { gates, load: { process: "c41", push: 0, rolls: [] } }))?.gate).toBe("in");
    expect(gateOf(unit("l/a", {}))).toBeNull();
    expect([gateTag(gate({}), false), gateTag(gate({}), true), gateTag(gate({ gate: "in" }), false)]).toEqual(["strip STOP", "C-41 strip STOP", "strip in"]);
    expect([gateLine(gate({ needs: "strip" })), gateLine(gate({ gate: "watch", needs: "second-strip" })), gateLine(gate({})), gateLine(gate({ gate: "watch" })), gateLine(gate({ gate: "in" }))])
      .toEqual(["Strip STOP until one is read today", "Strip WATCH: run a second strip now", "Strip STOP: no customers’ film", "Strip WATCH: find the cause", ""]);
  });
  it("is a line of the start of the day for each process", () => {
    const lines = startLines({ unit: unit("l/a", { gates: [gate({ text: "No control strip was read today." }), gate({ process: "bw", gate: "in", last_in_at: at(0) })] }), plan: null, trace: [], runs: [], now: T0, degrees: "C", volumes: "l" });
    expect(lines.filter((l) => l.what.startsWith("Strip")).map((l) => [l.what, l.standing, l.words.slice(0, 12)])).toEqual([["Strip C-41", "todo", "STOP. No con"], ["Strip B&W", "fine", "in, read " + lines.find((l) => l.what === "Strip B&W")!.words.slice(9, 12)]]);
  });
  it("stands behind what is due at a minute, and makes no crowd", () => {
    const list = needs([{ unit: "l/a", what: "control strip", due_at: at(0), patient: true }, { unit: "l/b", what: "second control strip", due_at: at(-600), patient: true }, { unit: "l/c", what: "to-dryer", due_at: at(300) }], []);
    expect(list.map((n) => n.unit)).toEqual(["l/c", "l/b", "l/a"]);
    expect(crowds(list)).toEqual([]);
    expect(tickets(list, [], T0 + 1000).map((t) => [t.unit, t.when, t.overdue])).toEqual([["l/c", "5 min", false], ["l/b", "now", false], ["l/a", "now", false]]);
  });
});

describe("a run's report", () => {
  const row = (id: string, run: string | null, minute: number): StripRow => ({ id, unit: "l/a", run, process: "c41", mix: "", code: "", read_at: at(minute), by: "Wren", densities: {}, plots: [], standing: "in", note: "" });
  it("names the strip that went through it and the last one before it", () => {
    const list = [row("later", null, 90), row("own", "r", 60), row("before", "q", -10), row("old", null, -500)];
    const got = stripsOf(list, "r", T0);
    expect([got.own?.id, got.before?.id]).toEqual(["own", "before"]);
    expect(stripsOf([], "r", T0)).toEqual({ own: null, before: null });
  });
});

describe("the page", () => {
  let root: HTMLElement;
  let sent: [string, string, unknown][];
  let store: Store;
  const nothing: Source = {
    listen(on) {
      on.frame({ type: "snapshot", at: new Date().toISOString(), units: [unit("tern-street/plover", { name: "Plover", processes: ["c41"] })], alerts: [] });
      return { check: () => undefined, close: () => undefined };
    },
    get: (path) => Promise.reject(new Refusal(404, `no ${path}`)),
    send: (_m, path) => Promise.reject(new Refusal(403, `no ${path}`)),
  };
  const open = async (query = "", role: UserRole = "lead"): Promise<void> => {
    const lab = offices(new URLSearchParams(`strips&${query}`), nothing);
    const source: Source = {
      listen: (on) => nothing.listen(on),
      get: async <T,>(path: string): Promise<T> => (path === "/session" ? { setup_needed: false, name: "Ana", role } : path === "/next-jobs" ? { jobs: [] } : await lab.get(path)) as T,
      send: async <T,>(method: string, path: string, body?: unknown): Promise<T> => {
        sent.push([method, path, body]);
        return lab.send<T>(method as "POST", path, body);
      },
    };
    subject.value = "tern-street/plover/c41";
    store = new Store(source);
    await store.start();
    render(<StoreContext.Provider value={store}><StripsPage /></StoreContext.Provider>, root);
    await vi.waitFor(() => expect(root.querySelector(".gate")).not.toBeNull(), { timeout: 3000, interval: 5 });
  };
  beforeEach(() => {
    root = document.createElement("div");
    document.body.append(root);
    sent = [];
  });
  afterEach(() => {
    render(null, root);
    root.remove();
    store.disconnect();
  });
  const button = (words: string): HTMLButtonElement => {
    const b = [...root.querySelectorAll("button")].find((x) => (x.textContent ?? "").trim() === words);
    if (!b) throw new Error(`no button says ${words}`);
    return b;
  };

  it("reads a strip by large keys alone", async () => {
    await open();
    button("Large keys").click();
    await vi.waitFor(() => expect(root.querySelector(".keypad")).not.toBeNull());
    for (const key of "022060070044076098") button(key).click();
    await vi.waitFor(() => expect([...root.querySelectorAll<HTMLInputElement>("input.density")].slice(0, 7).map((i) => i.value)).toEqual(["0.22", "0.60", "0.70", "0.44", "0.76", "0.98", ""]));
    button("Save this strip").click();
    await vi.waitFor(() => expect(sent.find(([, path]) => path === "/strips")).toBeDefined());
    expect(sent.find(([, path]) => path === "/strips")?.[2]).toEqual({ unit: "tern-street/plover", process: "c41", mix: "B13", code: "2461", densities: { dmin: { r: 0.22, g: 0.6, b: 0.7 }, ld: { r: 0.44, g: 0.76, b: 0.98 } } });
  });
  it("lists film since the last good strip by customers' orders where strips are out", async () => {
    await open("out");
    await vi.waitFor(() => expect(root.textContent).toContain("Order T-1187"));
    expect([...root.querySelectorAll(".sinceorders b")].map((e) => e.textContent)).toEqual(["Order T-1187", "Order T-1190", "No order given"]);
    expect(root.querySelectorAll(".sinceruns li")).toHaveLength(3);
    expect(root.querySelector(".gate")?.textContent).toContain("STOP");
  });
  it("lets a lead alone open the gate, and only with a reason", async () => {
    await open("out");
    expect(button("Open the gate").disabled).toBe(true);
    const reason = [...root.querySelectorAll("label")].find((l) => l.textContent?.startsWith("Let film run"))?.querySelector("input");
    if (!reason) throw new Error("no field for the reason");
    reason.value = "retested by hand";
    reason.dispatchEvent(new Event("input", { bubbles: true }));
    await vi.waitFor(() => expect(button("Open the gate").disabled).toBe(false));
    button("Open the gate").click();
    await vi.waitFor(() => expect(sent[0]).toEqual(["POST", "/strips/gate/open", { unit: "tern-street/plover", process: "c41", mix: "B13", reason: "retested by hand" }]));
    render(null, root);
    await open("out", "operator");
    expect(root.textContent).not.toContain("Open the gate");
  });
  it("says what to do at each mark, and what telemetry does not explain", async () => {
    await open();
    expect(root.querySelector(".marks")?.textContent).toContain("Film may run. Find the cause.");
    expect(root.textContent).toContain("Not explained by telemetry");
    expect(root.querySelectorAll(".monthtable tbody tr")).toHaveLength(15);
  });
});
