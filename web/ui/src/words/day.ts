import { hourMinute, ms } from "./time";

const two = (n: number): string => String(n).padStart(2, "0");

/** "Tue 24 Nov 2026, 14:02 to 14:31", by the reader's own clock. */
export function spanWords(from: string, to: string | null): string {
  const a = ms(from);
  if (a === null) return "";
  const day = new Date(a).toLocaleDateString("en-GB", { weekday: "short", day: "numeric", month: "short", year: "numeric" });
  const b = ms(to);
  const end = b === null ? "" : ` to ${hourMinute(b)}${new Date(b).toDateString() === new Date(a).toDateString() ? "" : " the next day"}`;
  return `${day}, ${hourMinute(a)}${end}`;
}

/** "2026-11-24" of a moment, for a field of type date. */
export function dayOf(t: number): string {
  const d = new Date(t);
  return `${d.getFullYear()}-${two(d.getMonth() + 1)}-${two(d.getDate())}`;
}

/** Midnight that begins a day "2026-11-24", by the reader's own clock; null for what is none. */
export function dayStart(day: string): number | null {
  const m = /^(\d{4})-(\d{1,2})-(\d{1,2})$/.exec(day);
  if (!m) return null;
  const d = new Date(Number(m[1]), Number(m[2]) - 1, Number(m[3]));
  return d.getMonth() === Number(m[2]) - 1 && d.getDate() === Number(m[3]) ? d.getTime() : null;
}

/** Midnight that ends it. */
export function dayEnd(day: string): number | null {
  const from = dayStart(day);
  if (from === null) return null;
  const d = new Date(from);
  d.setDate(d.getDate() + 1);
  return d.getTime();
}
