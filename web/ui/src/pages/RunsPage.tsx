import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import type { Run } from "../types";
import { kindName, processName, pushName } from "../words/steps";
import { hourMinute, moment, ms } from "../words/time";
import { RunSteps } from "./RunSteps";
import { UnitPicker } from "./UnitPicker";
import { useList } from "./useList";

export const verdicts: Record<string, [sign: string, words: string]> = {
  "in-control": ["○", "in control"],
  inspect: ["◆", "inspect"],
  "out-of-control": ["▲", "out of control"],
};

/** The runs, newest first, each with its steps folded away. */
export function RunsPage(): JSX.Element {
  const store = useStore();
  const unit = useSignal("");
  const verdict = useSignal("");
  const q = new URLSearchParams({ limit: "100" });
  if (unit.value) q.set("unit", unit.value);
  if (verdict.value) q.set("verdict", verdict.value);
  const list = useList<Run>(`/runs?${q}`, "runs").value;
  return (
    <section class="list">
      <h1>Runs</h1>
      <div class="filters">
        <UnitPicker unit={unit} />
        <label class="pick">
          Verdict
          <select value={verdict.value} onChange={(e) => (verdict.value = e.currentTarget.value)}>
            <option value="">all</option>
            {Object.entries(verdicts).map(([id, [, words]]) => <option key={id} value={id}>{words}</option>)}
          </select>
        </label>
      </div>
      {list.trouble && <p class="trouble" role="alert">{list.trouble}</p>}
      {list.rows?.length === 0 && <p class="empty">No run matches. A run appears here when a unit begins it.</p>}
      <ol class="rows">
        {(list.rows ?? []).map((r) => <RunRow key={r.id} run={r} now={store.now.peek()} name={store.nameOf(r.unit)} />)}
      </ol>
    </section>
  );
}

function RunRow({ run: r, now, name }: { run: Run; now: number; name: string }): JSX.Element {
  const open = useSignal(false);
  const [sign, words] = (r.verdict && verdicts[r.verdict]) || ["", r.outcome === "running" ? "running" : r.outcome];
  const end = ms(r.ended_at);
  return (
    <li class={`item run ${r.verdict ?? ""}`}>
      <details onToggle={(e) => (open.value = e.currentTarget.open)}>
        <summary>
          <span class="verdict"><span aria-hidden="true">{sign}</span> {words}</span>
          <b>{name}</b>
          <span>{processName(r.process)} {pushName(r.push)} {kindName(r.kind)}</span>
          <span class="num muted">{moment(ms(r.started_at) ?? 0, now)}{end === null ? "" : ` – ${hourMinute(end)}`}</span>
          <span class="reason">{r.reasons?.[0]?.text ?? ""}</span>
        </summary>
        {open.value && <RunSteps run={r} />}
      </details>
    </li>
  );
}
