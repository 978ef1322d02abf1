import type { Layout } from "./layout";

/**
 * Where things stand in the drawing. Lying (a desk, paper) time runs to the
 * right; hanging (a phone) it runs down, like film hung up to dry.
 */
export interface Box {
  hanging: boolean;
  width: number;
  height: number;
  /** Across: names, plan, threads, film, rows of marks, clock. */
  names: number;
  plan: [number, number];
  film: [number, number];
  rows: number;
  rowStep: number;
  clock: number;
  /** Along: where time begins and ends. */
  start: number;
  end: number;
}

export const HANG_BELOW = 620;
const ROW = 21;

/** The places for a drawing so many pixels wide with so many rows of marks. */
export function boxFor(width: number, minutes: number, rows: number): Box {
  if (width < HANG_BELOW) {
    const height = Math.round(Math.min(1250, Math.max(430, minutes * 24)));
    const film = [148, width - 16 - rows * ROW] as [number, number];
    return { hanging: true, width, height, names: 110, plan: [122, 132], film, rows: film[1] + 14, rowStep: ROW, clock: 0, start: 8, end: height - 8 };
  }
  const film = [74, 74 + (width < 900 ? 132 : 156)] as [number, number];
  const rowsAt = film[1] + 16;
  const clock = rowsAt + rows * ROW + 16;
  return { hanging: false, width, height: clock + 6, names: 16, plan: [24, 44], film, rows: rowsAt, rowStep: ROW, clock, start: 4, end: width - 26 };
}

/** Points of the drawing: t along time, a across. */
export class Pen {
  constructor(
    readonly box: Box,
    private readonly l: Layout,
  ) {}

  along(t: number): number {
    const { start, end } = this.box;
    return start + ((Math.min(this.l.to, Math.max(this.l.from, t)) - this.l.from) / (this.l.to - this.l.from)) * (end - start);
  }

  /** A place across the film for 0 (coolest) to 1 (warmest): up when it lies, to the right when it hangs. */
  across(v: number): number {
    const [a, b] = this.box.film;
    return this.box.hanging ? a + v * (b - a) : b - v * (b - a);
  }

  at(t: number, a: number): [number, number] {
    return this.box.hanging ? [a, this.along(t)] : [this.along(t), a];
  }

  /** Path data through points of time and place across the film. */
  path(points: readonly [t: number, v: number][], closed = false): string {
    const d = points.map(([t, v], i) => {
      const [x, y] = this.at(t, this.across(v));
      return `${i === 0 ? "M" : "L"}${x.toFixed(1)} ${y.toFixed(1)}`;
    });
    return d.join("") + (closed ? "Z" : "");
  }

  line(t0: number, a0: number, t1: number, a1: number): string {
    const [x0, y0] = this.at(t0, a0);
    const [x1, y1] = this.at(t1, a1);
    return `M${x0.toFixed(1)} ${y0.toFixed(1)}L${x1.toFixed(1)} ${y1.toFixed(1)}`;
  }

  /** A box over a stretch of time, from one place across to another. */
  rect(from: number, to: number, a: number, b: number): { x: number; y: number; width: number; height: number } {
    const p = this.along(from);
    const length = Math.max(1, this.along(to) - p);
    return this.box.hanging ? { x: a, y: p, width: b - a, height: length } : { x: p, y: a, width: length, height: b - a };
  }
}
