import type { Stand } from "../shared/parts";
import type { Chart, Densities, GateIs, Plot, StripStanding } from "./types";

/** How a gate stands, as a shape and a word. */
export const gateWords: Record<GateIs, [Stand, string]> = {
  in: ["in", "IN: film may run"],
  watch: ["soon", "WATCH: film may run, find the cause"],
  stop: ["out", "STOP: no customers' film"],
  none: ["none", "No strips are asked for here"],
};

export const stripWords: Record<StripStanding, [Stand, string]> = {
  in: ["in", "in"],
  action: ["soon", "beyond action limit"],
  out: ["out", "beyond control limit"],
  unjudged: ["none", "not judged"],
};

/** Whose limits a figure is judged by. */
export const limitWords: Record<string, string> = {
  published: "published limits",
  own: "the lab's own limits",
  provisional: "provisional limits, from the first strips",
  none: "no limits yet",
};

/** The fields of the pad, in the order of a densitometer: step by step, red, green, blue. */
export function padFields(steps: readonly string[], process: string): { step: string; color: "r" | "g" | "b"; label: string }[] {
  const names: Record<string, string> = { dmin: "D-min", speed: "Speed point", ld: "LD", hd: "HD", yellow: "Yellow", dmax: "D-max" };
  const colors: ("r" | "g" | "b")[] = process === "bw" || process.startsWith("bw-") ? ["g"] : ["r", "g", "b"];
  const words = { r: "red", g: "green", b: "blue" };
  return steps.flatMap((step) => {
    const of = step === "yellow" || (step === "dmax" && process.startsWith("c41")) ? (["b"] as const) : colors;
    return of.map((color) => ({ step, color, label: of.length === 1 && colors.length === 1 ? (names[step] ?? step) : `${names[step] ?? step} ${words[color]}` }));
  });
}

/** A density as it is typed: 0.44, .44, 44 (hundredths) or 0,44. null: none. */
export function density(typed: string): number | null {
  const t = typed.trim().replace(",", ".");
  if (t === "" || !/^-?\d*\.?\d+$/.test(t)) return null;
  const v = Number(t);
  return !t.includes(".") && Math.abs(v) >= 10 ? v / 100 : v;
}

/** Densities out of pasted text: all its numbers, in the order of the pad. */
export function pasted(text: string): string[] {
  return text.match(/-?\d*[.,]\d+|-?\d+/g) ?? [];
}

/** What was typed, by step; null where nothing was. */
export function densitiesOf(fields: readonly { step: string; color: "r" | "g" | "b" }[], typed: readonly string[]): Record<string, Densities> | null {
  const out: Record<string, Densities> = {};
  fields.forEach((f, i) => {
    const v = density(typed[i] ?? "");
    if (v !== null) out[f.step] = { ...out[f.step], [f.color]: v };
  });
  return Object.keys(out).length > 0 ? out : null;
}

/** Figures of one kind in its colors, drawn in one row. */
export interface Row { name: string; plots: Plot[] }

export function rowsOf(chart: Pick<Chart, "plots">): Row[] {
  const rows: Row[] = [];
  for (const p of chart.plots ?? []) {
    const base = p.plot.replace(/\.[rgb]$/, "");
    const row = rows.find((r) => r.plots[0]?.plot.replace(/\.[rgb]$/, "") === base);
    if (row) row.plots.push(p);
    else rows.push({ name: p.label.replace(/ (red|green|blue)$/, ""), plots: [p] });
  }
  return rows;
}

/** How far a row's axis reaches on either side of the aim, in density. */
export function reachOf(row: Row): number {
  let top = 0.05;
  for (const p of row.plots) {
    for (const x of p.points ?? []) top = Math.max(top, Math.abs(x.figure.deviation ?? 0), x.figure.control ?? 0, x.figure.action ?? 0);
  }
  return top * 1.15;
}

/** Signals by a letter beside their mark, and what the letter is. */
export const signalMarks: Record<string, [string, string]> = {
  "control-limit": ["C", "beyond the control limit"],
  "action-limit": ["A", "beyond the action limit"],
  "we-1": ["1", "1 beyond 3 sigma"],
  "we-2": ["2", "2 of 3 beyond 2 sigma"],
  "we-3": ["3", "4 of 5 beyond 1 sigma"],
  "we-4": ["4", "8 in a row on one side"],
  "nelson-3": ["T", "six rising or falling"],
  ewma: ["E", "moving average off"],
  cusum: ["S", "cumulative sum off"],
};

export const signed = (v: number): string => `${v > 0 ? "+" : v < 0 ? "−" : ""}${Math.abs(v).toFixed(2)}`;
