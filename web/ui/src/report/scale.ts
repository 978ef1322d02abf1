import type { Run } from "../types";

/** What is drawn on the scale of push error, in stops. */
export interface Scale {
  best: number;
  low: number | null;
  high: number | null;
  inspect: number | null;
  out: number | null;
  /** The scale reaches from -reach to +reach. */
  reach: number;
}

/** The push error of a run with its range: that of the step with push times. */
export function scaleOf(run: Pick<Run, "push_error_stops" | "steps">, inspect: number | null, out: number | null): Scale | null {
  const best = run.push_error_stops;
  if (best === null) return null;
  const step = run.steps.find((s) => s.push_error_stops !== null && Math.abs(s.push_error_stops - best) < 1e-9)
    ?? run.steps.find((s) => s.push_error_stops !== null);
  const low = step?.push_error_low_stops ?? null;
  const high = step?.push_error_high_stops ?? null;
  const most = Math.max(...[best, low, high, out, inspect].map((v) => Math.abs(v ?? 0)));
  return { best, low, high, inspect, out, reach: Math.max(1, Math.ceil((most + 0.1) * 3) / 3) };
}

/** Where a value lies along the scale, 0 to 1. */
export function place(s: Scale, stops: number): number {
  return Math.min(1, Math.max(0, (stops + s.reach) / (2 * s.reach)));
}

/** The ticks of the scale: each third of a stop, whole ones marked. */
export function ticks(s: Scale): { v: number; whole: boolean }[] {
  const n = Math.floor(s.reach * 3 + 1e-6);
  return Array.from({ length: 2 * n + 1 }, (_, i) => ({ v: (i - n) / 3, whole: (i - n) % 3 === 0 }));
}
