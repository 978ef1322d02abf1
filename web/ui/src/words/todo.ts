import type { Alert } from "../types";
import { hourMinuteSecond, ms } from "./time";

// What an alert wants done, true at the moment it is read (internal/lab/saying.go).

/** So long after its time an order is none any more. */
export const GRACE_MS = 15_000;

/** Rules whose response names a moment by which something is to be done to film in a bath. */
export const ORDERS = new Set([
  "bath-temperature", "reading-doubtful", "film-stranded", "run-aborted", "power-lost",
  "power-resumed", "unit-silent", "wrong-time-set", "roll-mismatch", "step-overrun", "preheat-off",
]);

/** The moment by which it wants something done to film in a bath, null where it names none. */
export function orderedBy(a: Alert): number | null {
  const at = a.facts?.["act_at"];
  return ORDERS.has(a.rule) && typeof at === "string" ? ms(at) : null;
}

export function spent(a: Alert, now: number): boolean {
  const at = orderedBy(a);
  return at !== null && now > at + GRACE_MS;
}

/** What is to be done now: what has cleared gives no orders, and a moment that has passed is said as passed. */
export function toDo(a: Alert, now: number): string {
  if (a.withdrawn) return "Later evidence took it back. There is nothing to do.";
  const cleared = ms(a.cleared_at);
  if (cleared !== null) {
    return `Cleared at ${hourMinuteSecond(cleared)}. ${a.run && ORDERS.has(a.rule) ? "Look at the run's report before its rolls are released." : "There is nothing to do."}`;
  }
  if (spent(a, now)) return `That time (${hourMinuteSecond(orderedBy(a) ?? 0)}) has passed: look which bath the film is in now. Hold the rolls for inspection.`;
  return a.response;
}

/** What is wrong, or was: of mains power lost it says what to do as well, as long as that holds. */
export function heading(a: Alert, now: number): string {
  return a.rule === "power-lost" && (a.cleared_at !== null || spent(a, now)) ? (a.message.split(": ")[0] ?? a.message) : a.message;
}
