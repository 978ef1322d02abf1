import { ms } from "../words/time";
import type { KnownRoll, RollListAnswer } from "../types";

/** "12 new, 1 changed, 3 known already, 2 not taken" */
export function answerWords(a: RollListAnswer): string {
  const refused = a.refused.length;
  const parts = [
    a.new > 0 ? `${a.new} new` : "",
    a.changed > 0 ? `${a.changed} changed` : "",
    a.same > 0 ? `${a.same} known already` : "",
    refused > 0 ? `${refused} not taken` : "",
  ].filter(Boolean);
  return parts.length === 0 ? "The list holds no roll." : `${parts.join(", ")}.`;
}

export function overdue(r: KnownRoll, now: number): boolean {
  const due = ms(r.due_at);
  return due !== null && due < now;
}

/** How many lines go in one request: the server takes 500 rolls and 64 KiB. */
const LINES = 200;

const isHead = (line: string): boolean => /(^|[,;\t"])\s*(twin[ _-]?check|twin|roll|barcode)\s*($|[,;\t"])/i.test(line);

/** A list in parts that a request may have, each with the head; `rows`: how many rows of the list stand before it. */
export function chunks(text: string): { text: string; rows: number }[] {
  const lines = text.replace(/\r\n?/g, "\n").split("\n");
  const head = isHead(lines[0] ?? "") ? `${lines[0]}\n` : "";
  const out: { text: string; rows: number }[] = [];
  for (let i = head ? 1 : 0; i < lines.length; i += LINES) {
    const part = lines.slice(i, i + LINES).join("\n");
    if (part.trim() !== "") out.push({ text: head + part, rows: i - (head ? 1 : 0) });
  }
  return out;
}
