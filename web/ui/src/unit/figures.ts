import type { SheetView } from "../settings/sheets";
import { processName, stepWords } from "../words/steps";

/** The developers of all sheets, to choose from. */
export function steps(sheets: readonly SheetView[]): { at: string; words: string }[] {
  return sheets.flatMap((s) =>
    (s.steps ?? []).filter((x) => x.kind === "dev").map((x) => ({ at: `${s.id} ${x.step}`, words: `${processName(s.id)}, ${stepWords(x.step, x.label).full.toLowerCase()}` })));
}

/** Seconds of "3:15", "195" or "1:02:05"; null for what is no time. */
export function readSpan(text: string): number | null {
  const t = text.trim();
  if (!/^\d+(\.\d+)?$|^\d+:[0-5]\d(:[0-5]\d)?(\.\d+)?$/.test(t)) return null;
  return t.split(":").map(Number).reduce((sum, v) => sum * 60 + v, 0);
}
