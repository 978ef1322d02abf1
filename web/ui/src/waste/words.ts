import type { Volumes } from "../words/measure";
import { litres } from "../words/measure";
import type { WasteMonth, WasteRow } from "../types";

export const streams: readonly [id: string, words: string][] = [
  ["silver-rich", "silver-rich: fixer, bleach-fix, low-flow rinse"], ["bleach", "bleach"], ["developer", "developer"], ["wash", "wash water"], ["mixed", "mixed"], ["other", "other"],
];

export const streamWords = (id: string | undefined): string => streams.find(([s]) => s === id)?.[1].split(":")[0] ?? "stream not said";

/** "14.2 L (estimate)", "not known". */
export function amount(r: Pick<WasteRow, "litres" | "litres_by">, as: Volumes): string {
  if (r.litres === undefined) return "liters not known";
  return `${litres(r.litres, as)}${r.litres_by === "estimate" ? " (estimate)" : ""}`;
}

/** "55 L in 3 emptyings; 1 without liters: at least that much." */
export function monthWords(m: WasteMonth, as: Volumes): string {
  const times = m.times === 1 ? "1 emptying" : `${m.times} emptyings`;
  return `${litres(m.litres, as)} in ${times}${m.unknown > 0 ? `; ${m.unknown} without liters: at least that much` : ""}`;
}

/** The first and last moment of a month such as 2026-03, where the reader is; null for none. */
export function monthSpan(month: string): { from: string; to: string } | null {
  const m = /^(\d{4})-(\d{2})$/.exec(month);
  if (!m) return null;
  const at = (k: number): string => new Date(Number(m[1]), Number(m[2]) - 1 + k, 1).toISOString();
  return { from: at(0), to: at(1) };
}
