import type { Run, RunStep } from "../src/types";
import { at } from "./make";

export function pastStep(n: number, change: Partial<RunStep> = {}): RunStep {
  return {
    n, step: n === 1 ? "developer" : "bleach", fills: 1, sheet_s: 195, set_s: 195, time_s: 195, low_c: 37, high_c: 39, mean_c: 38, min_c: 37.9, max_c: 38.1, outside_s: 0,
    equivalent_s: null, push_error_stops: null, push_error_low_stops: null, push_error_high_stops: null, ...change,
  };
}

export function pastRun(id: string, change: Partial<Run> = {}): Run {
  return {
    id, unit: "l/a", run: `r-${id}`, process: "c41", push: 0, kind: "film", started_at: at(0), ended_at: at(1700), outcome: "done", verdict: "in-control", push_error_stops: 0,
    reasons: [], steps: [], outages: [], gaps: [], alerts: [], rolls: [], decision: null, seal: null, film: null, continues: null, ...change,
  };
}
