import type { Unit } from "../types";
import { ms } from "../words/time";

/**
 * How far what is shown can be trusted to be now. A unit says its bath at
 * least every 5 s in the bath and something every 30 s when idle (contract).
 *
 * live: as new as it should be. late: one or two intervals are missing.
 * stale: too old to act on. missing: there is nothing to show.
 */
export type Freshness = "live" | "late" | "stale" | "missing";

export interface Fresh {
  link: Freshness;
  linkAge: number | null;
  bath: Freshness;
  bathAge: number | null;
}

interface Ages {
  late: number;
  stale: number;
}

const inRun: Ages = { late: 20, stale: 60 };
const idle: Ages = { late: 75, stale: 180 };
const bathReading: Ages = { late: 10, stale: 30 };

function grade(seconds: number | null, a: Ages): Freshness {
  if (seconds === null) return "missing";
  if (seconds >= a.stale) return "stale";
  return seconds >= a.late ? "late" : "live";
}

function since(at: string | null, now: number): number | null {
  const t = ms(at);
  return t === null ? null : Math.max(0, (now - t) / 1000);
}

/** The freshness of one unit at `now`, the server's clock. */
export function freshness(unit: Unit, now: number): Fresh {
  const linkAge = since(unit.last_heard_at, now);
  let link = grade(linkAge, unit.run ? inRun : idle);
  if (unit.link !== "online" && link !== "missing") link = "stale";
  if (unit.link === "offline" && linkAge === null) link = "missing";
  const bathAge = since(unit.bath.at, now);
  const bath = unit.bath.c === null ? "missing" : grade(bathAge, bathReading);
  return { link, linkAge, bath: link === "stale" && bath !== "missing" ? "stale" : bath, bathAge };
}
