import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { heading, ORDERS, spent, toDo } from "../src/words/todo";
import { alert, at, T0 } from "./make";

describe("what an alert wants done", () => {
  const order = "Press the button to drain.";
  const a = alert("a1", "lab/plover", { rule: "bath-temperature", run: "r1", response: order, facts: { act_at: at(60) } });
  it("is said as long as it can be done, and never as an order afterwards", () => {
    expect(toDo(a, T0)).toBe(order);
    expect(toDo(a, T0 + 75_000)).toBe(order);
    expect(spent(a, T0 + 75_001)).toBe(true);
    expect(toDo(a, T0 + 75_001)).toMatch(/^That time \(.*\) has passed: look which bath the film is in now. Hold the rolls for inspection.$/);
    expect(toDo({ ...a, cleared_at: at(20) }, T0 + 30_000)).toMatch(/^Cleared at .* Look at the run's report/);
    expect(toDo({ ...a, withdrawn: true }, T0)).toBe("Later evidence took it back. There is nothing to do.");
  });
  it("stays where it may be done later too", () => {
    expect(toDo({ ...a, rule: "waste-will-not-fit" }, T0 + 3600_000)).toBe(order);
  });
  it("orders nothing in the heading of mains that are back", () => {
    const p = alert("a2", "lab/plover", { rule: "power-lost", message: "Mains power lost in developer: turn the tank by hand" });
    expect(heading(p, T0)).toBe(p.message);
    expect(heading({ ...p, cleared_at: at(9) }, T0)).toBe("Mains power lost in developer");
  });
  it("has its moment from the same rules as the server", () => {
    const go = readFileSync("../../internal/lab/saying.go", "utf8");
    const list = [...(/var orders = map\[string\]bool\{([^}]*)\}/.exec(go)?.[1] ?? "").matchAll(/"([a-z-]+)": true/g)].map((m) => m[1]);
    expect([...ORDERS].sort()).toEqual(list.sort());
  });
});
