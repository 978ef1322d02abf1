import type { Degrees } from "../words/measure";
import { processName, stepWords } from "../words/steps";
import type { Figures } from "./types";
import type { SheetView } from "../types";

/** The developers of all sheets, to choose from. */
export function steps(sheets: readonly SheetView[]): { at: string; words: string }[] {
  return sheets.flatMap((s) =>
    s.steps.filter((x) => x.kind === "dev").map((x) => ({ at: `${s.id} ${x.step}`, words: `${processName(s.id)}, ${stepWords(x.step, x.label).full.toLowerCase()}` })));
}

/** Seconds of "3:15", "195" or "1:02:05"; null for what is no time. */
export function readSpan(text: string): number | null {
  const t = text.trim();
  if (!/^\d+(\.\d+)?$|^\d+:[0-5]\d(:[0-5]\d)?(\.\d+)?$/.test(t)) return null;
  return t.split(":").map(Number).reduce((sum, v) => sum * 60 + v, 0);
}

/** What a probe in a bath of 38 °C is worth that was never checked: "0.49 °C (class B assumed: its kind is not known)". */
export function neverChecked(f: Pick<Figures, "probe_kind">, as: Degrees): string {
  const c = f.probe_kind?.within_c ?? 0.49; // IEC 60751, class B: 0.30 + 0.005 x 38
  const size = `${(as === "F" ? c * 1.8 : c).toFixed(2)} °${as}`;
  return f.probe_kind ? `${size} (class ${f.probe_kind.class}, IEC 60751)` : `${size} (class B of IEC 60751 is assumed: its kind is not known)`;
}
