import type { Job, Unit } from "../types";
import { MINUTE, ms } from "../words/time";

/** A moment at which a person is needed. */
export interface Need {
  unit: string;
  what: string;
  due: number;
}

export const SPAN_MS = 30 * MINUTE;
export const TOGETHER_MS = 2 * MINUTE;

/** What the server says, and the end of each run that it does not mention. */
export function needs(jobs: readonly Job[], units: readonly Unit[]): Need[] {
  const out: Need[] = [];
  for (const j of jobs) {
    const due = ms(j.due_at);
    if (due !== null) out.push({ unit: j.unit, what: j.what, due });
  }
  for (const u of units) {
    const end = ms(u.run?.ends_at);
    const wet = u.activity === "running" || u.activity === "waiting";
    if (end === null || !wet || out.some((n) => n.unit === u.id && n.what.includes("dryer"))) continue;
    out.push({ unit: u.id, what: "to-dryer", due: end });
  }
  return out.sort((a, b) => a.due - b.due || a.unit.localeCompare(b.unit));
}

/** Several units that want someone within two minutes. */
export interface Crowd {
  from: number;
  to: number;
  units: number;
}

/** Groups needs that follow each other so closely that one pair of hands is short. */
export function crowds(list: readonly Need[], within = TOGETHER_MS): Crowd[] {
  const out: Crowd[] = [];
  let i = 0;
  while (i < list.length) {
    const start = list[i] as Need;
    let j = i;
    while (j + 1 < list.length && (list[j + 1] as Need).due - start.due <= within) j++;
    const units = new Set(list.slice(i, j + 1).map((n) => n.unit)).size;
    if (units > 1) out.push({ from: start.due, to: (list[j] as Need).due, units });
    i = j + 1;
  }
  return out;
}

/** A need on the line: where, in which row its words stand, and what they say. */
export interface Spot {
  x: number;
  row: number;
  name: string;
  what: string;
  more: number;
  overdue: boolean;
  flip: boolean;
}

/**
 * Places the needs of the next half hour on a line from 0 to 1 with their words
 * in so many rows, none over another. What finds no row is counted at the spot
 * before it. `em` is the width of a letter as part of the line.
 */
export function placeNeeds(
  list: readonly Need[],
  now: number,
  em: number,
  words: (n: Need) => { name: string; what: string },
  rows = 2,
): Spot[] {
  const free = Array.from({ length: rows }, () => -1);
  const out: Spot[] = [];
  for (const n of list) {
    if (n.due > now + SPAN_MS) break;
    const x = Math.min(1, Math.max(0, (n.due - now) / SPAN_MS));
    const { name, what } = words(n);
    const width = (name.length + what.length + 3) * em;
    // Words near the right end stand to the left of their stem.
    const flip = x + width > 1.01;
    const from = flip ? x - width : x;
    let row = free.findIndex((until) => until <= from);
    if (row < 0) {
      const host = out.at(-1);
      if (host) {
        host.more++;
        const until = free[host.row] ?? 0;
        if (host.more === 1) free[host.row] = until + 3 * em;
        continue;
      }
      row = 0;
    }
    free[row] = from + width;
    out.push({ x, row, name, what, more: 0, overdue: n.due < now, flip });
  }
  return out;
}
