import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { filmOf, heading, ORDERS, passed, toDo, type FilmAt } from "../src/words/todo";
import { alert, at, T0 } from "./make";

describe("what an alert wants done", () => {
  const order = "Press the button to drain.";
  const a = alert("a1", "lab/plover", { rule: "bath-temperature", run: "r1", response: order, facts: { act_at: at(60) } });
  it("is said as long as it can be done, and never as an order afterwards", () => {
    expect(toDo(a, { at: T0, film: null })).toBe(order);
    expect(toDo(a, { at: T0 + 75_000, film: null })).toBe(order);
    expect(passed(a, { at: T0 + 75_001, film: null })).toBe(true);
    expect(toDo(a, { at: T0 + 75_001, film: null })).toMatch(/^That time \(.*\) has passed: check which bath the film is in now. Hold the rolls for inspection.$/);
    expect(toDo({ ...a, facts: { ...a.facts, still_to_do: "Finish the bleach by hand." } }, { at: T0 + 75_001, film: null })).toMatch(/now\. Finish the bleach by hand\.$/);
    expect(toDo({ ...a, cleared_at: at(20) }, { at: T0 + 30_000, film: null })).toMatch(/^Cleared at .* Look at the run's report/);
    expect(toDo({ ...a, withdrawn: true }, { at: T0, film: null })).toBe("Withdrawn: later data shows that it did not happen. There is nothing to do.");
  });
  it("names the bath the film is in, and orders nothing for one that it has left", () => {
    const film: FilmAt = { run: "r1", step: "bleach", label: "Bleach", behind: ["developer"] };
    const b = { ...a, step: "developer" };
    expect(toDo(b, { at: T0, film })).toBe("That bath has ended: the film is in the bleach. Hold the rolls for inspection.");
    expect(passed(b, { at: T0, film })).toBe(true);
    const still = { ...film, step: "developer", label: "Developer", behind: [] };
    expect(toDo(b, { at: T0, film: still })).toBe(order);
    expect(toDo(b, { at: T0 + 80_000, film: still })).toMatch(/^That time .* has passed and the film is still in the developer: follow the advice in the unit's lane now\./);
    expect(toDo(b, { at: T0 + 80_000, film: { ...film, run: "r2" } })).toMatch(/check which bath the film is in now/);
  });
  it("knows where film is from the run that goes on, and of a unit that is not heard nothing", () => {
    const step = (id: string, state: "past" | "now" | "ahead") => ({ step: id, state }) as never;
    const u = { link: "online", run: { id: "r1", step: "wash", label: "Wash", plan: [step("developer", "past"), step("wash", "past"), step("wash", "now"), step("fixer", "ahead")] } } as never;
    expect(filmOf(u)).toEqual({ run: "r1", step: "wash", label: "Wash", behind: ["developer"] });
    expect(filmOf({ ...(u as object), link: "silent" } as never)).toBeNull();
    expect(filmOf(undefined)).toBeNull();
  });
  it("stays where it may be done later too", () => {
    expect(toDo({ ...a, rule: "waste-will-not-fit" }, { at: T0 + 3600_000, film: null })).toBe(order);
  });
  it("orders nothing in the heading of mains that are back", () => {
    const p = alert("a2", "lab/plover", { rule: "power-lost", message: "Mains power lost in developer: turn the tank by hand" });
    expect(heading(p, { at: T0, film: null })).toBe(p.message);
    expect(heading({ ...p, cleared_at: at(9) }, { at: T0, film: null })).toBe("Mains power lost in developer");
  });
  it("has its moment from the same rules as the server", () => {
    const go = readFileSync("../../internal/lab/alerttext.go", "utf8");
    const list = [...(/var orders = map\[string\]bool\{([^}]*)\}/.exec(go)?.[1] ?? "").matchAll(/"([a-z-]+)": true/g)].map((m) => m[1]);
    expect([...ORDERS].sort()).toEqual(list.sort());
  });
});
