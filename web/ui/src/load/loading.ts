import type { Roll } from "../types";
import { noTwinCheck, readWant, twinCheck, wantWords, type Want } from "./rolls";
import type { Heard } from "./ScanField";

/** What stands on the loading page before it is checked. */
export interface Loading {
  rolls: Roll[];
  /** What the rolls that are scanned from now on want; null: what the run gives. */
  want: Want | null;
}

export const nothingLoaded: Loading = { rolls: [], want: null };

/** Takes one scanned code: a roll, or a card that says what the next rolls want. */
export function takeCode(s: Loading, code: string): { next: Loading; heard: Heard; added: string | null } {
  const want = readWant(code);
  if (want) {
    return { next: { ...s, want }, heard: { ok: true, words: `rolls from here on are for ${wantWords(want)}` }, added: null };
  }
  const twin = twinCheck(code);
  if (twin === null) return { next: s, heard: { ok: false, words: noTwinCheck(code) }, added: null };
  const at = s.rolls.findIndex((r) => r.twin_check === twin);
  if (at >= 0) return { next: s, heard: { ok: false, words: `${twin} is in already, as roll ${at + 1}` }, added: null };
  const roll: Roll = s.want ? { twin_check: twin, process: s.want.process, push: s.want.push } : { twin_check: twin };
  const rolls = [...s.rolls, roll];
  return { next: { ...s, rolls }, heard: { ok: true, words: `${twin}, roll ${rolls.length}` }, added: twin };
}

export function dropRoll(s: Loading, twin: string): Loading {
  return { ...s, rolls: s.rolls.filter((r) => r.twin_check !== twin) };
}

/** Sets what one roll wants; null: what the run gives. */
export function setWant(s: Loading, twin: string, want: Want | null): Loading {
  return {
    ...s,
    rolls: s.rolls.map((r) => {
      if (r.twin_check !== twin) return r;
      const { process: _p, push: _q, ...rest } = r;
      return want ? { ...rest, process: want.process, push: want.push } : rest;
    }),
  };
}

/** A unit by what its label says: its name, its id, or the second half of that. */
export function unitOf(code: string, units: readonly { id: string; name: string }[]): string | null {
  const c = code.trim().toLowerCase();
  return units.find((u) => [u.id, u.name.toLowerCase(), u.id.split("/")[1]].includes(c))?.id ?? null;
}
