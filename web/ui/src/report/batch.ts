import type { Batch, Run } from "../types";

export interface BatchRow {
  run: Run;
  /** The codes that it has in common with the run looked at. */
  shares: string[];
  good: boolean;
}

/** The other runs around a bad one, newest first, each with what it shares with it. */
export function batchRows(b: Batch, of: string): BatchRow[] {
  return b.runs
    .filter((x) => x.run.id !== of)
    .map((x) => ({ run: x.run, shares: x.shared, good: x.run.id === b.last_good || x.run.id === b.next_good }))
    .sort((a, c) => c.run.started_at.localeCompare(a.run.started_at));
}
