import type { Job, Unit } from "../types";
import { MINUTE, ms } from "../words/time";

/** A moment at which a person is needed. */
export interface Need {
  unit: string;
  what: string;
  due: number;
  /** It is due by no minute: it stands behind what is, and makes no crowd. */
  patient?: boolean;
}

export const SPAN_MS = 30 * MINUTE;
export const TOGETHER_MS = 2 * MINUTE;

/** What the server says, and the end of each run that it does not mention. */
export function needs(jobs: readonly Job[], units: readonly Unit[]): Need[] {
  const out: Need[] = [];
  for (const j of jobs) {
    const due = ms(j.due_at);
    if (due !== null) out.push({ unit: j.unit, what: j.what, due, ...(j.patient && { patient: true }) });
  }
  for (const u of units) {
    const end = ms(u.run?.ends_at);
    // Of film in the dryer the server says when it is dry.
    const wet = u.activity === "running" || u.activity === "waiting";
    if (end === null || !wet || out.some((n) => n.unit === u.id && n.what.includes("dryer"))) continue;
    out.push({ unit: u.id, what: "to-dryer", due: end });
  }
  return out.sort((a, b) => Number(a.patient ?? false) - Number(b.patient ?? false) || a.due - b.due || a.unit.localeCompare(b.unit));
}

/** What an idle unit waits for that can take a load (internal/lab/view.go). */
export const READY = "ready to load";

/** The units that can be loaded, apart from where a person is needed. */
export function apart(all: readonly Need[]): { jobs: Need[]; ready: string[] } {
  return { jobs: all.filter((n) => n.what !== READY), ready: all.filter((n) => n.what === READY).map((n) => n.unit) };
}

/** Several units that want someone within two minutes. */
export interface Crowd {
  from: number;
  to: number;
  units: number;
}

/** Groups needs that follow each other so closely that one pair of hands is short. */
export function crowds(all: readonly Need[], within = TOGETHER_MS): Crowd[] {
  const list = all.filter((n) => !n.patient);
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
