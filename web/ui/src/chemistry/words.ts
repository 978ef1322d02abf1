import type { MixLimit, MixUse, MixView } from "../types";
import type { Stand } from "../shared/parts";

/** The label of a mix, in a scan or typed; null for what is none. */
export function mixLabel(code: string): string | null {
  const s = code.trim().toUpperCase();
  return /^MIX-[0-9A-Z]{4,12}$/.test(s) ? s : null;
}

/** How a mix stands: its shape and its word. */
export function standOf(m: Pick<MixView, "state" | "at">): [Stand, string] {
  switch (m.state.is) {
    case "withdrawn": return ["out", "withdrawn: do not use"];
    case "over": return ["out", "beyond its limit"];
    case "soon": return ["soon", "near its limit"];
    case "done": return ["off", "used up or discarded"];
    default: return m.state.limited ? ["in", "within its limits"] : ["none", "no limit set"];
  }
}

const plural = (n: number, one: string, many = `${one}s`): string => (n === 1 ? `1 ${one}` : `${n} ${many}`);

/** "12 roll-equivalents in 5 runs", and what is not known of it. */
export function useWords(u: MixUse): string {
  const sure = `${plural(Math.round(u.roll_equivalents * 100) / 100, "roll-equivalent")} in ${plural(u.runs, "run")}`;
  const doubts = [
    u.unscanned > 0 && `${plural(u.unscanned, "run")} with no roll scanned ${u.unscanned === 1 ? "is" : "are"} not in the count`,
    u.assumed > 0 && `${plural(u.assumed, "roll")} of unknown format counted as one each`,
    u.maybe > 0 && `${plural(u.maybe, "run")} may have used it`,
  ].filter(Boolean);
  return doubts.length === 0 ? sure : `${sure}; ${doubts.join("; ")}`;
}

export function ageWords(days: number): string {
  if (days < 1) return "mixed today";
  return `${plural(Math.floor(days), "day")} old`;
}

/** "28 days, 20 roll-equivalents a liter"; "" where nothing is limited. */
export function limitWords(l: MixLimit): string {
  return [
    l.days !== undefined && plural(l.days, "day"),
    l.rolls_per_l !== undefined && `${plural(l.rolls_per_l, "roll-equivalent")} a liter`,
  ].filter(Boolean).join(", ");
}

/** 71.3 mL, 1,550 mL: as it is measured out. */
export const milliliters = (ml: number): string => `${(Math.round(ml * 10) / 10).toLocaleString("en-US")} mL`;

/** A number from a field; undefined where it is empty or none. */
export function numberIn(text: FormDataEntryValue | null): number | undefined {
  const s = String(text ?? "").trim().replace(",", ".");
  if (s === "") return undefined;
  const v = Number(s);
  return Number.isFinite(v) ? v : undefined;
}
