import type { Run } from "../types";
import { dayEnd, dayOf, dayStart } from "../words/day";
import { processName } from "../words/steps";
import { decisions, standingWords } from "../words/verdict";

/** What a person looks for among the runs; "" is all. */
export interface Asked {
  /** A twin check, an order, or how a run's name begins. */
  number: string;
  unit: string;
  process: string;
  verdict: string;
  /** One of the decisions, or "none": nobody has decided yet. */
  decision: string;
  from: string;
  to: string;
}

export const everything: Asked = { number: "", unit: "", process: "", verdict: "", decision: "", from: "", to: "" };

export const isEverything = (a: Asked): boolean => Object.values(a).every((v) => v === "");

export const processIds = ["c41", "c41-kit", "e6-7", "e6-3", "bw"];

/** Reads one term as it was typed or scanned: what it names, else a number. */
export function readTerm(text: string, units: readonly { id: string; name: string }[], now: number): Partial<Asked> {
  const term = text.trim();
  const low = term.toLowerCase();
  if (term === "") return {};
  const unit = units.find((u) => [u.id, u.name.toLowerCase(), u.id.split("/")[1]].includes(low));
  if (unit) return { unit: unit.id };
  const process = processIds.find((p) => p === low || processName(p).toLowerCase() === low);
  if (process) return { process };
  for (const v of ["in-control", "inspect", "out-of-control"] as const) {
    if (v === low || standingWords[v] === low) return { verdict: v };
  }
  const decision = decisions.find(([code, word]) => code === low || word.toLowerCase() === low);
  if (decision) return { decision: decision[0] };
  const day = readDay(low, now);
  return day === null ? { number: term } : { from: day, to: day };
}

function readDay(text: string, now: number): string | null {
  if (text === "today") return dayOf(now);
  if (text === "yesterday") {
    const d = new Date(now);
    d.setDate(d.getDate() - 1);
    return dayOf(d.getTime());
  }
  return dayStart(text) === null ? null : text;
}

/** The address of the runs asked for. */
export function runsPath(a: Asked): string {
  const q = new URLSearchParams({ limit: "200" });
  if (a.number) q.set("q", a.number);
  for (const k of ["unit", "process", "verdict", "decision"] as const) if (a[k]) q.set(k, a[k]);
  const from = dayStart(a.from);
  const to = dayEnd(a.to);
  if (from !== null) q.set("from", new Date(from).toISOString());
  if (to !== null) q.set("to", new Date(to).toISOString());
  return `/runs?${q}`;
}

/** What a number turned out to be the number of. */
export type NumberIs = "roll" | "order" | "run";

export function numberIs(number: string, rows: readonly Run[]): NumberIs {
  const n = number.toLowerCase();
  const rolls = rows.flatMap((r) => r.rolls);
  if (rolls.some((r) => r.twin_check.toLowerCase() === n)) return "roll";
  return rolls.some((r) => r.order?.toLowerCase() === n) ? "order" : "run";
}

/** Running ones on top, then the newest first. */
export function runOrder(list: readonly Run[]): Run[] {
  const rank = (r: Run): number => (r.outcome === "running" ? 0 : 1);
  return [...list].sort((a, b) => rank(a) - rank(b) || b.started_at.localeCompare(a.started_at));
}
