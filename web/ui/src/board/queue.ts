import { MINUTE } from "../words/time";
import { SPAN_MS, TOGETHER_MS, type Crowd, type Need } from "./jobs";

/** A job as the head shows it: in how many minutes, whose, what. */
export interface Ticket {
  key: string;
  unit: string;
  what: string;
  /** "now", "4 min" */
  when: string;
  overdue: boolean;
  /** The crowd it belongs to: its place in the list of crowds, -1 for none. */
  crowd: number;
}

/** The jobs of the next half hour, soonest first; behind them what is due by no minute. */
export function tickets(list: readonly Need[], near: readonly Crowd[], now: number): Ticket[] {
  return list
    .filter((n) => n.due <= now + SPAN_MS)
    .map((n) => ({
      key: `${n.unit} ${n.what}`,
      unit: n.unit,
      what: n.what,
      when: n.due <= now ? "now" : `${Math.ceil((n.due - now) / MINUTE)} min`,
      overdue: n.due < now && !n.patient,
      crowd: n.patient ? -1 : near.findIndex((c) => n.due >= c.from && n.due <= c.to),
    }));
}

/** "3 units within 2 minutes" */
export function crowdWords(c: Crowd): string {
  const m = Math.max(1, Math.ceil(Math.min(TOGETHER_MS, c.to - c.from) / MINUTE));
  return `${c.units} units within ${m === 1 ? "a minute" : `${m} minutes`}`;
}
