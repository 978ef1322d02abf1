import type { PlanFigures, Proposal, ProposedRun } from "../types";
import { processName, pushName } from "./steps";
import { hourMinute, MINUTE, moment, ms } from "./time";

// What to load next, in words: for the board, the loading page and the start of the day.

const plural = (n: number, one: string): string => `${n} ${n === 1 ? one : `${one}s`}`;

/** What a unit is to be set to: "C-41 +1", "C-41, push not said". */
export function setTo(r: ProposedRun): string {
  const push = r.push === null ? ", push not said" : r.push ? ` ${pushName(r.push)}` : "";
  return `${processName(r.process)}${push}${r.film ? `, ${r.film}` : ""}`;
}

/** When to start it: "now" within the minute. */
export function startWords(r: ProposedRun, now: number): string {
  const at = ms(r.start_at) ?? now;
  return at < now + MINUTE ? "now" : moment(at, now);
}

export const rollsWords = (r: ProposedRun): string => plural(r.rolls.length, "roll");

const LINE_MS = 30 * MINUTE;

/** The quiet line in an idle unit's lane: what to load on it within the half hour; "" where nothing is proposed. */
export function laneLine(p: Proposal | null, unit: string, now: number, brief: boolean): string {
  const r = (p?.runs ?? []).find((x) => x.unit === unit);
  if (!r || (ms(r.start_at) ?? now) >= now + LINE_MS) return "";
  return `Load next: ${setTo(r)}${brief ? "" : `, ${rollsWords(r)}`}, ${startWords(r, now)}`;
}

/** When the first roll of a run is promised, and whether any would be late. */
export function promiseWords(r: ProposedRun, now: number): { text: string; late: boolean } {
  const due = r.rolls.map((x) => ms(x.due_at)).filter((t) => t !== null).sort((a, b) => a - b)[0];
  const late = r.rolls.filter((x) => (x.late_min ?? 0) > 0);
  if (late.length > 0) return { late: true, text: `${plural(late.length, "roll")} late, by up to ${plural(Math.max(...late.map((x) => x.late_min ?? 0)), "minute")}` };
  return { late: false, text: due === undefined ? "" : `promised ${moment(due, now)}` };
}

/** What the whole proposal comes out at. */
export function figuresWords(f: PlanFigures, now: number): string {
  const ends = ms(f.ends_at);
  const out = [f.late === 0 ? "No roll is late" : `${plural(f.late, "roll")} late, ${plural(f.late_min, "minute")} in all`];
  out.push(f.collisions === 0 ? "no two runs need hands within two minutes" : `two runs need hands within two minutes ${f.collisions === 1 ? "once" : `${f.collisions} times`}`);
  if (ends !== null) out.push(`the last film is ready at ${moment(ends, now)}`);
  return `${out.join("; ")}.`;
}

/** What it gains over first come, first served: each figure that differs. */
export function gainWords(p: Proposal): string {
  const a = p.figures;
  const b = p.first_come;
  if (!p.better) return "First come, first served would do as well.";
  const out: string[] = [];
    if (a.left !== b.left) out.push(`${plural(b.left - a.left, "roll")} more with a place`);
  if (a.late !== b.late) out.push(`${Math.abs(b.late - a.late)} ${a.late < b.late ? "fewer" : "more"} late ${Math.abs(b.late - a.late) === 1 ? "roll" : "rolls"}`);
  if (a.late_min !== b.late_min) out.push(`${plural(Math.abs(b.late_min - a.late_min), "minute")} ${a.late_min < b.late_min ? "less" : "more"} late in all`);
  const hands = Math.abs(b.collisions - a.collisions);
  if (hands > 0) out.push(`${hands} ${a.collisions < b.collisions ? "fewer" : "more"} ${hands === 1 ? "moment" : "moments"} when two runs need hands at once`);
  const ends = ((ms(a.ends_at) ?? 0) - (ms(b.ends_at) ?? 0)) / MINUTE;
  if (ends !== 0) out.push(`done ${plural(Math.abs(Math.round(ends)), "minute")} ${ends < 0 ? "earlier" : "later"}`);
  return `Beside first come, first served: ${out.join(", ")}.`;
}

export const provenWords = (p: Proposal): string => (p.proven ? "" : "The best of many plans that were tried; a better one may exist.");

/** What a run is told as on the loading page of its unit. */
export function proposedHere(r: ProposedRun, now: number): string {
  return `${setTo(r)}, ${rollsWords(r)}, start ${startWords(r, now)}; to the dryer at ${hourMinute(ms(r.to_dryer_at) ?? now)}`;
}
