import type { Stand } from "../shared/parts";
import type { Chart, Densities, Figure, GateIs, Plot, StripStanding } from "./types";

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

/** Whose aim a figure is judged by. */
export const aimWords: Record<string, string> = {
  reference: "aims of the reference strip",
  own: "the lab's own aims",
  "first-strips": "aims from the first strips",
};

/** By whose aims and limits a strip was judged: "published limits, the lab's own aims". */
export function judgedBy(plots: readonly Figure[]): string {
  const say = (words: Record<string, string>, of: (f: Figure) => string | undefined): string[] =>
    [...new Set(plots.filter((f) => f.deviation !== null).map((f) => words[of(f) ?? ""] ?? "").filter((w) => w !== ""))];
  return [...say(limitWords, (f) => f.limits), ...say(aimWords, (f) => f.aim_from)].join(", ") || "nothing yet";
}

/** Whose limits a figure is judged by. */
export const limitWords: Record<string, string> = {
  published: "published limits",
  own: "the lab's own limits",
  provisional: "provisional limits, from the first strips",
  none: "no limits yet",
};

type Field = NonNullable<Chart["fields"]>[number];

/** What is read of a reference strip, before a chart can say it (internal/strips/plots.yaml). */
export function boxFields(process: string): Field[] {
  const one = process === "bw" || process.startsWith("bw-");
  const c41 = process.startsWith("c41");
  const steps: [string, string][] = one ? [["dmin", "D-min"], ["speed", "Speed point"], ["ld", "LD"], ["hd", "HD"]]
    : [["dmin", "D-min"], ["ld", "LD"], ["hd", "HD"], ...(c41 ? [["yellow", "Yellow"] as [string, string]] : []), ["dmax", "D-max"]];
  const words = { r: "red", g: "green", b: "blue" } as const;
  return steps.flatMap(([step, label]) => {
    const colors: ("r" | "g" | "b")[] = one ? ["g"] : c41 && (step === "yellow" || step === "dmax") ? ["b"] : ["r", "g", "b"];
    return colors.map((color) => ({ step, color, label: one ? label : `${label} ${words[color]}` }));
  });
}

/** A density as it is typed: 0.44, .44, 44 (hundredths) or 0,44. null: none. */
export function density(typed: string): number | null {
  const t = typed.trim().replace(",", ".");
  if (t === "" || !/^-?\d*\.?\d+$/.test(t)) return null;
  const v = Number(t);
  return !t.includes(".") && Math.abs(v) >= 10 ? v / 100 : v;
}

/** Densities out of pasted text: all its numbers, in the order of the pad. Where points are decimals, commas part the figures. */
export function pasted(text: string): string[] {
  return text.match(text.includes(".") ? /-?\d*\.\d+|-?\d+/g : /-?\d*,\d+|-?\d+/g) ?? [];
}

/** What a large key makes of a field, and whether the field is full then: three digits are a density. */
export function keyed(typed: string, key: string): { value: string; full: boolean } {
  if (key === "next") return { value: typed, full: true };
  if (key === "⌫") return { value: typed.slice(0, -1).replace(/[.,]$/, ""), full: false };
  const begun = /[.,]\d\d$/.test(typed) ? "" : typed; // a full field is typed anew
  const value = begun + key;
  const three = /^(\d)(\d\d)$/.exec(value);
  if (three) return { value: `${three[1]}.${three[2]}`, full: true };
  return { value, full: /[.,]\d\d$/.test(value) };
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
  for (const p of chart.plots) {
    const base = p.plot.replace(/\.[rgb]$/, "");
    const row = rows.find((r) => r.plots[0]?.plot.replace(/\.[rgb]$/, "") === base);
    if (row) row.plots.push(p);
    else rows.push({ name: p.label.replace(/ (red|green|blue)$/, ""), plots: [p] });
  }
  return rows;
}

const short: Record<string, string> = { silver: "Silver", spread: "Spread", "hd-spread": "HD spread", "ld-spread": "LD spread", fog: "Fog", speed: "Speed" };

/** A row's name as it is read from two metres. */
export function shortName(row: Row): string {
  const base = (row.plots[0]?.plot ?? "").replace(/\.[rgb]$/, "");
  return short[base] ?? row.name.replace(/^.*\((.+)\)$/, "$1");
}

/** The figure of a row's last strip that is farthest from its aim, beside its limit. */
export function latestOf(row: Row): { words: string; off: boolean } | null {
  const at = row.plots.reduce((t, p) => { const last = p.points?.at(-1)?.at ?? ""; return last > t ? last : t; }, "");
  const last = row.plots.flatMap((p) => p.points.filter((x) => x.at === at && x.figure.deviation !== null).map((x) => x.figure));
  const part = (f: Figure): number => (f.side === "high" ? f.deviation ?? 0 : f.side === "low" ? -(f.deviation ?? 0) : Math.abs(f.deviation ?? 0)) / (f.control || 1);
  const far = [...last].sort((a, b) => part(b) - part(a))[0];
  return far ? { words: signed(far.deviation ?? 0), off: far.standing === "out" || far.standing === "action" } : null;
}

/** How far a row's axis reaches on either side of the aim, in density. */
export function reachOf(row: Row): number {
  let top = 0.05;
  for (const p of row.plots) {
    for (const x of p.points) top = Math.max(top, Math.abs(x.figure.deviation ?? 0), x.figure.control ?? 0, x.figure.action ?? 0);
  }
  return top * 1.15;
}

/** Signals by a letter beside their mark, and what the letter is. */
export const signalMarks: Record<string, [string, string]> = {
  "control-limit": ["C", "beyond the control limit"],
  "action-limit": ["A", "beyond the action limit"],
  "we-1": ["1", "one beyond 3 sigma"],
  "we-2": ["2", "two of three beyond 2 sigma"],
  "we-3": ["3", "four of five beyond 1 sigma"],
  "we-4": ["4", "eight in a row on one side"],
  "nelson-3": ["T", "six rising or falling"],
  ewma: ["E", "moving average off"],
  cusum: ["S", "cumulative sum off"],
};

export const signed = (v: number): string => `${v > 0 ? "+" : v < 0 ? "−" : ""}${Math.abs(v).toFixed(2)}`;

/** The letters of a row, strip by strip: a signal that goes on says nothing new, so its letter stands where it begins. */
export function lettersOf(row: Row): { at: string; letters: string; top: number; bottom: number }[] {
  const by = new Map<string, { letters: Set<string>; top: number; bottom: number }>();
  for (const plot of row.plots) {
    let before = new Set<string>();
    for (const p of plot.points) {
      const now = new Set(p.signals.map((s) => s.signal));
      for (const signal of now) {
        if (before.has(signal)) continue;
        const here = by.get(p.at) ?? { letters: new Set<string>(), top: -Infinity, bottom: Infinity };
        here.letters.add(signalMarks[signal]?.[0] ?? "");
        by.set(p.at, here);
      }
      before = now;
    }
  }
  for (const plot of row.plots) for (const p of plot.points) {
    const here = by.get(p.at);
    if (!here) continue;
    here.top = Math.max(here.top, p.figure.deviation ?? 0);
    here.bottom = Math.min(here.bottom, p.figure.deviation ?? 0);
  }
  const order = Object.values(signalMarks).map(([letter]) => letter);
  return [...by].map(([at, h]) => ({ at, letters: [...h.letters].sort((a, b) => order.indexOf(a) - order.indexOf(b)).join(""), top: h.top, bottom: h.bottom }));
}
