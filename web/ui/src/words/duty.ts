import { clockSpan, hourMinute } from "./time";
import type { DutyStep, Try } from "../types";

// Duty in words: days, steps of escalation, what became of a try.

export const days = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"] as const;
export type Day = (typeof days)[number];

const short: Record<string, string> = { mon: "Mon", tue: "Tue", wed: "Wed", thu: "Thu", fri: "Fri", sat: "Sat", sun: "Sun" };
const long: Record<string, string> = { mon: "Monday", tue: "Tuesday", wed: "Wednesday", thu: "Thursday", fri: "Friday", sat: "Saturday", sun: "Sunday" };

export const dayShort = (d: string): string => short[d] ?? d;
export const dayLong = (d: string): string => long[d] ?? d;

/** "Mon to Fri", "every day", "Sat and Sun", "Mon, Wed, Fri". */
export function daysWords(list: readonly string[]): string {
  const at = days.map((d, i) => (list.includes(d) ? i : -1)).filter((i) => i >= 0);
  if (at.length === 7) return "every day";
  if (at.length === 0) return "on no day";
  const names = at.map((i) => dayShort(days[i] ?? ""));
  const row = at.every((v, i) => i === 0 || v === (at[i - 1] ?? 0) + 1);
  if (row && at.length > 2) return `${names[0]} to ${names.at(-1)}`;
  return joined(names);
}

/** "Wren", "Wren and Robin", "Wren, Robin and Ana". */
export function joined(names: readonly string[]): string {
  return names.length < 2 ? (names[0] ?? "") : `${names.slice(0, -1).join(", ")} and ${names.at(-1)}`;
}

/** "15 s", "2 min", "1 min 30 s", "1 h". */
export function waitWords(s: number): string {
  if (s < 60) return `${s} s`;
  if (s < 3600) return s % 60 === 0 ? `${s / 60} min` : `${Math.floor(s / 60)} min ${s % 60} s`;
  return s % 3600 === 0 ? `${s / 3600} h` : `${Math.floor(s / 3600)} h ${Math.round((s % 3600) / 60)} min`;
}

const who = (s: DutyStep): string => {
  switch (s.who) {
    case "first":
      return "the first on call";
    case "second":
      return "the second on call";
    case "everybody":
      return "everybody";
    default:
      return s.person ?? "somebody";
  }
};

/** The steps of an escalation: "First the first on call; after 1 min the second on call; after 2 min more everybody, again every 2 min." */
export function stepsWords(steps: readonly DutyStep[], repeatS: number): string {
  if (steps.length === 0) return "Nobody is called.";
  const parts = steps.map((s, i) => {
    if (i === 0) return s.after_s === 0 ? `At once ${who(s)}` : `After ${waitWords(s.after_s)} ${who(s)}`;
    const lead = s.after_s === 0 ? "with them" : `after ${waitWords(s.after_s)}${i > 1 ? " more" : ""}`;
    return `${lead} ${who(s)}`;
  });
  return `${parts.join("; ")}${repeatS > 0 ? `, again every ${waitWords(repeatS)}` : ""}, until somebody acknowledges.`;
}

/** "08:00 to 17:30", "22:00 to 07:00 the next day", "the whole day". */
export function hoursWords(from: string, to: string): string {
  if (from === "00:00" && (to === "24:00" || to === "00:00")) return "the whole day";
  return to <= from ? `${from} to ${to} the next day` : `${from} to ${to}`;
}

/** What became of one try to reach a person. */
export function tryWords(t: Try): string {
  const why = t.detail ? `: ${t.detail}` : "";
  switch (t.outcome) {
    case "sent":
      return `handed over${t.took_ms ? ` in ${t.took_ms < 1000 ? `${Math.round(t.took_ms)} ms` : `${(t.took_ms / 1000).toFixed(1)} s`}` : ""}`;
    case "failed":
      return `failed${why}`;
    case "gone":
      return `gone: it is not tried again${why}`;
    case "unavailable":
      return `unavailable${why}`;
    default:
      return `${t.outcome}${why}`;
  }
}

const logs: Record<string, string> = {
  plan: "changed the plan",
  swap: "entered a swap",
  "swap-ended": "undid a swap",
  dark: "loading in the dark",
  contacts: "changed contacts",
  subscribed: "added a phone",
  unsubscribed: "took a phone out",
  "switched-off": "a contact method was switched off",
  "page-test": "tried the pages",
  "weekly-test": "the weekly test went out",
  "page-link": "used the link in a page",
};

export const logWord = (what: string): string => logs[what] ?? what.replaceAll("-", " ");

/** "in 12 min", "14:20" for what is further off. */
export function soon(t: number, now: number): string {
  const left = (t - now) / 1000;
  return left > 0 && left < 3600 ? `in ${clockSpan(left)}` : hourMinute(t);
}

/** Whom the next step of an alert pages, and when: that it is nobody must be known to who waits for help. */
export function nextPageWords(people: readonly string[], at: string): string {
  if (people.length === 0) return "Nobody else can be paged now. Call somebody yourself if you need help.";
  return `Unless somebody acknowledges, ${joined(people)} ${people.length === 1 ? "is" : "are"} paged at ${at}.`;
}

/** That a person would be on call in vain, and what to do about it. */
export function unreachableWords(p: { name: string; why: string }): string {
  return `${p.name} cannot be reached${p.why ? `: ${p.why}` : ""}. While on call, no page reaches them. Set a contact method and send a test page first.`;
}
