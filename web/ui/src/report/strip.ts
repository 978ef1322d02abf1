import type { StripRow } from "../strips/types";
import { ms } from "../words/time";

/** Of strips, newest first: the one that went through a run, and the last that was read before it began. */
export function stripsOf(strips: readonly StripRow[], run: string, began: number): { own: StripRow | null; before: StripRow | null } {
  const own = strips.find((s) => s.run === run) ?? null;
  const before = strips.find((s) => s.run !== run && (ms(s.read_at) ?? Infinity) <= began) ?? null;
  return { own, before };
}
