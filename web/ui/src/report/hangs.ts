import { figureWords } from "../settings/sheets";
import { stepWords } from "../words/steps";
import type { SheetFigure } from "../types";

/** What the verdict hangs on that nobody confirmed yet; "" for nothing. */
export function hangsWords(list: readonly SheetFigure[]): string {
  if (list.length === 0) return "";
  const each = list.map((f) => `${f.step ? `${stepWords(f.step).full.toLowerCase()} ` : ""}${figureWords(f.figure)}: ${f.value}`);
  return `This verdict depends on unconfirmed figures: ${each.join("; ")}. Confirm it from your own manual.`;
}
