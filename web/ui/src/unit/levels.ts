import type { LevelPoint } from "../types";

export interface LevelColumns {
  names: string[];
  /** Seconds since 1970. */
  t: number[];
  of: Record<string, (number | null)[]>;
}

/** The points as the drawing wants them: a column a container, null where no data was received of it. */
export function levelColumns(points: readonly LevelPoint[]): LevelColumns {
  const names = [...new Set(points.flatMap((p) => Object.keys(p.levels_l)))].sort();
  const of: LevelColumns["of"] = {};
  for (const n of names) of[n] = points.map((p) => p.levels_l[n] ?? null);
  return { names, t: points.map((p) => Date.parse(p.at) / 1000), of };
}

/** One row a stretch of minutes: the last that was heard in it. */
export function levelRows(points: readonly LevelPoint[], minutes: number): LevelPoint[] {
  const rows = new Map<number, LevelPoint>();
  for (const p of points) rows.set(Math.floor(Date.parse(p.at) / (minutes * 60_000)), p);
  return [...rows.values()].reverse();
}
