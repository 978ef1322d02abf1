import type { Alert, Priority } from "../types";
import { hourMinute, ms } from "./time";

export const priorityWord: Record<Priority, string> = { urgent: "Urgent", high: "High", low: "Low" };

const held: Record<string, string> = {
  "out-of-service": "Nobody is paged: the unit is out of service.",
  "lab-closed": "Nobody is paged: the lab is closed.",
  chattering: "Nobody is paged again: it comes and goes.",
  "new-rule": "Nobody is paged: this rule is new here and is only shown in its first week.",
};

/** Why no pages go out for it, "" where they do. */
export const heldWords = (a: Alert): string => (a.held ? (held[a.held] ?? `Nobody is paged: ${a.held.replaceAll("-", " ")}.`) : "");

/** What else is to be said of an alert, in short sentences. */
export function asides(a: Alert): string[] {
  const out: string[] = [];
  if (a.state === "cleared-unacknowledged") out.push("Cleared.");
  if (a.found_afterwards) out.push("Detected late: it had cleared before it was noticed.");
  if (a.occurrence > 1) out.push(a.occurrence === 2 ? "Second time." : `${a.occurrence} times.`);
  const h = heldWords(a);
  if (h) out.push(h);
  return out;
}

/** What a line says first of an alert that is over: "Over at 03:55:", "" while it goes on. */
export function overWords(a: Alert): string {
  if (a.state !== "cleared-unacknowledged" && a.state !== "closed" && !a.found_afterwards) return "";
  const at = ms(a.cleared_at);
  return at === null ? "Cleared:" : `Cleared at ${hourMinute(at)}:`;
}

/** How somebody has dealt with it: "seen by Ana at 14:02", "shelved until 15:00 by Ana: waits for parts". */
export function dealtWith(a: Alert, now: number): string {
  const until = ms(a.shelved_until);
  if (until !== null && until > now) {
    return `shelved until ${hourMinute(until)}${a.shelved_by ? ` by ${a.shelved_by}` : ""}${a.shelved_reason ? `: ${a.shelved_reason}` : ""}`;
  }
  if (a.state !== "acknowledged") return "not acknowledged";
  const at = ms(a.acknowledged_at);
  return `acknowledged${a.acknowledged_by ? ` by ${a.acknowledged_by}` : ""}${at === null ? "" : ` at ${hourMinute(at)}`}`;
}

const events: Record<string, string> = {
  raised: "raised",
  returned: "came back",
  cleared: "back to normal",
  acknowledged: "acknowledged",
  closed: "closed",
  shelved: "shelved",
  unshelved: "no longer shelved",
  withdrawn: "withdrawn: later data shows that it did not happen",
  priority: "priority changed",
  held: "pages held back",
  released: "pages go out again",
  moved: "start time corrected",
};

/** An entry of an alert's history in words. */
export const eventWord = (what: string): string => events[what] ?? what.replaceAll("-", " ");

const ways: Record<string, string> = { push: "phone", mail: "mail", webhook: "webhook" };
export const wayWord = (way: string): string => ways[way] ?? way;
