import type { Crowd } from "./jobs";
import { SPAN_MS } from "./jobs";
import { crowdWords } from "./queue";
import { letters } from "./segments";

// Where the words of the job line stand, so that none lies on another: pure
// arithmetic in parts of the line, 0 to 1.

/** A text under the line: from where to where it reaches. */
export interface Label {
  text: string;
  from: number;
  to: number;
  /** A crowd's words; else a mark of minutes. */
  crowd: boolean;
  /** Where it hangs: its left edge, its middle or its right edge. */
  side: "left" | "middle" | "right";
}

/** Between two texts at least so many letters stay free. */
const FREE = 0.8;

/**
 * Places the words of the crowds first, then the marks that have room. A crowd
 * whose words lie on another's says only how many units. `em` is the width of a
 * letter as part of the line.
 */
export function placeLabels(near: readonly Crowd[], now: number, em: number, every: number): Label[] {
  const out: Label[] = [];
  const at = (t: number): number => Math.min(1, Math.max(0, (t - now) / SPAN_MS));
  for (const c of near) {
    const left = at(c.from);
    const right = Math.max(at(c.to), left);
    for (const text of [crowdWords(c), `${c.units} units`, `${c.units}×`]) {
      const w = letters(text) * em * 1.16; // bold
      const tries: Label[] = [{ text, from: left, to: left + w, crowd: true, side: "left" }, { text, from: right - w, to: right, crowd: true, side: "right" }];
      const fits = tries.find((l) => l.from >= 0 && l.to <= 1 && free(l, out, em));
      if (fits) {
        out.push(fits);
        break;
      }
    }
  }
  for (let m = 0; m <= 30; m += every) {
    const text = m === 0 ? "now" : m === 30 ? "30 min" : String(m);
    const w = letters(text) * em;
    const side = m === 0 ? "left" : m === 30 ? "right" : "middle";
    const from = m === 0 ? 0 : m === 30 ? 1 - w : m / 30 - w / 2;
    const l: Label = { text, from, to: from + w, crowd: false, side };
    if (free(l, out, em)) out.push(l);
  }
  return out;
}

const free = (l: Label, list: readonly Label[], em: number): boolean =>
  list.every((o) => l.to + FREE * em <= o.from || l.from >= o.to + FREE * em);
