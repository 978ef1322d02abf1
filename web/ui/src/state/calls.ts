import type { Alert, Priority } from "../types";

// Which alert calls aloud, and when: pure, so that it can be tried without ears.
// Urgent calls until somebody says they have seen it, never more often than
// every ten seconds; high calls when it comes; low makes one soft sound.

export const URGENT_EVERY_MS = 10_000;
/** Two calls that are not urgent keep apart by this: a flood is one sound. */
const APART_MS = 3_000;

export interface Call {
  priority: Priority;
  /** The one to be named, where it is spoken. */
  alert: Alert;
  /** It was called before. */
  again: boolean;
}

/** Wants to be heard: not acknowledged, nobody put it aside, it is not held back, and it is not over. */
export function callable(a: Alert, now: number): boolean {
  const shelved = a.shelved_until !== null && Date.parse(a.shelved_until) > now;
  return a.state === "unacknowledged" && !shelved && !a.held && !a.found_afterwards;
}

const rank: Record<Priority, number> = { urgent: 3, high: 2, low: 1 };

export class Caller {
  #heard = new Map<string, Priority>();
  #last = -Infinity;
  #lastUrgent = -Infinity;

  /** What it remembers: alerts that are open and were called. */
  kept(): Iterable<string> {
    return this.#heard.keys();
  }

  /** What is to sound now, null for nothing. Ask once a second and when alerts come. */
  next(alerts: Iterable<Alert>, now: number): Call | null {
    const open = [...alerts].filter((a) => callable(a, now));
    const names = new Set(open.map(keyOf));
    for (const k of this.#heard.keys()) if (!names.has(k)) this.#heard.delete(k);
    const fresh = open.filter((a) => rank[a.priority] > rankOf(this.#heard.get(keyOf(a))));
    const call = first(fresh, false) ?? first(open.filter((a) => a.priority === "urgent"), true);
    if (call === null) return null;
    const urgent = call.priority === "urgent";
    if (urgent ? now - this.#lastUrgent < URGENT_EVERY_MS : now - this.#last < APART_MS) return null;
    this.#last = now;
    if (urgent) this.#lastUrgent = now;
    // One sound says all that came with it.
    for (const a of fresh) this.#heard.set(keyOf(a), a.priority);
    return call;
  }
}

const keyOf = (a: Alert): string => `${a.id} ${a.occurrence}`;
const rankOf = (p: Priority | undefined): number => (p ? rank[p] : 0);

function first(list: readonly Alert[], again: boolean): Call | null {
  const a = [...list].sort((x, y) => rank[y.priority] - rank[x.priority] || y.raised_at.localeCompare(x.raised_at))[0];
  return a ? { priority: a.priority, alert: a, again } : null;
}
