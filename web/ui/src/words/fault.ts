import type { Unit } from "../types";
import { moment, ms } from "./time";

/** What is wrong with wetside about a unit, in one line; null where nothing is. */
export function faultWords(unit: Unit, now: number): string | null {
  const fault = unit.fault;
  const since = ms(fault?.since);
  if (!fault || since === null) return null;
  return fault.judged
    ? `Shown as it was at ${moment(since, now)}: a fault of wetside's own`
    : `Not judged since ${moment(since, now)}: a fault of wetside's own`;
}
