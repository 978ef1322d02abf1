import { ms, SECOND } from "../words/time";
import type { BandPoint, CurvePoint, Run, Span, Timeline, TimelineStep } from "../types";

/** One step as it was planned and as it was, in ms since the epoch. */
export interface Frame {
  n: number;
  step: string;
  label: string;
  kind: string;
  /** What is known of a step that did not happen as far as was heard; "" for one that did. */
  absent: Absent | "";
  plan: [from: number, to: number] | null;
  was: [from: number, to: number] | null;
  low: number | null;
  high: number | null;
  /** The temperatures between which its film is drawn. */
  range: [low: number, high: number] | null;
}

export interface Layout {
  from: number;
  to: number;
  frames: Frame[];
  /** What of the run lies before and after what is drawn, in ms: heating, drying. */
  before: number;
  after: number;
}

/** Left out only where the run was judged so: what was not heard may well have been. */
export type Absent = "skipped" | "no data" | "not reached" | "to come";

/** So much is drawn before the first bath and after the last. */
const MARGIN_MS = 30 * SECOND;

/** Draws the baths: the heating before them and the drying after take room and tell nothing. */
function crop(from: number, until: number, frames: readonly Frame[]): Omit<Layout, "frames"> {
  const ends = frames.flatMap((f) => [...(f.plan ?? []), ...(f.was ?? [])]);
  if (ends.length === 0) return { from, to: Math.max(until, from + SECOND), before: 0, after: 0 };
  // Steps from before the run was first heard have their place too.
  const early = frames.some((f) => f.absent === "no data");
  const first = Math.min(...ends) - MARGIN_MS;
  const left = early ? Math.min(from, first) : Math.max(from, first);
  const right = Math.max(left + SECOND, Math.max(...ends), Math.min(until, Math.max(...ends) + MARGIN_MS));
  return { from: left, to: right, before: Math.max(0, left - from), after: Math.max(0, until - right) };
}

/** A wait between two steps longer than this is no part of a plan. */
const PLAN_GAP_MS = 60 * SECOND;
const USUAL_GAP_MS = 12 * SECOND;

/**
 * Lays the plan and what happened along one line of time. The plan begins with
 * the run and keeps the fills and drains that really were, but no long wait:
 * so a step that ran over pushes what came after it out of line, visibly.
 * What lies before the first step that was heard ends where that one begins.
 */
export function layOut(t: Timeline, run: Told = { outcome: "done", reasons: null }): Layout {
  const from = ms(t.from) ?? 0;
  const until = ms(t.to) ?? from;
  const steps = t.steps.toSorted((a, b) => a.n - b.n);
  const first = steps.findIndex((s) => s.started_at !== null);
  const unheard = steps.slice(0, Math.max(0, first)).filter((s) => absence(s, true, run) === "no data");
  let plan = (ms(steps[first]?.started_at) ?? from) - unheard.reduce((sum, s) => sum + (s.planned_s ?? 0) * SECOND + USUAL_GAP_MS, 0);
  let before: number | null = null;
  const frames = steps.map((s, i): Frame => {
    const began = ms(s.started_at);
    const was: [number, number] | null = began === null ? null : [began, Math.max(began, ms(s.ended_at) ?? until)];
    if (i > 0) plan += before !== null && was ? Math.min(PLAN_GAP_MS, Math.max(0, was[0] - before)) : USUAL_GAP_MS;
    const length = s.planned_s !== null ? s.planned_s * SECOND : was ? was[1] - was[0] : null;
    const planned: [number, number] | null = length === null ? null : [plan, plan + length];
    plan = planned ? planned[1] : plan;
    before = was ? was[1] : null;
    return { n: s.n, step: s.step, label: s.label, kind: s.kind, absent: absence(s, i < first, run), plan: s.planned_s === null ? null : planned, was, low: s.low_c, high: s.high_c, range: rangeOf(s.low_c, s.high_c, was, t.bath) };
  });
  return { ...crop(from, until, frames), frames };
}

type Told = Pick<Run, "outcome"> & { reasons: { code: string; step?: string }[] | null };

function absence(s: TimelineStep, early: boolean, run: Told): Absent | "" {
  if (s.started_at !== null) return "";
  if ((run.reasons ?? []).some((r) => r.code === "step-skipped" && r.step === s.step)) return "skipped";
  if (early) return "no data";
  return run.outcome === "running" ? "to come" : "not reached";
}

/** The first half minute of a bath is settling: film and drum take up heat. */
const SETTLING_MS = 30 * SECOND;
/** The band of limits is never drawn smaller than this part of the film. */
const LEAST_BAND = 1 / 6;

/**
 * From which temperature to which the film of a step reaches. The band of its
 * limits takes the middle half; where the bath went farther, the band shrinks
 * so that how far out can be seen, to scale.
 */
function rangeOf(low: number | null, high: number | null, was: [number, number] | null, bath: readonly CurvePoint[]): [number, number] | null {
  if (low === null || high === null || high <= low || !was) return null;
  const band = high - low;
  let [lo, hi] = [low - band / 2, high + band / 2];
  for (const p of bath) {
    const t = ms(p.at);
    if (p.c === null || t === null || t < was[0] + SETTLING_MS || t > was[1]) continue;
    lo = Math.min(lo, p.c - (low - p.c) * 0.25);
    hi = Math.max(hi, p.c + (p.c - high) * 0.25);
  }
  const spare = (band / LEAST_BAND - band) / 2;
  return [Math.max(lo, low - 2 * spare), Math.min(hi, high + 2 * spare)];
}

/** Where a temperature lies across the film of a step, 0 (coolest drawn) to 1. */
export function across(c: number, f: Pick<Frame, "range">): number {
  if (!f.range) return 0.5;
  const v = (c - f.range[0]) / (f.range[1] - f.range[0]);
  return Math.min(0.97, Math.max(0.03, v));
}

export type Part = "inside" | "outside" | "settling";

/** A piece of the bath's line, of one kind. */
export interface Line {
  part: Part;
  points: [t: number, across: number][];
}

const hasBand = (f: Frame): f is Frame & { low: number; high: number } => f.low !== null && f.high !== null && f.high > f.low;

function partOf(c: number, t: number, f: Frame): Part {
  if (!hasBand(f) || (c >= f.low && c <= f.high)) return "inside";
  return t - (f.was?.[0] ?? t) < SETTLING_MS ? "settling" : "outside";
}

/** The bath in each step's own band; a null reading breaks the line. */
export function bathLines(l: Layout, bath: readonly CurvePoint[]): Line[] {
  const out: Line[] = [];
  for (const f of l.frames) {
    if (!f.was) continue;
    let last = null as Line | null;
    for (const p of bath) {
      const t = ms(p.at);
      if (t === null || t < f.was[0] || t > f.was[1]) continue;
      if (p.c === null) {
        last = null;
        continue;
      }
      const part = partOf(p.c, t, f);
      const here: [number, number] = [t, across(p.c, f)];
      if (last?.part !== part) {
        const joint: [number, number] | undefined = last?.points.at(-1);
        last = { part, points: joint ? [joint] : [] };
        out.push(last);
      }
      last.points.push(here);
    }
  }
  return out.filter((x) => x.points.length > 1);
}

/** The bath of the good runs: for each step a closed line around where they lay. */
export function envelopes(l: Layout, band: readonly BandPoint[]): [t: number, across: number][][] {
  return l.frames.flatMap((f) => {
    if (!f.was || !hasBand(f)) return [];
    const [a, b] = f.was;
    const mine = band.filter((p) => (ms(p.at) ?? 0) >= a && (ms(p.at) ?? 0) <= b);
    if (mine.length < 2) return [];
    const edge = (pick: (p: BandPoint) => number): [number, number][] =>
      mine.map((p) => [ms(p.at) ?? 0, across(pick(p), f)]);
    return [[...edge((p) => p.high), ...edge((p) => p.low).reverse()]];
  });
}

/** The farthest reading outside a step's limits, to have its figure written at it. */
export function farthest(l: Layout, bath: readonly CurvePoint[]): { n: number; t: number; c: number; warm: boolean }[] {
  return l.frames.flatMap((f) => {
    if (!f.was || !hasBand(f)) return [];
    let top: { n: number; t: number; c: number; warm: boolean } | null = null;
    let most = 0;
    for (const p of bath) {
      const t = ms(p.at);
      if (p.c === null || t === null || t < f.was[0] || t > f.was[1] || partOf(p.c, t, f) !== "outside") continue;
      const off = Math.max(p.c - f.high, f.low - p.c);
      if (off > most) {
        most = off;
        top = { n: f.n, t, c: p.c, warm: p.c > f.high };
      }
    }
    return top ? [top] : [];
  });
}

export type MarkKind = "outage" | "unheard" | "still" | "by-hand";

/** Something that lasted: on the drawing a bar, beneath it a line of words. */
export interface Stretch {
  kind: MarkKind;
  from: number;
  to: number;
  label: string;
}

export function stretches(t: Timeline): Stretch[] {
  const of = (kind: MarkKind, list: Span[] | null): Stretch[] =>
    (list ?? []).flatMap((s) => {
      const from = ms(s.from);
      const to = ms(s.to);
      return from === null || to === null ? [] : [{ kind, from, to: Math.max(from, to), label: s.label }];
    });
  return [...of("outage", t.outages), ...of("unheard", t.unheard), ...of("still", t.still), ...of("by-hand", t.by_hand)];
}

/** Clock times to write along the line: whole 5, 10, 20 ... minutes, so many as have room. */
export function clockMarks(l: Layout, most: number): number[] {
  const minute = 60 * SECOND;
  const every = [1, 2, 5, 10, 20, 30, 60, 120].find((m) => (l.to - l.from) / (m * minute) <= most) ?? 240;
  const out: number[] = [];
  for (let t = Math.ceil(l.from / (every * minute)) * every * minute; t <= l.to; t += every * minute) out.push(t);
  return out;
}
