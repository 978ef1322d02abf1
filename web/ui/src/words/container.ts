import type { ContainerDeed } from "../load/types";
import type { Container, LevelChange, MeasuredLevel } from "../types";
import { litres, runsLeftOf, type Volumes } from "./measure";
import { stepWords } from "./steps";
import { hourMinute, moment, ms } from "./time";

const roles: Record<Container["role"], string> = { waste: "Waste", wash: "Wash water", recovery: "Silver recovery", bottle: "Bottle" };

/** "Waste", "Wash water", "Color developer bottle": the container for people. */
export function containerName(c: Pick<Container, "name" | "role">): string {
  if (c.role === "bottle") return `${stepWords(c.name.split("/").at(-1) ?? c.name).full} bottle`;
  if (c.name === c.role) return roles[c.role];
  // "fixer-recovery" says it already; "blue-drum" does not.
  const own = c.name.replaceAll(/[-_/]/g, " ");
  return own.includes(c.role) ? own.charAt(0).toUpperCase() + own.slice(1) : `${roles[c.role]}, ${own}`;
}

export const takesIn = (role: Container["role"]): boolean => role === "waste" || role === "recovery";

/** What people do to a container of a role, the usual first. */
export function deedsFor(role: Container["role"]): [deed: ContainerDeed, words: string][] {
  if (takesIn(role)) return [["emptied", "Emptied"], ["swapped", "Swapped for an empty one"]];
  return role === "wash" ? [["topped-up", "Filled to the top"], ["swapped", "Swapped for a full one"]] : [["swapped", "Swapped for a full one"], ["topped-up", "Filled to the top"]];
}

const done: Record<ContainerDeed, string> = { emptied: "emptied", "topped-up": "topped up", swapped: "swapped", set: "level set" };

export const deedDone = (d: ContainerDeed): string => done[d] ?? d;

/** What became of a level that a person measured: whether it is used, beside what, and if not, why. */
export function measuredWords(m: MeasuredLevel, capacityL: number, as: Volumes, now: number): string {
  const said = `Measured by hand: ${litres(m.litres, as)} at ${moment(ms(m.at) ?? now, now)}`;
  if (!m.used) {
    const when = ms(m.ended_at) === null ? "" : ` at ${moment(ms(m.ended_at) ?? now, now)}`;
    return m.why === "sensor-moved"
      ? `${said}. Not used any more: the sensor jumped${when}, so somebody filled, emptied or moved the container. The sensor is used.`
      : `${said}. Not used any more: the sensor started to send${when}, long after. The sensor is used.`;
  }
  if (m.sensor_litres === null) return `${said}. No sensor sends a level: fills and drains are counted on from there.`;
  const off = m.litres - m.sensor_litres;
  if (Math.abs(off) <= Math.max(0.3, 0.02 * capacityL)) return `${said}. The sensor agrees (${litres(m.sensor_litres, as)} then).`;
  return `${said}. The sensor said ${litres(m.sensor_litres, as)} then, ${litres(Math.abs(off), as)} ${off > 0 ? "less" : "more"}: your measurement is used, plus what the sensor shows to come and go since. Check the sensor.`;
}

/** Until when a container lasts: "at today's pace until about 15:40"; "" where what is not known is said elsewhere, or the time has passed. */
export function lastsWords(c: Pick<Container, "lasts_from" | "lasts_to" | "lasts_why">, now: number): string {
  if (c.lasts_why === "no-pace") return "until when is not known: fewer than two runs began today";
  if (c.lasts_why === "beyond-today") return "all day at today's pace";
  const from = ms(c.lasts_from ?? null);
  const to = ms(c.lasts_to ?? null);
  if (from === null || to === null || to <= now) return "";
  if (from >= to) return `at today's pace until about ${hourMinute(to)}`;
  return `at today's pace until ${hourMinute(Math.max(from, now))} to ${hourMinute(to)}`;
}

/** What is known of a container's future, in a line: "enough for 3 to 4 runs, at today's pace until about 15:40". */
export function willLast(c: Container, now: number): string {
  if (c.float_closed) return "full (float switch)";
  if (c.litres === null) return "no level received: look";
  if (c.lasts_why === "untouched") return "the next run does not touch it";
  if (c.runs_left === null) return "for how many runs is not known";
  const lasts = lastsWords(c, now);
  return `${c.runs_left_high === 0 || (c.runs_left_high === undefined && c.runs_left === 0) ? "not enough for a run" : `enough for ${runsLeftOf(c)}`}${lasts && `, ${lasts}`}`;
}

/** How well the level is known, and by what: " to within 0.4 L, counted by what the unit moved". */
export function levelBasis(c: Pick<Container, "spread_l" | "level_by">, as: Volumes): string {
  const within = (c.spread_l ?? 0) >= WORTH_SAYING_L ? `, to within ${litres(2 * (c.spread_l ?? 0), as)}` : "";
  return c.level_by === "counted" ? `${within}, counted by what the unit moved` : within;
}

const WORTH_SAYING_L = 0.1;

const changed: Record<LevelChange["what"], string> = { emptied: "Looks emptied", lowered: "Looks poured off", "topped-up": "Looks topped up" };

/** What people did to a container, as its probe showed it; where nobody has said it, it is asked. */
export function changedWords(c: LevelChange, as: Volumes, now: number): string {
  const said = `${changed[c.what]} at ${moment(ms(c.at) ?? now, now)}: from ${litres(c.from_l, as)} to ${litres(c.to_l, as)}, with no pump running.`;
  return c.ask ? `${said} Was that one of you? Press what was done. If nobody did it, look at the floor: gloves and goggles.` : said;
}

/** What to mind with a container, said where the hands are. */
export function containerCautions(role: Container["role"]): string[] {
  const gloves = "Gloves and goggles. Electricity and water apart: lift hoses away from plugs.";
  switch (role) {
    case "waste":
      return [gloves, "Never mix waste streams: each container goes where its label says, and nothing else goes in with it.", "What may go down a drain is for local codes and licensed practice to say."];
    case "recovery":
      return [gloves, "Used fixer holds silver: it goes to recovery, never down a drain and never in with other waste."];
    case "wash":
      return [gloves, "Warm water can be hot enough to hurt."];
    case "bottle":
      return [gloves, "Right bottle, right hose: read the label aloud. Photographic bleach is not laundry bleach, and neither goes near the other."];
  }
}
