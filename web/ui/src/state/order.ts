import type { Alert, Unit } from "../types";

/** How much a lane needs someone; more comes higher. */
export function urgency(unit: Unit, alerts: readonly Alert[], now: number): number {
  if (unit.standing === "out-of-service" || unit.standing === "retired") return -1;
  let top = unit.standing === "new" ? 15 : 0;
  for (const a of alerts) {
    const seen = quiet(a, now);
    const rank = a.priority === "urgent" ? 40 : a.priority === "high" ? 30 : 10;
    top = Math.max(top, seen ? rank / 4 : rank);
  }
  if (unit.activity === "waiting") top = Math.max(top, 35);
  if (unjudged(unit)) top = Math.max(top, 32);
  return Math.round(top);
}

/** A fault of wetside's own: nothing that happens to it raises an alert. */
const unjudged = (unit: Unit): boolean => Boolean(unit.fault && !unit.fault.judged);

/** How a lane stands: it needs someone now, soon, or nobody. */
export type LaneKind = "urgent" | "high" | "calm";

export const shelvedAt = (a: Alert, now: number): boolean => a.shelved_until !== null && Date.parse(a.shelved_until) > now;

/** What it tells of has ended: nobody can act on it any more, only look. */
export const past = (a: Alert): boolean => a.state === "cleared-unacknowledged" || a.found_afterwards;

/** Someone has seen it or put it aside, or it is over: shown small. */
export const quiet = (a: Alert, now: number): boolean => a.state === "acknowledged" || past(a) || shelvedAt(a, now);

export function laneKind(unit: Unit, alerts: readonly Alert[], now: number): LaneKind {
  if (unit.standing === "out-of-service" || unit.standing === "retired") return "calm";
  let kind: LaneKind = unit.activity === "waiting" || unjudged(unit) ? "high" : "calm";
  for (const a of alerts) {
    if (quiet(a, now) || a.priority === "low") continue;
    if (a.priority === "urgent") return "urgent";
    kind = "high";
  }
  return kind;
}

/** The order of the lanes: who needs someone first, then by name, for ever the same. */
export function laneOrder(
  units: readonly Unit[],
  alertsOf: (id: string) => readonly Alert[],
  now: number,
): string[] {
  return units
    .filter((u) => u.standing !== "retired")
    .map((u) => ({ id: u.id, name: u.name || u.id, rank: urgency(u, alertsOf(u.id), now) }))
    .sort((a, b) => b.rank - a.rank || a.name.localeCompare(b.name))
    .map((x) => x.id);
}

const weight = { urgent: 3, high: 2, low: 1 } as const;

/** Alerts of a lane, the one to read first first. */
export function alertOrder(list: readonly Alert[]): Alert[] {
  const seen = (a: Alert): number => (a.state === "acknowledged" ? 1 : 0);
  return [...list].sort(
    (a, b) => seen(a) - seen(b) || weight[b.priority] - weight[a.priority] || a.raised_at.localeCompare(b.raised_at),
  );
}

/** No lane moves while a hand is, or was just, on the board. */
export const HANDS_OFF_MS = 3000;

export const mayMove = (now: number, lastTouch: number): boolean => now - lastTouch >= HANDS_OFF_MS;
