import { signalMarks } from "./strips";
import type { Chart } from "./types";

export interface MarkLine { signal: string; labels: string[]; do: string; detail: string }

/** The signals of one strip, the gravest first, each with the figures that it is of. */
export function marksOf(chart: Pick<Chart, "plots">, id: string): MarkLine[] {
  const out = new Map<string, MarkLine>();
  for (const plot of chart.plots) {
    const point = plot.points.find((p) => p.id === id);
    for (const s of point?.signals ?? []) {
      const line = out.get(s.signal) ?? { signal: s.signal, labels: [], do: s.do, detail: s.detail };
      line.labels.push(plot.label);
      if (line.labels.length > 1) line.detail = "";
      out.set(s.signal, line);
    }
  }
  const order = Object.keys(signalMarks);
  return [...out.values()].sort((a, b) => order.indexOf(a.signal) - order.indexOf(b.signal));
}

/** "2026-11" of a moment, by the reader's own clock. */
export function monthOf(t: number): string {
  const d = new Date(t);
  return `${d.getFullYear()}-${String(d.getMonth() + 1).padStart(2, "0")}`;
}

/** The first moment of a month "2026-11" and of the next; null for what is none. */
export function monthSpan(month: string): { from: number; to: number } | null {
  const m = /^(\d{4})-(\d{2})$/.exec(month);
  const at = Number(m?.[2]) - 1;
  if (!m || at < 0 || at > 11) return null;
  return { from: new Date(Number(m[1]), at, 1).getTime(), to: new Date(Number(m[1]), at + 1, 1).getTime() };
}

/** "November 2026" */
export function monthName(month: string): string {
  const span = monthSpan(month);
  return span ? new Date(span.from).toLocaleDateString("en-GB", { month: "long", year: "numeric" }) : "";
}
