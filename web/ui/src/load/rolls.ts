import type { Roll } from "../types";
import { processName, pushName } from "../words/steps";
import { processIds } from "../runs/query";

/** A twin check as it is kept: digits, letters and inner -, in capitals; null for what is none. */
export function twinCheck(code: string): string | null {
  const c = code.trim().toUpperCase();
  return /^[A-Z0-9](?:[A-Z0-9-]{0,30}[A-Z0-9])?$/.test(c) ? c : null;
}

export const noTwinCheck = (code: string): string => `${code} is no twin check: 1 to 32 digits and letters, - between them`;

/** What rolls want: a process and a push. */
export interface Want {
  process: string;
  push: number;
}

/** Stops beyond which a push is not taken, either way. */
const mostPush = 6;

/** Reads a card with a process and a push on it, as "c41", "E-6 +1", "c41-1"; null for anything else. */
export function readWant(code: string): Want | null {
  const whole = processOf(code);
  if (whole) return { process: whole, push: 0 };
  const m = /^(.+?)\s*([+−-]\s*\d(?:\.\d+)?)$/.exec(code.trim());
  const id = m && processOf(m[1] ?? "");
  const push = Number((m?.[2] ?? "").replace("−", "-").replace(/\s/g, ""));
  return id && Math.abs(push) <= mostPush ? { process: id, push } : null;
}

function processOf(name: string): string | undefined {
  const n = name.trim().toLowerCase();
  return processIds.find((p) => p === n || processName(p).toLowerCase() === n);
}

export const wantWords = (w: Want): string => `${processName(w.process)}${w.push ? ` ${pushName(w.push)}` : ""}`;

/** Whether a roll wants something else than the run gives. */
export function isOdd(r: Roll, run: Want): boolean {
  const process = r.process || run.process;
  const push = r.process ? (r.push ?? 0) : (r.push ?? run.push);
  return process !== run.process || Math.abs(push - run.push) > 0.005;
}

/** What a roll wants, in words; "" where it wants what the run gives. */
export function oddWords(r: Roll, run: Want): string {
  return isOdd(r, run) ? `for ${wantWords({ process: r.process || run.process, push: r.push ?? 0 })}` : "";
}
