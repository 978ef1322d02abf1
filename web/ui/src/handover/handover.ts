import type { Container, HandOver, Run, UndecidedRun, Unit } from "../types";
import { containerName, takesIn } from "../words/container";

/** "Mina will decide", "Ana, who is on call, will decide", "nobody will decide". */
export function ownerWords(u: Pick<UndecidedRun, "owner">): string {
  if (!u.owner) return "Nobody is assigned: take it, or put somebody on call";
  return u.owner.said ? `${u.owner.name} will decide` : `${u.owner.name}, who is on call, will decide`;
}

/** The rolls of a run that still want a decision. */
export const undecidedRolls = (r: Pick<Run, "rolls">): string[] => r.rolls.filter((x) => !x.decision).map((x) => x.twin_check);

export const since = (now: number, hours: number): string => new Date(now - hours * 3_600_000).toISOString();

/** Nothing that anybody has to take over. */
export const calm = (h: HandOver): boolean =>
  [h.open, h.shelved, h.held, h.running, h.due.filter((j) => !j.patient), h.attend, h.undecided].every((l) => l.length === 0);

/** Why an idle unit wants somebody: "waste is full; wash water will not do for a run". */
export function attendWords(u: Unit): string {
  const out: string[] = u.standing === "out-of-service" ? ["is out of service"] : [];
  for (const c of u.containers) {
    const w = wants(c);
    if (w) out.push(`${containerName(c).toLowerCase()} ${w}`);
  }
  return out.length === 0 ? "needs a look" : out.join("; ");
}

function wants(c: Container): string {
  if (c.float_closed) return "is full (float switch)";
  if (c.runs_left === null || c.runs_left >= 1) return "";
  return takesIn(c.role) ? "has no room for another run: empty it" : "will not do for another run: fill it up";
}
