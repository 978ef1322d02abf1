
import type { DutyStatus } from "../types";

/** Those who are on call now, who is called first first; null where that is not known. */
export function onCallNow(s: Pick<DutyStatus, "on" | "on_call"> | null): { name: string; reachable: boolean }[] | null {
  if (!s) return null;
  const known = s.on_call.filter((p) => p.from === null).sort((a, b) => a.place - b.place);
  if (known.length > 0) return known.map((p) => ({ name: p.name, reachable: p.reachable }));
  return s.on.map((name) => ({ name, reachable: true }));
}
