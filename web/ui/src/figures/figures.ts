import type { Stand } from "../shared/parts";
import { spanWords } from "../words/day";
import type { AlertFigures, Gauge } from "../types";

// What GET /alert-figures answers (internal/lab/figures.go), and how it is drawn.

export const periods: [hours: number, words: string][] = [[24, "24 hours"], [24 * 7, "7 days"], [24 * 30, "30 days"]];

export const scopeWords = (f: Pick<AlertFigures, "from" | "to">): string => `${spanWords(f.from, null)} to ${spanWords(f.to, null)}`;

/** "3 pages", "94 %". */
export function figure(v: number, unit: string): string {
  if (unit === "part") return `${Math.round(v * 100)} %`;
  const n = Number.isInteger(v) ? String(v) : v.toFixed(v < 1 ? 2 : 1);
  return unit === "" ? n : `${n} ${v === 1 ? unit.replace(/s$/, "") : unit}`;
}

export function standOf(g: Pick<Gauge, "value" | "limit" | "ok" | "at_least">): { is: Stand; word: string } {
  if (g.value === null) return { is: "none", word: "no figure" };
  if (g.ok === null || g.limit === null) return { is: "none", word: "for information" };
  if (g.ok) return { is: "in", word: "acceptable" };
  return { is: "out", word: g.at_least ? "too few" : "too many" };
}

export interface Axis {
  value: number;
  limit: number;
  okFrom: number;
  okTo: number;
}

/** Where value and limit lie on a bar from 0 to 1; null where there is nothing to draw. */
export function axisOf(g: Pick<Gauge, "value" | "limit" | "unit" | "at_least">): Axis | null {
  if (g.value === null || g.limit === null) return null;
  // A share of a whole ends at the whole where it has to be large; else the larger of the two has some room beyond it.
  const end = g.unit === "part" && g.at_least ? 1 : Math.max(g.value * 1.1, g.limit * 1.6, g.limit === 0 ? 4 : 0, 1e-9);
  const limit = g.limit / end;
  return { value: Math.min(1, g.value / end), limit, okFrom: g.at_least ? limit : 0, okTo: g.at_least ? 1 : limit };
}
