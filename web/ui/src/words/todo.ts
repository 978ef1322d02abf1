import type { Alert, Unit } from "../types";
import { hourMinuteSecond, ms } from "./time";

// What an alert wants done, true at the moment it is read (internal/lab/alerttext.go, film.go).

/** So long after its time an order is none any more. */
export const GRACE_MS = 15_000;

/** Rules whose response names a moment by which something is to be done to film in a bath. */
export const ORDERS = new Set([
  "bath-temperature", "reading-doubtful", "film-stranded", "run-aborted", "power-lost",
  "power-resumed", "unit-silent", "wrong-time-set", "roll-mismatch", "step-overrun", "preheat-off",
]);

/** Which bath a unit's film is in, as far as was heard. */
export interface FilmAt {
  run: string;
  step: string;
  label: string;
  behind: string[];
}

/** How things stand as a text about an alert is read. */
export interface Present {
  at: number;
  film: FilmAt | null;
}

/** Where the film of a unit is; a unit that is not heard may have gone on. */
export function filmOf(u: Unit | undefined): FilmAt | null {
  if (!u?.run || u.link !== "online" || u.run.step === "") return null;
  const plan = u.run.plan;
  const ahead = new Set([u.run.step, ...plan.filter((s) => s.state !== "past").map((s) => s.step)]);
  const behind = plan.filter((s) => s.state === "past" && !ahead.has(s.step)).map((s) => s.step);
  return { run: u.run.id, step: u.run.step, label: u.run.label || u.run.step, behind };
}

/** The moment by which it wants something done to film in a bath, null where it names none. */
export function orderedBy(a: Alert): number | null {
  const at = a.facts?.["act_at"];
  return ORDERS.has(a.rule) && typeof at === "string" ? ms(at) : null;
}

function leftBath(a: Alert, { film }: Present): boolean {
  return ORDERS.has(a.rule) && film !== null && film.run === a.run && film.behind.includes(a.step ?? "");
}

/** Whether its moment has passed, or the film has left the bath. */
export function passed(a: Alert, now: Present): boolean {
  const at = orderedBy(a);
  return leftBath(a, now) || (at !== null && now.at > at + GRACE_MS);
}

function filmWords(a: Alert, film: FilmAt | null): string {
  return film === null || film.run !== a.run ? "check which bath the film is in now" : `the film is in the ${bath(film)}`;
}

const bath = (film: FilmAt): string => `${film.label.charAt(0).toLowerCase()}${film.label.slice(1)}`;

/** What is to be done now: what has cleared gives no orders, and what can be done no more is said as such. */
export function toDo(a: Alert, now: Present): string {
  if (a.withdrawn) return "Withdrawn: later data shows that it did not happen. There is nothing to do.";
  const cleared = ms(a.cleared_at);
  if (cleared !== null) {
    return `Cleared at ${hourMinuteSecond(cleared)}. ${a.run && ORDERS.has(a.rule) ? "Look at the run's report before its rolls are released." : "There is nothing to do."}`;
  }
  const left = a.facts?.["still_to_do"];
  const hold = typeof left === "string" && left !== "" ? left : "Hold the rolls for inspection.";
  const where = filmWords(a, now.film);
  if (leftBath(a, now)) return `That bath has ended: ${where}. ${hold}`;
  if (!passed(a, now)) return a.response;
  const late = `That time (${hourMinuteSecond(orderedBy(a) ?? 0)}) has passed`;
  if (now.film !== null && now.film.run === a.run && now.film.step === a.step) return `${late} and the film is still in the ${bath(now.film)}: follow the advice in the unit's lane now. ${hold}`;
  return `${late}: ${where}. ${hold}`;
}

/** What is wrong, or was: of mains power lost it says what to do as well, as long as that holds. */
export function heading(a: Alert, now: Present): string {
  return a.rule === "power-lost" && (a.cleared_at !== null || passed(a, now)) ? (a.message.split(": ")[0] ?? a.message) : a.message;
}
