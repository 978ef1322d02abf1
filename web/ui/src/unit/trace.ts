import type { PlanStep, TracePoint } from "../types";
import { ms } from "../words/time";

// A unit's temperatures as columns for drawing, and as rows to be read.

export const channels = ["bath_c", "preheat_c", "wash_c", "room_c", "dryer_c"] as const;
export type Channel = (typeof channels)[number];

export const channelWords: Record<Channel, string> = { bath_c: "Bath", preheat_c: "Preheat", wash_c: "Wash water", room_c: "Room", dryer_c: "Dryer" };

/** null: nothing was heard here, no line crosses it; undefined: this row is another channel's. */
export type Cell = number | null | undefined;

export interface Columns {
  /** Seconds since 1970, rising. */
  t: number[];
  of: Record<Channel, Cell[]>;
}

/** Readings of one channel that are further apart than this are not joined by a line: a bath is heard every five seconds, the rest more seldom. */
export const GAP_S: Record<Channel, number> = { bath_c: 20, preheat_c: 120, wash_c: 120, room_c: 120, dryer_c: 120 };

/** Points by their time, a row for each moment. */
export function columns(points: readonly TracePoint[]): Columns {
  const out: Columns = { t: [], of: { bath_c: [], preheat_c: [], wash_c: [], room_c: [], dryer_c: [] } };
  const row = (t: number): number => {
    out.t.push(t);
    for (const c of channels) out.of[c].push(undefined);
    return out.t.length - 1;
  };
  const last: Partial<Record<Channel, number>> = {};
  for (const { p, t } of inOrder(points)) {
    const newest = out.t.at(-1);
    const broken = channels.filter((c) => typeof p[c] === "number" && last[c] !== undefined && t - (out.t[last[c] ?? 0] ?? t) > GAP_S[c]);
    // A hole in everything needs a row of its own to hold the break.
    if (newest !== undefined && t - newest > 1 && broken.some((c) => last[c] === out.t.length - 1)) row(newest + 1);
    const at = out.t.at(-1) === t ? out.t.length - 1 : row(t);
    for (const c of channels) {
      const v = p[c];
      if (typeof v !== "number") continue;
      if (broken.includes(c)) out.of[c][(last[c] ?? 0) + 1] = null;
      out.of[c][at] = v;
      last[c] = at;
    }
  }
  return out;
}

/** Room and dryer are in the table: far from the baths, they would flatten them. */
export function drawnOf(d: Columns): Channel[] {
  const heard = channels.filter((c) => d.of[c].some((v) => typeof v === "number"));
  const baths = heard.filter((c) => c !== "room_c" && c !== "dryer_c");
  return baths.length > 0 ? baths : heard;
}

function inOrder(points: readonly TracePoint[]): { p: TracePoint; t: number }[] {
  return points
    .map((p) => ({ p, t: (ms(p.at) ?? NaN) / 1000 }))
    .filter((r) => Number.isFinite(r.t))
    .sort((a, b) => a.t - b.t);
}

export interface Band {
  from: number;
  to: number;
  low: number;
  high: number;
  step: string;
}

/** The tolerance of each step of the run while it lasted, in seconds since 1970; what is going on lasts until now. */
export function bands(plan: readonly PlanStep[], nowMs: number): Band[] {
  const out: Band[] = [];
  for (const p of plan) {
    const from = ms(p.started_at);
    if (from === null || p.low_c === null || p.high_c === null) continue;
    out.push({ from: from / 1000, to: (ms(p.ended_at) ?? Math.max(nowMs, from)) / 1000, low: p.low_c, high: p.high_c, step: p.step });
  }
  return out;
}

export interface Row {
  /** ms, the beginning of the stretch. */
  at: number;
  /** [lowest, highest] of each channel that was heard in it. */
  of: Partial<Record<Channel, [number, number]>>;
}

/** The readings in stretches of so many minutes, newest first: what the drawing shows, to be read. */
export function tableRows(points: readonly TracePoint[], minutes: number): Row[] {
  const long = minutes * 60_000;
  const rows = new Map<number, Row>();
  for (const p of points) {
    const t = ms(p.at);
    if (t === null) continue;
    const at = Math.floor(t / long) * long;
    const row = rows.get(at) ?? { at, of: {} };
    rows.set(at, row);
    for (const c of channels) {
      const v = p[c];
      if (typeof v !== "number") continue;
      const had = row.of[c];
      row.of[c] = had ? [Math.min(had[0], v), Math.max(had[1], v)] : [v, v];
    }
  }
  return [...rows.values()].sort((a, b) => b.at - a.at);
}

/** New points behind those that are there; what is older than `from` goes. Only what may be there twice is compared: two days are many points. */
export function joined(old: readonly TracePoint[], more: readonly TracePoint[], from: number): TracePoint[] {
  const time = (p: TracePoint): number => ms(p.at) ?? 0;
  const first = more.reduce((least, p) => Math.min(least, time(p)), Infinity);
  let cut = old.length;
  while (cut > 0 && time(old[cut - 1] as TracePoint) >= first) cut--;
  const key = (p: TracePoint): string => `${p.at}|${channels.filter((c) => typeof p[c] === "number").join()}`;
  const seen = new Set(old.slice(cut).map(key));
  const all = [...old, ...more.filter((p) => !seen.has(key(p)))];
  let drop = 0;
  while (drop < all.length && time(all[drop] as TracePoint) < from) drop++;
  return drop === 0 ? all : all.slice(drop);
}

/** How far back the drawing reaches; 0 hours: to the beginning of the run that goes on. */
export const THIS_RUN = 0;
export const spans: [hours: number, words: string, rowMinutes: number][] = [[THIS_RUN, "this run", 1], [1, "last hour", 2], [6, "6 hours", 15], [48, "48 hours", 120]];
