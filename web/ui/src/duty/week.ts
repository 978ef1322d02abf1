import { days, type Day } from "../words/duty";
import type { Hours, Plan, Quiet, Swap } from "./types";

// The week of a plan, in minutes of the clock on the lab's wall: 0 is Monday
// 00:00. The server decides who is called (alerts/oncall); this draws the plan and
// says who comes next.

export const DAY_MIN = 24 * 60;
export const WEEK_MIN = 7 * DAY_MIN;

/** Minutes of "08:30"; null for what is no time of day. "24:00" is the end of the day. */
export function minutesOf(at: string): number | null {
  const m = /^(\d{1,2}):(\d{2})$/.exec(at.trim());
  if (!m) return null;
  const v = Number(m[1]) * 60 + Number(m[2]);
  return Number(m[2]) < 60 && v <= DAY_MIN ? v : null;
}

export interface Stretch {
  from: number;
  to: number;
}

/** The stretches of a line of hours within the week; one that passes Sunday's end comes in two. */
export function stretches(q: Quiet): Stretch[] {
  const from = minutesOf(q.from);
  const to = minutesOf(q.to);
  if (from === null || to === null) return [];
  const long = to > from ? to - from : to + DAY_MIN - from;
  const out: Stretch[] = [];
  for (const [i, d] of days.entries()) {
    if (!q.days.includes(d)) continue;
    const start = i * DAY_MIN + from;
    if (start + long <= WEEK_MIN) out.push({ from: start, to: start + long });
    else out.push({ from: start, to: WEEK_MIN }, { from: 0, to: start + long - WEEK_MIN });
  }
  return out.sort((a, b) => a.from - b.from);
}

/** How somebody stands in some hours: as planned, in place of another, or off because of a swap. */
export type Bar = Stretch & { place: number; as: "planned" | "in" | "off" };

/** One person's row of the week. */
export interface Row {
  person: string;
  bars: Bar[];
}

/** The week that begins on a Monday ("2026-03-02"), a row for each person in the order in which they are named; swaps stand in it. */
export function weekRows(hours: readonly Hours[], swaps: readonly Swap[], monday: string): Row[] {
  const rows = new Map<string, Row>(hours.flatMap((h) => h.people).map((person) => [person, { person, bars: [] }]));
  const put = (person: string, bar: Bar): void => {
    const row = rows.get(person) ?? { person, bars: [] };
    rows.set(person, row);
    row.bars.push(bar);
  };
  for (const h of hours) {
    for (const [i, person] of h.people.entries()) {
      for (const { day, from, to } of dated(h)) {
        const who = swapped(swaps, datePlus(monday, day), person);
        const bar = { from, to, place: i + 1 };
        if (who === person) put(person, { ...bar, as: "planned" });
        else put(person, { ...bar, as: "off" });
        if (who !== person && who !== "") put(who, { ...bar, as: "in" });
      }
    }
  }
  return [...rows.values()].map((r) => ({ ...r, bars: r.bars.sort((a, b) => a.from - b.from || b.place - a.place) }));
}

/** The stretches of a line of hours within a week, each with the day on which it began: -1 is the Sunday before. */
function dated(h: Hours): (Stretch & { day: number })[] {
  const from = minutesOf(h.from);
  const to = minutesOf(h.to);
  if (from === null || to === null) return [];
  const long = to > from ? to - from : to + DAY_MIN - from;
  const out: (Stretch & { day: number })[] = [];
  for (let day = -1; day < 7; day++) {
    if (!h.days.includes(days[(day + 7) % 7] ?? "")) continue;
    const start = day * DAY_MIN + from;
    const s = { from: Math.max(0, start), to: Math.min(WEEK_MIN, start + long), day };
    if (s.to > s.from) out.push(s);
  }
  return out;
}

/** When nobody is on in a week as its rows have it. */
export function emptyStretches(rows: readonly Row[]): Stretch[] {
  const on = rows.flatMap((r) => r.bars).filter((b) => b.as !== "off").sort((a, b) => a.from - b.from);
  const out: Stretch[] = [];
  let at = 0;
  for (const s of on) {
    if (s.from > at) out.push({ from: at, to: s.from });
    at = Math.max(at, s.to);
  }
  if (at < WEEK_MIN) out.push({ from: at, to: WEEK_MIN });
  return out;
}

/** The Monday of the week of a moment on the wall. */
export const mondayOf = (wall: Wall): string => datePlus(wall.date, -Math.floor(wall.minute / DAY_MIN));

export interface Wall {
  /** "2026-11-25" */
  date: string;
  day: Day;
  /** Of the week. */
  minute: number;
}

/** What the clock on the lab's wall shows. */
export function wallAt(t: number, zone: string): Wall {
  let f: Intl.DateTimeFormat;
  const how = { weekday: "short", year: "numeric", month: "2-digit", day: "2-digit", hour: "2-digit", minute: "2-digit", hourCycle: "h23" } as const;
  try {
    f = new Intl.DateTimeFormat("en-GB", { ...how, timeZone: zone || "UTC" });
  } catch {
    f = new Intl.DateTimeFormat("en-GB", { ...how, timeZone: "UTC" });
  }
  const p = Object.fromEntries(f.formatToParts(t).map((x) => [x.type, x.value]));
  const day = (p["weekday"] ?? "Mon").toLowerCase().slice(0, 3) as Day;
  const minute = Math.max(0, days.indexOf(day)) * DAY_MIN + Number(p["hour"]) * 60 + Number(p["minute"]);
  return { date: `${p["year"]}-${p["month"]}-${p["day"]}`, day, minute };
}

/** The date so many days after one. */
export function datePlus(date: string, n: number): string {
  const [y = 0, m = 1, d = 1] = date.split("-").map(Number);
  return new Date(Date.UTC(y, m - 1, d + n)).toISOString().slice(0, 10);
}

/** Who is on `ahead` minutes after a moment on the wall; swaps count for hours that begin on their day. */
export function onDuty(plan: Pick<Plan, "hours">, swaps: readonly Swap[], wall: Wall, ahead = 0): string[] {
  const at = wall.minute + ahead;
  const today = Math.floor(wall.minute / DAY_MIN);
  const on: string[] = [];
  for (const h of plan.hours) {
    const from = minutesOf(h.from);
    const to = minutesOf(h.to);
    if (from === null || to === null) continue;
    const long = to > from ? to - from : to + DAY_MIN - from;
    for (const back of [0, 1]) {
      const day = Math.floor(at / DAY_MIN) - back;
      const start = day * DAY_MIN + from;
      if (at < start || at >= start + long || !h.days.includes(days[((day % 7) + 7) % 7] ?? "")) continue;
      for (const person of h.people) {
        const who = swapped(swaps, datePlus(wall.date, day - today), person);
        if (who !== "" && !on.includes(who)) on.push(who);
      }
      break;
    }
  }
  return on;
}

function swapped(swaps: readonly Swap[], date: string, person: string): string {
  let p = person;
  for (const s of swaps) {
    if (p === "") return "";
    if (s.day === date && s.off === p) p = s.on;
  }
  return p;
}

export interface Change {
  /** "Tue 08:00" by the lab's clock, "today 17:30", "tomorrow 08:00". */
  when: string;
  on: string[];
}

/** The next moment at which other people are on, within a week; null where nothing changes. */
export function nextChange(plan: Pick<Plan, "hours">, swaps: readonly Swap[], wall: Wall): Change | null {
  const edges = new Set<number>();
  for (const h of plan.hours) for (const s of [h.from, h.to]) {
    const m = minutesOf(s);
    if (m !== null) for (let d = 0; d <= 8; d++) edges.add((Math.floor(wall.minute / DAY_MIN) + d) * DAY_MIN + m);
  }
  const now = onDuty(plan, swaps, wall).join("|");
  for (const e of [...edges].sort((a, b) => a - b)) {
    if (e <= wall.minute) continue;
    const on = onDuty(plan, swaps, wall, e - wall.minute);
    if (on.join("|") !== now) return { when: whenWords(e, wall), on };
  }
  return null;
}

const two = (n: number): string => String(n).padStart(2, "0");

/** A minute of the week (or beyond it) in words. */
export function whenWords(minute: number, wall: Wall): string {
  const day = Math.floor(minute / DAY_MIN);
  const clock = `${two(Math.floor((minute % DAY_MIN) / 60))}:${two(minute % 60)}`;
  const off = day - Math.floor(wall.minute / DAY_MIN);
  const d = days[((day % 7) + 7) % 7] ?? "mon";
  const name = off === 0 ? "today" : off === 1 ? "tomorrow" : d.charAt(0).toUpperCase() + d.slice(1);
  return `${name} ${clock}`;
}

/** "Mon 08:00 to Tue 17:30" of a stretch of the week. */
export function stretchWords(s: Stretch): string {
  const one = (m: number): string => {
    const d = days[Math.floor((m % WEEK_MIN) / DAY_MIN)] ?? "mon";
    return `${d.charAt(0).toUpperCase()}${d.slice(1)} ${two(Math.floor((m % DAY_MIN) / 60))}:${two(m % 60)}`;
  };
  return `${one(s.from)} to ${s.to === WEEK_MIN ? "Sun 24:00" : one(s.to)}`;
}
