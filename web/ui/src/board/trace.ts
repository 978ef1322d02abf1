import { along, type Layout, type Segment } from "./segments";

/** One reading of the liquid on the film. */
export interface Reading {
  t: number;
  c: number;
}

/** The line of the bath as SVG path data in a box of WIDTH by HEIGHT. */
export interface Paths {
  inside: string;
  outside: string;
  settling: string;
}

export const WIDTH = 1000;
export const HEIGHT = 100;
/** The band of the step's tolerance takes the middle part of the height. */
export const BAND_TOP = 26;
export const BAND_BOTTOM = 74;
/** The first 30 s of a bath are settling: the film and drum take up heat. */
export const SETTLING_MS = 30_000;
const GAP_MS = 20_000;

/** Height of a temperature in its step's band; what is far out stops at the edge. */
export function yOf(c: number, low: number, high: number): number {
  const y = BAND_BOTTOM - ((c - low) / (high - low)) * (BAND_BOTTOM - BAND_TOP);
  return Math.min(HEIGHT - 3, Math.max(3, y));
}

type Part = keyof Paths;

function partOf(r: Reading, s: Segment): Part {
  if (s.low === null || s.high === null) return "inside";
  if (r.c >= s.low && r.c <= s.high) return "inside";
  return r.t - s.from < SETTLING_MS ? "settling" : "outside";
}

/** Draws the readings of a run into the bands of the steps they were taken in. */
export function tracePaths(l: Layout, readings: readonly Reading[]): Paths {
  const out: Paths = { inside: "", outside: "", settling: "" };
  let i = 0;
  for (const s of l.segments) {
    while (i < readings.length && (readings[i] as Reading).t < s.from) i++;
    let last: { t: number; at: number; x: string; y: string; part: Part } | null = null;
    for (; i < readings.length; i++) {
      const r = readings[i] as Reading;
      if (r.t > s.to) break;
      const part = partOf(r, s);
      const at = along(l, r.t) * WIDTH;
      const x = at.toFixed(1);
      const y = (s.low === null || s.high === null || s.high <= s.low ? HEIGHT / 2 : yOf(r.c, s.low, s.high)).toFixed(1);
      if (last !== null && r.t - last.t > GAP_MS) last = null;
      // Closer than a pixel and of the same part: nothing would be seen of it.
      if (last !== null && at - last.at < 1 && last.part === part) {
        last.t = r.t;
        continue;
      }
      // A stretch takes the part of its end; a new one starts where the last ended.
      if (last === null) out[part] += `M${x} ${y}`;
      else if (last.part !== part) out[part] += `M${last.x} ${last.y}L${x} ${y}`;
      else out[part] += `L${x} ${y}`;
      last = { t: r.t, at, x, y, part };
    }
  }
  return out;
}

/** From where to where the line reaches by a time, and as what: while that is the same, it is drawn the same. */
export function reachOf(l: Layout, readings: readonly Reading[], by: number): string {
  const r = readings.at(-1);
  const s = r && l.segments.find((x) => r.t >= x.from && r.t <= x.to);
  return r ? `${readings[0]?.t} ${Math.floor(along(l, Math.min(r.t, by)) * WIDTH)} ${s ? partOf(r, s) : ""}` : "";
}

/** Keeps readings in order of time, once each; old ones first in line to go. */
export function addReading(list: Reading[], r: Reading, keep = 6000): Reading[] {
  const last = list.at(-1);
  if (last === undefined || r.t > last.t) {
    list.push(r);
    if (list.length > keep) list.splice(0, list.length - keep);
  }
  return list;
}

/** A stretch of a bath of which no reading came, in the units of the drawing. */
export interface Hole {
  from: number;
  to: number;
}

/** Where readings of a bath are missing between two that came. */
export function unheard(l: Layout, readings: readonly Reading[]): Hole[] {
  const out: Hole[] = [];
  for (let i = 1; i < readings.length; i++) {
    const a = (readings[i - 1] as Reading).t;
    const b = (readings[i] as Reading).t;
    if (b - a <= GAP_MS) continue;
    for (const s of l.segments) {
      const from = Math.max(a, s.from);
      const to = Math.min(b, s.to);
      if (to - from > GAP_MS) out.push({ from: along(l, from) * WIDTH, to: along(l, to) * WIDTH });
    }
  }
  return out;
}
