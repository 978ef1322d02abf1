import type { Alert } from "../types";
import { past, shelvedAt } from "../state/order";
import { heading, type Present } from "../words/todo";
import { hourMinute, ms } from "../words/time";

/** Alerts that have cleared before anybody acknowledged them; they fold into one line a unit. The last first. */
export function clearedOf(list: readonly Alert[], now: number): Alert[] {
  const last = (a: Alert): number => ms(a.cleared_at) ?? ms(a.raised_at) ?? 0;
  return list.filter((a) => past(a) && a.state !== "acknowledged" && !shelvedAt(a, now)).sort((a, b) => last(b) - last(a));
}

/** "Cleared at 16:43: Developer 0.8 °C too warm"; of several how many, and the last. */
export function clearedWords(list: readonly Alert[], present: Present): { lead: string; what: string } {
  const first = list[0];
  if (!first) return { lead: "", what: "" };
  const at = ms(first.cleared_at);
  const when = at === null ? "" : ` at ${hourMinute(at)}`;
  const lead = list.length === 1 ? `Cleared${when}:` : `${list.length} cleared, the last${when}:`;
  return { lead, what: heading(first, present) };
}
