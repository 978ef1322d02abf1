import type { Hours, Plan, Quiet } from "./types";
import { minutesOf } from "./week";
import type { DutyStep } from "../types";

// Changing a plan: pure, so that what is sent is what was seen.

export const freshHours = (people: readonly string[]): Hours => ({ days: ["mon", "tue", "wed", "thu", "fri"], from: "08:00", to: "18:00", people: people.slice(0, 1) });
export const freshQuiet: Quiet = { days: ["mon", "tue", "wed", "thu", "fri", "sat", "sun"], from: "22:00", to: "07:00" };

/** One person, always: the plan of a lab of one. */
export function always(plan: Plan, person: string, zone: string): Plan {
  return { ...plan, time_zone: zone, hours: [{ days: ["mon", "tue", "wed", "thu", "fri", "sat", "sun"], from: "00:00", to: "24:00", people: [person] }] };
}

export const replaced = <T>(list: readonly T[], at: number, item: T): T[] => list.map((x, i) => (i === at ? item : x));
export const without = <T>(list: readonly T[], at: number): T[] => list.filter((_, i) => i !== at);

/** Moves one forward: who comes first is called first. */
export function forward<T>(list: readonly T[], at: number): T[] {
  const out = [...list];
  const [x] = out.splice(at, 1);
  if (x !== undefined) out.splice(Math.max(0, at - 1), 0, x);
  return out;
}

/** What is wrong with a plan before it is sent; "" where nothing is. The server looks again. */
export function planTrouble(p: Plan): string {
  for (const [i, h] of p.hours.entries()) {
    const line = `Line ${i + 1} of the hours`;
    if (h.days.length === 0) return `${line} has no day: tick one, or take the line out.`;
    if (h.people.length === 0) return `${line} names nobody: choose who is on, or take the line out.`;
    if (minutesOf(h.from) === null || minutesOf(h.to) === null) return `${line} must have times such as 08:00 and 17:30.`;
    if (h.from === h.to) return `${line} begins and ends at ${h.from}: for the whole day write 00:00 to 24:00.`;
  }
  for (const [i, q] of p.quiet.entries()) {
    if (q.days.length === 0) return `Line ${i + 1} of the quiet hours has no day: tick one, or take the line out.`;
    if (minutesOf(q.from) === null || minutesOf(q.to) === null) return `Line ${i + 1} of the quiet hours must have times such as 22:00 and 07:00.`;
  }
  for (const [name, steps] of [["urgent", p.urgent], ["high", p.high]] as const) {
    if (steps.length === 0) return `There is no step for ${name} alerts: nobody would be called.`;
    const bad = steps.findIndex((s) => s.who === "named" && !s.person);
    if (bad >= 0) return `Step ${bad + 1} for ${name} alerts calls one person: say whom.`;
  }
  return "";
}

/** A step that calls nobody by name carries no name. */
export const cleanSteps = (steps: readonly DutyStep[]): DutyStep[] =>
  steps.map(({ who, person, after_s }) => (who === "named" && person ? { who, person, after_s } : { who, after_s }));

export const cleaned = (p: Plan): Plan => ({
  ...p, hours: p.hours, quiet: p.quiet, urgent: cleanSteps(p.urgent), high: cleanSteps(p.high), retries_s: p.retries_s, address: p.address.trim(),
});
