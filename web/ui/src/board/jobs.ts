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

interface Words {
  name: string;
  what: string;
}

/**
 * Places the needs of the next half hour on a line from 0 to 1 with their words
 * in so many rows: no words over others, no stem through words. Where that
 * cannot be, the closest two share one place and the second is counted there.
 * `em` is the width of a letter as part of the line.
 */
export function placeNeeds(
  list: readonly Need[],
  now: number,
  em: number,
  words: (n: Need) => Words,
  rows = 3,
): Spot[] {
  const spots = list
    .filter((n) => n.due <= now + SPAN_MS)
    .map((n): Spot => {
      const x = Math.min(1, Math.max(0, (n.due - now) / SPAN_MS));
      const w = words(n);
      return { x, row: 0, ...w, more: 0, overdue: n.due < now, flip: x + width({ ...w, more: 0 }, em) > 1.02 };
    });
  while (!fit(spots, 0, em, rows)) joinClosest(spots);
  return spots;
}

const width = (s: Words & { more: number }, em: number): number =>
  (s.name.length + s.what.length + 2 + (s.more > 0 ? 3 : 0)) * em;

/** From where to where the words of a spot reach. */
function reach(s: Spot, em: number): [number, number] {
  const w = width(s, em);
  return s.flip ? [s.x - w, s.x] : [s.x, s.x + w];
}

/** Finds a row for each spot from the i-th on, trying the low ones first. */
function fit(spots: Spot[], i: number, em: number, rows: number): boolean {
  const s = spots[i];
  if (!s) return true;
  for (let row = 0; row < rows; row++) {
    s.row = row;
    if (spots.slice(0, i).every((o) => apart(o, s, em)) && fit(spots, i + 1, em, rows)) return true;
  }
  return false;
}

function apart(a: Spot, b: Spot, em: number): boolean {
  const [a0, a1] = reach(a, em);
  const [b0, b1] = reach(b, em);
  if (b.x > a0 && b.x < a1 && a.row <= b.row) return false;
  if (a.x > b0 && a.x < b1 && b.row <= a.row) return false;
  return a.row !== b.row || a1 <= b0 || b1 <= a0;
}

function joinClosest(spots: Spot[]): void {
  let best = 1;
  const gap = (i: number): number => (spots[i] as Spot).x - (spots[i - 1] as Spot).x;
  for (let i = 2; i < spots.length; i++) if (gap(i) < gap(best)) best = i;
  const [gone] = spots.splice(best, 1);
  const host = spots[best - 1] as Spot;
  host.more += 1 + (gone?.more ?? 0);
}
