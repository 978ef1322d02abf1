import type { Roll } from "../types";
import { noTwinCheck, readWant, twinCheck, wantWords, type Want } from "./rolls";
import type { Heard } from "../scan/takers";

/** What stands on the loading page before it is checked. */
export interface Loading {
  rolls: Roll[];
  /** What the rolls that are scanned from now on want; null: what the run gives. */
  want: Want | null;
}

export const nothingLoaded: Loading = { rolls: [], want: null };

/** A unit's label scanned while a unit is loaded: the way to that one, unless rolls would be lost. null: it is no unit's. */
export function unitLabel(code: string, here: string, units: readonly { id: string; name: string }[], rolls: number): { go: string; heard: Heard } | null {
  const id = unitOf(code, units);
  if (!id) return null;
  const name = (x: string): string => units.find((u) => u.id === x)?.name || (x.split("/")[1] ?? x);
  const title = name(id);
  if (id === here) return { go: "", heard: { ok: true, title, words: `${title} is the unit that you are loading` } };
  if (rolls === 0) return { go: id, heard: { ok: true, title, words: "Scan its rolls now." } };
  return { go: "", heard: { ok: false, title, words: `${rolls === 1 ? "1 roll is" : `${rolls} rolls are`} scanned for ${name(here)} and not checked yet. Check them first, or press Other unit.` } };
}

/** A code scanned while GO or STOP stands: what is checked does not change by a scan. */
export function afterCheck(code: string, s: Loading, unit: string): Heard {
  const at = s.rolls.findIndex((r) => r.twin_check === twinCheck(code));
  if (at >= 0) return { ok: true, words: `Roll ${at + 1} of this load in ${unit}` };
  return { ok: false, words: `It is not in this load of ${unit}, which is checked already. Press Change the rolls, then scan it again.` };
}

/** Takes one scanned code: a roll, or a card that says what the next rolls want. */
export function takeCode(s: Loading, code: string): { next: Loading; heard: Heard; added: string | null } {
  const want = readWant(code);
  if (want) {
    return { next: { ...s, want }, heard: { ok: true, title: wantWords(want), words: `rolls from here on are for ${wantWords(want)}`, large: "Rolls from here on are for it" }, added: null };
  }
  const twin = twinCheck(code);
  if (twin === null) return { next: s, heard: { ok: false, words: noTwinCheck(code) }, added: null };
  const at = s.rolls.findIndex((r) => r.twin_check === twin);
  if (at >= 0) return { next: s, heard: { ok: false, words: `${twin} is in already, as roll ${at + 1}` }, added: null };
  const roll: Roll = s.want ? { twin_check: twin, process: s.want.process, push: s.want.push } : { twin_check: twin };
  const rolls = [...s.rolls, roll];
  return { next: { ...s, rolls }, heard: { ok: true, words: `${twin}, roll ${rolls.length}` }, added: twin };
}

/** A roll as the server takes it: what it worked out itself left out. */
export function asSent(r: Roll): Roll {
  const { decision: _d, ...rest } = r as Roll & { push_error_stops?: number };
  delete rest.push_error_stops;
  return rest;
}

export function dropRoll(s: Loading, twin: string): Loading {
  return { ...s, rolls: s.rolls.filter((r) => r.twin_check !== twin) };
}

/** Sets what one roll is for. */
export function setWant(s: Loading, twin: string, want: Want): Loading {
  return {
    ...s,
    rolls: s.rolls.map((r) => (r.twin_check === twin ? { ...r, ...want } : r)),
  };
}

/** A unit by what its label says: its name, its id, or the second half of that. */
export function unitOf(code: string, units: readonly { id: string; name: string }[]): string | null {
  const c = code.trim().toLowerCase();
  return units.find((u) => [u.id, u.name.toLowerCase(), u.id.split("/")[1]].includes(c))?.id ?? null;
}
