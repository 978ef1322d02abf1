import type { House } from "../types";

export const weekdays = ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"] as const;

/** "09:00-13:00, 14:00-18:00" as spans; a string where it is none of them. */
export function readSpans(text: string): string[] | string {
  const parts = text.split(/[,;]/).map((s) => s.trim()).filter((s) => s !== "");
  const out: string[] = [];
  for (const p of parts) {
    const m = /^(\d{1,2}):(\d{2})\s*(?:-|–|to)\s*(\d{1,2}):(\d{2})$/.exec(p);
    if (!m) return `“${p}” must be a span of hours such as 09:00-18:00.`;
    const [, a = "", b = "", c = "", d = ""] = m;
    const from = Number(a) * 60 + Number(b);
    const to = Number(c) * 60 + Number(d);
    if (Number(b) > 59 || Number(d) > 59 || to > 24 * 60) return `“${p}” names a time that no clock shows.`;
    if (to <= from) return `“${p}” ends before it begins; past midnight, give the next day hours of its own.`;
    out.push(`${a.padStart(2, "0")}:${b}-${c.padStart(2, "0")}:${d}`);
  }
  return out;
}

/** "Mon to Fri 08:00-18:00" lines, days with the same hours together. */
export function hoursLines(hours: House["hours"]): string[] {
  if (!hours || Object.keys(hours).length === 0) return [];
  const out: { days: string[]; spans: string }[] = [];
  for (const d of weekdays) {
    const spans = (hours[d] ?? []).join(", ") || "closed";
    const last = out.at(-1);
    const short = d.charAt(0).toUpperCase() + d.slice(1, 3);
    if (last && last.spans === spans) last.days.push(short);
    else out.push({ days: [short], spans });
  }
  return out.map((o) => `${o.days.length === 1 ? o.days[0] : `${o.days[0]} to ${o.days.at(-1)}`}: ${o.spans.replaceAll("-", " to ")}`);
}

/** Which group each unit is in, "" for none. */
export function groupOf(groups: House["circuits"], unit: string): string {
  return Object.entries(groups ?? {}).find(([, list]) => list?.includes(unit))?.[0] ?? "";
}

/** The groups with one unit moved to another; a group without units goes. */
export function moved(groups: House["circuits"], unit: string, to: string): Record<string, string[]> {
  const out: Record<string, string[]> = {};
  for (const [name, list] of Object.entries(groups ?? {})) {
    const rest = (list ?? []).filter((u) => u !== unit);
    if (rest.length > 0) out[name] = rest;
  }
  const name = to.trim();
  if (name !== "") out[name] = [...(out[name] ?? []), unit].sort();
  return out;
}

/** Every zone that the browser knows, for the field to offer. */
export function zones(): string[] {
  try {
    return Intl.supportedValuesOf("timeZone");
  } catch {
    return [];
  }
}

export const ownZone = (): string => Intl.DateTimeFormat().resolvedOptions().timeZone || "UTC";
