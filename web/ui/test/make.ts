import type { Alert, PlanStep, Unit, UnitRun } from "../src/types";

export const T0 = Date.UTC(2026, 2, 1, 9, 0);
export const at = (s: number): string => new Date(T0 + s * 1000).toISOString();

export function step(n: number, name: string, aim: number, state: PlanStep["state"], from?: number, to?: number): PlanStep {
  return {
    n, step: name, label: name, kind: "dev", aim_s: aim, aim_c: 38, low_c: 37, high_c: 39, state,
    started_at: from === undefined ? null : at(from), ended_at: to === undefined ? null : at(to),
  };
}

export function run(plan: PlanStep[], change: Partial<UnitRun> = {}): UnitRun {
  return {
    id: "r", run: "r-1", process: "c41", push: 0, kind: "film", started_at: at(0), step: "bleach", n: 2, of: plan.length,
    phase: "in-bath", set_s: 100, elapsed_s: 40, step_left_s: 60, remaining_s: 300, ends_at: null, plan, ...change,
  };
}

export function unit(id: string, change: Partial<Unit> = {}): Unit {
  return {
    id, name: id.split("/")[1] ?? id, standing: "accepted", link: "online", activity: "idle", run: null,
    bath: { c: null, low_c: null, high_c: null, standing: "unknown", at: null }, light: { state: "none", since: null },
    power: { source: "mains", since: null, battery_pct: null }, containers: [], clock_offset_s: 0, last_heard_at: at(0),
    open_alerts: [], ...change,
  };
}

export function alert(id: string, unitId: string, change: Partial<Alert> = {}): Alert {
  return {
    id, rule: "bath-temperature", unit: unitId, priority: "urgent", state: "unacknowledged", occurrence: 1, raised_at: at(0),
    noticed_at: at(0), found_afterwards: false, cleared_at: null, acknowledged_at: null, shelved_until: null,
    message: "m", consequence: "c", response: "r", facts: {}, ...change,
  };
}
