import type { KnownRoll, Roll, RollPage } from "../types";
import { wantWords } from "../load/rolls";
import { moment, ms } from "../words/time";

/** "E-6 push 1, order B-7, due today 17:00": what is known of a roll; "" where that is nothing. */
export function knownWords(k: KnownRoll, now: number): string {
  const due = ms(k.due_at);
  return [
    k.process ? `for ${wantWords({ process: k.process, push: k.push ?? 0 })}` : k.push ? `for ${wantWords({ process: "", push: k.push }).trim()}` : "",
    [k.film, k.format].filter(Boolean).join(" "),
    k.order ? `order ${k.order}` : "",
    due === null ? "" : `due ${moment(due, now)}`,
  ].filter(Boolean).join(", ");
}

/** A roll as it was scanned, with what is known of it and it does not say itself. */
export function complete(r: Roll, k: KnownRoll | null | undefined): Roll {
  if (!k) return r;
  const out: Roll = { ...r };
  if (!r.process && r.push === undefined) {
    if (k.process) out.process = k.process;
    if (k.push !== null) out.push = k.push;
  }
  for (const f of ["film", "format", "order", "note"] as const) if (!out[f] && k[f]) out[f] = k[f];
  if (!out.due_at && k.due_at) out.due_at = k.due_at;
  return out;
}

/** What a roll that was just scanned is told with: loudly where it must not be run. */
export function scannedWords(p: RollPage, unit: string, name: (id: string) => string, now: number): { ok: boolean; words: string } {
  const said: string[] = [];
  const k = p.known;
  if (k?.stop) said.push(`Marked STOP: ${k.stop}. Take it out`);
  const elsewhere = p.loaded.find((l) => l.unit !== unit);
  if (elsewhere) said.push(`It is loaded in ${name(elsewhere.unit)} too`);
  const ran = p.runs?.[0];
  if (ran) said.push(ran.outcome === "running" ? `It is in ${name(ran.unit)} now` : `It ran before, in ${name(ran.unit)}`);
  const known = k ? knownWords(k, now) : "";
  if (known) said.push(known.charAt(0).toUpperCase() + known.slice(1));
  return { ok: !k?.stop, words: said.join(". ") };
}
