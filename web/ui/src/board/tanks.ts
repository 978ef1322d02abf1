import type { Container, Unit } from "../types";
import { runsBetween } from "../words/measure";
import { stepWords } from "../words/steps";

/** A tank as it is drawn: parts of its height, 0 to 1 and beyond. */
export interface Drawn {
  name: string;
  label: string;
  drains: boolean;
  level: number | null;
  /** What this run still owes it or wants from it. */
  owed: [number, number] | null;
  /** What the run after that will. */
  next: [number, number] | null;
  /** This run does not fit, or is not there. */
  short: boolean;
  runs: number | null;
  /** The same as it is said: "3", or "3 to 4". */
  runsSaid: string;
  /** Its level fell as it does when people empty it, and nobody has said so. */
  ask: boolean;
  full: boolean;
}

const labels: Record<string, string> = { waste: "waste", wash: "water", recovery: "recovery" };

function label(c: Container, twins: number): string {
  if (c.role === "bottle") return stepWords(c.name.split("/").at(-1) ?? c.name).short;
  return twins > 1 ? c.name.replaceAll("-", " ") : (labels[c.role] ?? c.name);
}

/** Works out how a container is drawn. */
export function drawTank(c: Container, twins = 1): Drawn {
  const drains = c.role === "waste" || c.role === "recovery";
  const of = (l: number): number => l / Math.max(c.capacity_l, 0.001);
  const owedL = Math.max(0, c.owed_l ?? 0);
  const nextL = Math.max(0, c.next_run_l ?? 0);
  const base = { name: c.name, label: label(c, twins), drains, runs: c.runs_left, runsSaid: runsBetween(c), ask: c.changed?.ask ?? false, full: c.float_closed ?? false };
  if (c.litres === null) return { ...base, level: null, owed: null, next: null, short: false };
  const level = of(c.litres);
  const sign = drains ? 1 : -1;
  const mid = level + sign * of(owedL);
  const end = mid + sign * of(nextL);
  const pair = (a: number, b: number): [number, number] => [Math.min(a, b), Math.max(a, b)];
  return {
    ...base,
    level: Math.min(1, Math.max(0, level)),
    owed: owedL > 0 ? pair(level, mid) : null,
    next: nextL > 0 ? pair(mid, end) : null,
    short: owedL > 0 && (drains ? mid > 1.001 : mid < -0.001),
  };
}

const rank: Record<Container["role"], number> = { waste: 0, wash: 1, recovery: 2, bottle: 3 };
const PLENTY = 2;

/** The tanks worth their place: the big ones always, of the bottles the shortest when it is short. */
export function tanksToShow(unit: Unit): Drawn[] {
  const all = [...unit.containers].sort((a, b) => rank[a.role] - rank[b.role] || a.name.localeCompare(b.name));
  const twins = (role: Container["role"]): number => all.filter((c) => c.role === role).length;
  const big = all.filter((c) => c.role !== "bottle").map((c) => drawTank(c, twins(c.role)));
  const bottle = all
    .filter((c) => c.role === "bottle" && c.runs_left !== null && c.runs_left < PLENTY)
    .sort((a, b) => (a.runs_left ?? 0) - (b.runs_left ?? 0))[0];
  return bottle ? [...big, drawTank(bottle)] : big;
}
