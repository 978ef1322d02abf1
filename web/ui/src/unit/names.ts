// The names of lines, at their ends.

/** So many pixels are kept right of a drawing for them. */
export function nameRoom(names: readonly string[], font: string): number {
  const pen = document.createElement("canvas").getContext("2d");
  if (!pen) return 110;
  pen.font = `600 ${font}`;
  return 12 + Math.ceil(Math.max(0, ...names.map((n) => pen.measureText(n).width)));
}

/** Moves places apart, from the top down and back from the bottom up, so that no two names lie on each other nor below the drawing. */
export function spread<T extends { y: number }>(list: readonly T[], apart: number, bottom: number): T[] {
  const out = list.toSorted((a, b) => a.y - b.y).map((e) => ({ ...e }));
  for (let i = 1; i < out.length; i++) {
    const [a, b] = [out[i - 1], out[i]];
    if (a && b) b.y = Math.max(b.y, a.y + apart);
  }
  let least = bottom;
  for (const e of out.toReversed()) {
    e.y = Math.min(e.y, least);
    least = e.y - apart;
  }
  return out;
}
