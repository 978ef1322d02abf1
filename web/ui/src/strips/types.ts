// What the API says of control strips (web/routes_strips.go, web/stripchart.go).

import type { Decision, Roll, Run } from "../types";

export type StripStanding = "in" | "action" | "out" | "unjudged";
export type GateIs = "in" | "watch" | "stop" | "none";

export interface Densities { r?: number | null; g?: number | null; b?: number | null }

export interface Figure {
  plot: string;
  label: string;
  value: number;
  aim: number | null;
  deviation: number | null;
  action: number | null;
  control: number | null;
  side: "both" | "high" | "low";
  standing: StripStanding;
  limits: "published" | "own" | "provisional" | "none";
  aim_from?: "reference" | "own" | "first-strips";
}

export interface StripRow {
  id: string;
  unit: string;
  run: string | null;
  process: string;
  mix: string;
  code: string;
  read_at: string;
  by: string;
  plots: Figure[] | null;
  standing: StripStanding;
  note: string;
}

export interface Gate {
  gate: GateIs;
  reasons: string[] | null;
  last_in_at: string | null;
  out_since?: string | null;
  needs?: "strip" | "second-strip";
  opened?: { by: string; at: string; reason: string } | null;
}

export interface Signal { signal: string; detail: string; do: string }
export interface Point { id: string; at: string; figure: Figure; signals: Signal[] | null }
export interface Plot { plot: string; label: string; points: Point[] | null }

export interface Chart {
  unit: string;
  process: string;
  process_name: string;
  mix: string | null;
  mixes: string[] | null;
  steps: string[] | null;
  source: string;
  gate: Gate;
  strips: StripRow[] | null;
  plots: Plot[] | null;
  events: { at: string; what: string; text: string }[] | null;
  causes: { text: string; plots: string[] | null; evidence: string; fits: boolean; source: string; standing: string }[] | null;
  explanation: { text: string; explained: string[] | null; unexplained: string[] | null };
  fields: { step: string; color: "r" | "g" | "b"; label: string }[] | null;
  offer: OwnAim[] | null;
  false_rate: { plots: number; rules: number; control_only: number; stops: number };
}

export interface OwnAim { process: string; unit: string; mix?: string; plot: string; aim: number; sigma: number; strips: number; by?: string; at?: string }

export interface StripReference {
  process: string;
  code: string;
  densities: Record<string, Densities> | null;
  corrections?: Record<string, Densities> | null;
  box?: string;
  stored_c?: number | null;
  opened_at?: string | null;
  used_up_at?: string | null;
}

export interface StripSettings {
  asked: string[] | null;
  references: StripReference[] | null;
  limits: { process: string; unit?: string; plot: string; action: number; control: number; side?: string; reason: string }[] | null;
  aims: OwnAim[] | null;
}

export interface SinceRun {
  id: string;
  run: string;
  push: number;
  started_at: string;
  ended_at: string | null;
  outcome: Run["outcome"];
  verdict: Run["verdict"];
  rolls: Roll[] | null;
  decision: Decision | null;
}

/** What ran since the last strip that was in (web/stripsince.go). */
export interface Since {
  unit: string;
  process: string;
  mix: string;
  since: string | null;
  strip: StripRow | null;
  runs: SinceRun[] | null;
  orders: { order: string; due_at: string | null; rolls: string[] | null }[] | null;
  more: boolean;
}
