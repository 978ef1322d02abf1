// Times in words: what a person reads off the board.

export const SECOND = 1000;
export const MINUTE = 60 * SECOND;

/** Milliseconds of an RFC 3339 time; null where there is none or it is none. */
export function ms(at: string | null | undefined): number | null {
  if (!at) return null;
  const t = Date.parse(at);
  return Number.isNaN(t) ? null : t;
}

const two = (n: number): string => String(n).padStart(2, "0");

/** 66 -> "1:06", 3725 -> "1:02:05". Counts down to 0:00, never below. */
export function clockSpan(seconds: number): string {
  const s = Math.max(0, Math.ceil(seconds - 1e-6));
  const h = Math.floor(s / 3600);
  const m = Math.floor((s % 3600) / 60);
  return h > 0 ? `${h}:${two(m)}:${two(s % 60)}` : `${m}:${two(s % 60)}`;
}

/** Time of day by the reader's own clock: "14:27". */
export function hourMinute(t: number): string {
  const d = new Date(t);
  return `${two(d.getHours())}:${two(d.getMinutes())}`;
}

/** "14:27:05" */
export function hourMinuteSecond(t: number): string {
  return `${hourMinute(t)}:${two(new Date(t).getSeconds())}`;
}

/** "14:27" today, "Mon 14:27" within the week, else "3 Nov 14:27". */
export function moment(t: number, now: number): string {
  const d = new Date(t);
  if (d.toDateString() === new Date(now).toDateString()) return hourMinute(t);
  const day =
    now - t < 6 * 24 * 60 * MINUTE
      ? d.toLocaleDateString("en-GB", { weekday: "short" })
      : d.toLocaleDateString("en-GB", { day: "numeric", month: "short" });
  return `${day} ${hourMinute(t)}`;
}

/** How old something is, in the coarsest words that still tell: "24 s", "3 min", "2 h". */
export function age(seconds: number): string {
  const s = Math.max(0, Math.floor(seconds));
  if (s < 60) return `${s} s`;
  if (s < 3600) return `${Math.floor(s / 60)} min`;
  if (s < 48 * 3600) return `${Math.floor(s / 3600)} h`;
  return `${Math.floor(s / 86400)} days`;
}
