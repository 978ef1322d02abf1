import { describe, expect, it } from "vitest";
import { empty, parseFrame, reduce } from "../src/state/live";
import { laneOrder, mayMove, urgency } from "../src/state/order";
import { alert, at, T0, unit } from "./make";

describe("frames", () => {
  it("reads what it knows and leaves the rest", () => {
    expect(parseFrame('{"type":"beat","at":"2026-03-01T09:00:00.000Z"}')?.type).toBe("beat");
    for (const bad of ["", "{", "null", "[]", '{"type":"new-kind"}', '{"type":"unit"}', '{"type":"alert","alert":{}}']) {
      expect(parseFrame(bad)).toBeNull();
    }
  });

  it("takes a snapshot for the whole truth", () => {
    const old = reduce(empty, { type: "snapshot", at: at(0), units: [unit("l/a")], alerts: [alert("1", "l/a")] }, T0);
    const s = reduce(old, { type: "snapshot", at: at(0), units: [unit("l/b")], alerts: [] }, T0);
    expect([...s.units.keys()]).toEqual(["l/b"]);
    expect(s.alerts.size).toBe(0);
    expect(s.ready).toBe(true);
  });

  it("patches one unit and leaves the others the same object", () => {
    const s = reduce(empty, { type: "snapshot", at: at(0), units: [unit("l/a"), unit("l/b")], alerts: [] }, T0);
    const t = reduce(s, { type: "unit", at: at(1), unit: unit("l/a", { activity: "running" }) }, T0 + 1000);
    expect(t.units.get("l/a")?.unit.activity).toBe("running");
    expect(t.units.get("l/b")).toBe(s.units.get("l/b"));
  });

  it("drops an alert when it is closed", () => {
    const s = reduce(empty, { type: "alert", at: at(0), alert: alert("1", "l/a") }, T0);
    expect(s.alerts.size).toBe(1);
    expect(reduce(s, { type: "alert", at: at(0), alert: alert("1", "l/a", { state: "closed" }) }, T0).alerts.size).toBe(0);
  });

  it("learns the server's clock from any frame", () => {
    const s = reduce(empty, { type: "beat", at: at(0) }, T0 + 5000);
    expect(s.offset).toBe(-5000);
    expect(reduce(s, { type: "unit", at: at(1), unit: unit("l/a") }, T0 + 6000).units.get("l/a")?.heardAt).toBe(T0 + 1000);
  });
});

describe("the order of lanes", () => {
  const units = ["l/a", "l/b", "l/c", "l/d"].map((id) => unit(id));
  it("puts who needs someone first and the rest by name", () => {
    const of = (id: string) =>
      id === "l/d" ? [alert("1", id)] : id === "l/c" ? [alert("2", id, { priority: "high" })] : [];
    expect(laneOrder([...units].reverse(), of, T0)).toEqual(["l/d", "l/c", "l/a", "l/b"]);
  });
  it("lets a seen or shelved alert sink", () => {
    const seen = alert("1", "l/a", { state: "acknowledged" });
    const shelved = alert("2", "l/a", { shelved_until: at(60) });
    const open = alert("3", "l/b", { priority: "high" });
    expect(urgency(units[0]!, [seen], T0)).toBeLessThan(urgency(units[1]!, [open], T0));
    expect(urgency(units[0]!, [shelved], T0)).toBeLessThan(urgency(units[1]!, [open], T0));
    expect(urgency(units[0]!, [shelved], T0 + 61_000)).toBeGreaterThan(urgency(units[1]!, [open], T0));
  });
  it("leaves retired units out", () => expect(laneOrder([unit("l/z", { standing: "retired" })], () => [], T0)).toEqual([]));
  it("keeps still for three seconds after a touch", () => {
    expect(mayMove(10_000, 7001)).toBe(false);
    expect(mayMove(10_000, 7000)).toBe(true);
  });
});
