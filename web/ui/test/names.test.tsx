import { render } from "preact";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { Refusal, type Source } from "../src/api/source";
import { BathNow } from "../src/board/BathNow";
import { StoreContext } from "../src/context";
import type { Heard } from "../src/state/live";
import { degrees } from "../src/state/prefs";
import { Store } from "../src/state/store";
import type { Alert } from "../src/types";
import { MeasuredForm } from "../src/unit/MeasuredForm";
import { NamesForm } from "../src/unit/NamesForm";
import { alert as makeAlert, run, step, unit } from "./make";

let root: HTMLElement;
let store: Store;
let sent: [string, string, unknown][];

const sheets = [{ id: "c41", name: "C-41", steps: [{ step: "developer", label: "Developer" }, { step: "bleach", label: "Bleach" }] }];

async function open(role: "operator" | "viewer", part: preact.VNode): Promise<void> {
  const source: Source = {
    listen(on) {
      on.frame({ type: "snapshot", at: new Date().toISOString(), units: [unit("tern-street/plover", {})], alerts: [] });
      return { check: () => undefined, close: () => undefined };
    },
    async get<T>(path: string): Promise<T> {
      if (path === "/session") return { setup_needed: false, name: "Wren", role } as T;
      if (path === "/sheets") return { sheets } as T;
      return { jobs: [] } as T;
    },
    async send<T>(method: string, path: string, body?: unknown): Promise<T> {
      sent.push([method, path, body]);
      if (path.includes("refused")) throw new Refusal(422, "body.c: 137.6 is beyond 0 to 60");
      return {} as T;
    },
  };
  store = new Store(source);
  await store.refreshSession();
  render(<StoreContext.Provider value={store}>{part}</StoreContext.Provider>, root);
}

const text = (): string => root.textContent ?? "";
const shown = (want: string): Promise<void> => vi.waitFor(() => expect(text()).toContain(want), { timeout: 3000, interval: 5 });
const button = (words: string): HTMLButtonElement => [...root.querySelectorAll("button")].filter((b) => b.textContent === words)[0]!;
function put(el: HTMLInputElement | HTMLSelectElement, value: string): void {
  el.value = value;
  el.dispatchEvent(new Event("input", { bubbles: true }));
  el.dispatchEvent(new Event("change", { bubbles: true }));
}

beforeEach(() => {
  root = document.createElement("div");
  document.body.append(root);
  sent = [];
  degrees.value = "C";
});
afterEach(() => {
  render(null, root);
  root.remove();
  store.disconnect();
  degrees.value = "C";
});

describe("step names that are not on the sheet", () => {
  const a: Alert = { ...makeAlert("a1", "tern-street/plover"), rule: "step-unknown", run: "run-7", facts: { process: "c41", names: ["dev-1", "rinse-x"] } };
  it("are said to mean a step, or accepted, for this run and later ones", async () => {
    await open("operator", <NamesForm alert={a} />);
    await shown("“dev-1” is, in C-41");
    put(root.querySelector("select")!, "developer");
    await vi.waitFor(() => expect(button("That is what it means").disabled).toBe(false));
    root.querySelector("form")!.dispatchEvent(new Event("submit", { bubbles: true, cancelable: true }));
    await shown("This run and all later ones");
    [...root.querySelectorAll("button")].filter((b) => b.textContent === "An extra step: accept it")[1]!.click();
    await vi.waitFor(() => expect(sent.length).toBe(2));
    expect(sent).toEqual([
      ["POST", "/units/tern-street/plover/step-names", { process: "c41", name: "dev-1", step: "developer", run: "run-7" }],
      ["POST", "/units/tern-street/plover/step-names", { process: "c41", name: "rinse-x", run: "run-7" }],
    ]);
  });
  it("are nothing for a viewer to say", async () => {
    await open("viewer", <NamesForm alert={a} />);
    expect(text()).toBe("");
  });
});

describe("a thermometer's reading", () => {
  it("goes in as Celsius, whatever the reader reads", async () => {
    degrees.value = "F";
    await open("operator", <MeasuredForm run="run-7" />);
    await shown("°F");
    put(root.querySelector("input")!, "100,4");
    await vi.waitFor(() => expect(button("Enter it").disabled).toBe(false));
    root.querySelector("form")!.dispatchEvent(new Event("submit", { bubbles: true, cancelable: true }));
    await shown("it counts from now on");
    expect(sent[0]?.slice(0, 2)).toEqual(["POST", "/runs/run-7/measured"]);
    expect((sent[0]?.[2] as { c: number }).c).toBe(38);
  });
  it("keeps what was typed where it is refused", async () => {
    await open("operator", <MeasuredForm run="refused" />);
    put(root.querySelector("input")!, "137.6");
    await vi.waitFor(() => expect(button("Enter it").disabled).toBe(false));
    root.querySelector("form")!.dispatchEvent(new Event("submit", { bubbles: true, cancelable: true }));
    await shown("beyond 0 to 60");
    expect(root.querySelector("input")!.value).toBe("137.6");
  });
});

describe("a probe that is in doubt", () => {
  it("is crossed out with why, on the board", async () => {
    const shown = (why: "jump" | "fahrenheit", c: number): string => {
      const bath = { c: 37.8, low_c: 37.65, high_c: 37.95, standing: "unknown" as const, at: null, doubtful: { c, why, at: "2026-03-01T09:03:00Z" } };
      render(<StoreContext.Provider value={store}><BathNow heard={{ unit: unit("tern-street/plover", { run: run([step(1, "developer", 195, "now", 0)], { phase: "in-bath" }), bath }) } as Heard} /></StoreContext.Provider>, root);
      return text();
    };
    await open("viewer", <p />);
    expect(shown("jump", 62.1)).toBe("? 62.1\u00a0°Cprobe doubtful: jumped");
    expect(root.querySelector("s")?.textContent).toBe("62.1\u00a0°C");
    expect(shown("fahrenheit", 100)).toBe("? 100.0probe doubtful: this is °F");
  });
});
