// What GET /runs/{id}/report answers, mirrored from internal/lab/report.go and
// entry.go. Lists may be null where Go sends none.

import type { Priority, Run } from "../types";

export interface Report {
  run: Run;
  unit_name: string;
  judged_by: JudgedBy;
  look_for: LookFor[] | null;
  seen: SeenCauses[] | null;
  compared: Comparison | null;
  timeline: Timeline;
  entries: Entry[] | null;
  alerts: ReportAlert[] | null;
  notes: string[] | null;
  made_by: string;
}

export interface JudgedBy {
  sheet: string;
  sheet_name: string;
  sources: string[] | null;
  /** Of the sheet, each with how far its source goes; none in a record from before they were kept. */
  figures?: SheetFigure[] | null;
  /** The unconfirmed ones that the verdict hangs on. */
  hangs_on?: SheetFigure[] | null;
  probe_class?: string;
  inspect_stops?: number | null;
  out_stops?: number | null;
  probe_offset_c: number;
  probe_within_c: number;
  probe_checked_at: string | null;
  house_aims?: { process: string; step: string; push: number; equivalent_s: number }[] | null;
  developer?: { process: string; step: string; developer: string } | null;
}

export interface SheetFigure {
  step: string;
  figure: string;
  value: string;
  standing: string;
  /** Of limits that the lab widened: that they are its own, what is published, and why. */
  note?: string;
}

export interface LookFor {
  code: string;
  step?: string;
  look: string;
  remedy: string;
  source: string;
  standing?: string;
}

export interface SeenCauses {
  seen: string;
  label: string;
  /** That show it; none, and not all: on which was not said. */
  rolls?: string[] | null;
  all?: boolean;
  causes: Cause[] | null;
}

export interface Cause {
  text: string;
  step?: string;
  evidence: string;
  against: string;
  /** How to tell it from the others, by eye; "" where the figures do. */
  tell?: string;
  source: string;
  standing?: string;
}

export interface Comparison {
  runs: number;
  from: string;
  to: string;
  findings: Finding[] | null;
}

export interface Finding {
  step: string;
  feature: string;
  unit: string;
  value: number;
  median: number;
  z: number;
  text: string;
}

export interface Timeline {
  from: string;
  to: string;
  steps: TimelineStep[] | null;
  bath: CurvePoint[] | null;
  outages: Span[] | null;
  unheard: Span[] | null;
  still: Span[] | null;
  by_hand: Span[] | null;
  envelope: BandPoint[] | null;
}

export interface TimelineStep {
  n: number;
  step: string;
  label: string;
  kind: string;
  planned_s: number | null;
  started_at: string | null;
  ended_at: string | null;
  low_c: number | null;
  high_c: number | null;
}

export interface CurvePoint {
  at: string;
  c: number | null;
}

export interface BandPoint {
  at: string;
  low: number;
  high: number;
}

export interface Span {
  from: string;
  to: string;
  label: string;
}

export interface ReportAlert {
  id: string;
  rule: string;
  step?: string;
  priority: Priority;
  raised_at: string;
  message: string;
}

export interface Entry {
  id: string;
  unit: string;
  run?: string;
  what: string;
  at: string;
  entered: string;
  by: string;
  body?: unknown;
  taken_back?: { at: string; by: string } | null;
}

/** What GET /runs/{id}/batch answers: the runs around a bad one, oldest first. */
export interface Batch {
  last_good: string | null;
  next_good: string | null;
  runs: { run: Run; codes: string[] | null; shared: string[] | null }[] | null;
}

/** A fault that may be seen on film: one row of the symptom table. */
export interface SymptomChoice {
  seen: string;
  label: string;
}
