import type { PlanStep, UnitRun } from "../types";
import { ms, SECOND } from "../words/time";

/** One step as it lies in time, in milliseconds since the epoch. */
export interface Segment {
  n: number;
  step: string;
  label: string;
  state: PlanStep["state"];
  from: number;
  to: number;
  low: number | null;
  high: number | null;
}

/** A run laid out: the axis and its segments, which never overlap. */
export interface Layout {
  from: number;
  to: number;
  segments: Segment[];
}

const MIN_LENGTH = 5 * SECOND;

/**
 * Lays a run out in time: what was heard where it was, what is to come as long
 * as it is set, with the waits that the end time still holds (heating, filling,
 * draining) spread evenly before the steps to come.
 */
export function layoutRun(run: UnitRun, now: number, stepLeftS: number | null): Layout {
  const plan = run.plan;
  const end = ms(run.ends_at);
  const segments: Segment[] = [];
  const first = plan.find((p) => p.started_at !== null);
  let cursor = ms(first?.started_at) ?? Math.max(now, ms(run.started_at) ?? now);
  const before = plan.slice(0, first ? plan.indexOf(first) : 0).filter((p) => p.state !== "ahead" && p.state !== "now");
  layBefore(segments, before, cursor);

  const rest = plan.slice(before.length);
  const ahead = rest.filter((p) => isAhead(p));
  let wait = 0;
  for (const p of rest) {
    if (isAhead(p)) {
      if (p === ahead[0]) {
        cursor = Math.max(cursor, now);
        wait = spread(end, cursor, ahead);
      }
      const from = cursor + wait;
      cursor = from + Math.max(p.aim_s * SECOND, MIN_LENGTH);
      segments.push(segment(p, from, cursor));
      continue;
    }
    const from = Math.max(cursor, ms(p.started_at) ?? cursor);
    cursor = Math.max(from, endOf(p, run, from, now, stepLeftS));
    segments.push(segment(p, from, cursor));
  }
  const from = segments[0]?.from ?? ms(run.started_at) ?? now;
  return { from, to: Math.max(cursor, end ?? 0, from + MIN_LENGTH), segments };
}

const isAhead = (p: PlanStep): boolean => p.state === "ahead" || (p.state === "now" && p.started_at === null);

function segment(p: PlanStep, from: number, to: number): Segment {
  return { n: p.n, step: p.step, label: p.label, state: p.state, from, to, low: p.low_c, high: p.high_c };
}

/** Steps that went unheard before the first one heard end where that begins. */
function layBefore(into: Segment[], before: PlanStep[], until: number): void {
  let to = until;
  for (const p of [...before].reverse()) {
    const length = p.state === "skipped" ? 0 : p.aim_s * SECOND;
    into.unshift(segment(p, to - length, to));
    to -= length;
  }
}

function spread(end: number | null, from: number, ahead: PlanStep[]): number {
  if (end === null) return 0;
  const needed = ahead.reduce((sum, p) => sum + Math.max(p.aim_s * SECOND, MIN_LENGTH), 0);
  return Math.max(0, (end - from - needed) / ahead.length);
}

function endOf(p: PlanStep, run: UnitRun, from: number, now: number, left: number | null): number {
  const ended = ms(p.ended_at);
  if (p.state === "skipped" || p.state === "unheard") return ended ?? from;
  if (p.state === "past") return ended ?? from + p.aim_s * SECOND;
  if (ended !== null && run.phase !== "in-bath") return ended;
  if (left !== null && run.phase === "in-bath") return now + Math.max(0, left) * SECOND;
  return Math.max(now, from + p.aim_s * SECOND);
}

/** Where t lies on the axis, 0 to 1. */
export function along(l: Layout, t: number): number {
  return Math.min(1, Math.max(0, (t - l.from) / (l.to - l.from)));
}

/** How many letters of middling width a text is as long as. */
export function letters(text: string): number {
  let n = 0;
  for (const c of text) n += "ijltfr- ".includes(c) ? 0.62 : "mw".includes(c) ? 1.4 : 1.02;
  return n;
}

/** A name that has room: where it begins and what it says. */
export interface Placed {
  n: number;
  at: number;
  text: string;
}

/** So many letters stay free before the next name: two names must not read as one. */
const GAP = 1;

/** The name of the step that runs now is set in bold, which is wider. */
const BOLD = 1.16;

/**
 * Chooses for each segment the longest name that fits into it; one too narrow
 * for any goes unnamed rather than lie on its neighbour's. `em` is the width of
 * a letter as part of the axis. The step that runs now is always named.
 */
export function nameSegments(
  l: Layout,
  em: number,
  names: (s: Segment) => string[],
): Placed[] {
  const out: Placed[] = [];
  const segments = l.segments.filter((s) => s.to > s.from);
  segments.forEach((s, i) => {
    const at = along(l, s.from);
    const next = segments[i + 1];
    const room = (next ? along(l, next.from) - GAP * em : 1.04) - at;
    const options = names(s);
    const wide = s.state === "now" ? BOLD * em : em;
    const text = options.find((o) => letters(o) * wide <= room) ?? (s.state === "now" ? options.at(-1) : undefined);
    if (text) out.push({ n: s.n, at, text });
  });
  return out;
}

/** Where whole minutes of the run fall: the perforations of the strip. */
export function minutes(l: Layout): number[] {
  const out: number[] = [];
  const step = 60 * SECOND;
  for (let t = l.from + step; t < l.to; t += step) out.push(along(l, t));
  return out;
}
