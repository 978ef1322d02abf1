import type { JSX } from "preact";
import { useEffect } from "preact/hooks";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { RunRow } from "../runs/RunRow";
import { reasonWord } from "../words/verdict";
import { batchRows } from "./batch";
import { Part } from "./Part";
import type { Batch, Report } from "../types";

/** From one bad run to all that may have the same: what ran on this unit since its last good run. */
export function BatchPart({ report }: { report: Report }): JSX.Element {
  const store = useStore();
  const batch = useSignal<Batch | null>(null);
  const trouble = useSignal("");
  const { id } = report.run;
  useEffect(() => {
    batch.value = null;
    store.source.get<Batch>(`/runs/${encodeURIComponent(id)}/batch`).then(
      (a) => (batch.value = a),
      (e: unknown) => (trouble.value = e instanceof Error ? e.message : String(e)),
    );
  }, [id, store]);
  const rows = batch.value ? batchRows(batch.value, id) : [];
  const now = store.now.peek();
  const others = rows.filter((r) => !r.good).length;
  const shared = rows.filter((r) => !r.good && r.shares.length > 0).length;
  return (
    <Part title="Same batch" screen>
      {trouble.value && <p class="trouble" role="alert">{trouble.value}</p>}
      {batch.value !== null && rows.length === 0 && <p>No other run on this unit since its last good one.</p>}
      {rows.length > 0 && (
        <p>
          {others === 1 ? "1 other run" : `${others} other runs`} on {report.unit_name || report.run.unit} since the last good one;{" "}
          <b>{shared === 0 ? "none shares" : shared === 1 ? "1 shares" : `${shared} share`}</b> a fault with this one.
        </p>
      )}
      <ol class="runrows">
        {rows.map((r) => (
          <RunRow
            key={r.run.id} run={r.run} now={now}
            remark={r.good ? "A good one." : r.shares.length > 0 ? `Same: ${r.shares.map(reasonWord).join(", ")}.` : ""}
          />
        ))}
      </ol>
    </Part>
  );
}
