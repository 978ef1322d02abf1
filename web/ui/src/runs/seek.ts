import { signal } from "@preact/signals";
import { runLink } from "../route";
import type { Store } from "../state/store";
import { missed } from "./missed";
import { everything, readTerm, type Asked } from "./query";
import { findRuns } from "./useRuns";

/** What is looked for among the runs; it stays while the pages are open: back from a report, the search still stands. */
export const asked = signal<Asked>(everything);

/** Looks for what was typed or scanned, from whatever page: a number that one run alone has opens that run. */
export async function seek(store: Pick<Store, "units" | "now" | "source">, text: string): Promise<void> {
  const units = store.units().map((h) => ({ id: h.unit.id, name: h.unit.name }));
  const term = readTerm(text, units, store.now.peek());
  if (Object.keys(term).length === 0) return;
  // A number is looked for among all runs: a scanned roll must not hide behind a filter.
  // And what found nothing, or was a number, does not narrow what is looked for next.
  asked.value = term.number || asked.peek().number || missed() ? { ...everything, ...term } : { ...asked.peek(), ...term };
  location.hash = "#/runs";
  if (!term.number) return;
  try {
    const hit = await findRuns((p) => store.source.get(p), asked.value);
    const only = hit.rows?.length === 1 ? hit.rows[0] : undefined;
    if (only) location.hash = runLink(only.id);
  } catch {
    // The list of runs says what went wrong.
  }
}
