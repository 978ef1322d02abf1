import type { JSX, TargetedSubmitEvent } from "preact";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { moment, ms } from "../words/time";
import { decisions, decisionWord } from "../words/verdict";
import type { Decision, Report, Roll } from "../types";
import { Part } from "./Part";
import { useAct, useMayEnter } from "./useAct";

interface Props {
  report: Report;
  again(): void;
}

/** Rolls that were decided on by themselves; the run's decision is for the others. */
function OwnDecisions({ rolls, of, now }: { rolls: readonly Roll[]; of: Decision | null; now: number }): JSX.Element | null {
  const own = rolls.filter((r) => r.decision);
  if (own.length === 0) return null;
  const open = rolls.length - own.length;
  return (
    <>
      <ul class="rolldecisions">
        {own.map((r) => (
          <li key={r.twin_check}>
            <b class="num">{r.twin_check}</b> <b>{decisionWord(r.decision?.decision ?? "")}</b>{r.decision?.note && `, ${r.decision.note}`}
            <span class="muted"> {r.decision?.by}, {moment(ms(r.decision?.at) ?? 0, now)}</span>
          </li>
        ))}
      </ul>
      {!of && open > 0 && <p>{open === 1 ? "1 roll is" : `${open} rolls are`} not decided about yet.</p>}
    </>
  );
}

/** What a person decided about the film; the last one holds, all are kept. */
export function DecisionPart({ report, again }: Props): JSX.Element {
  const store = useStore();
  const may = useMayEnter();
  const act = useAct(again);
  const d = report.run.decision;
  const open = useSignal(false);
  const pick = useSignal("");
  const some = useSignal<string[]>([]);
  const rolls = report.run.rolls;
  const now = store.now.peek();
  const submit = async (e: TargetedSubmitEvent<HTMLFormElement>): Promise<void> => {
    e.preventDefault();
    const form = new FormData(e.currentTarget);
    const told = String(form.get("told") ?? "");
    const body: Record<string, unknown> = { decision: pick.value };
    const note = String(form.get("note") ?? "").trim();
    if (note) body["note"] = note;
    if (told) body["customer_told_at"] = new Date(told).toISOString();
    if (some.value.length > 0) body["rolls"] = some.value;
    if (await act.send("POST", `/runs/${encodeURIComponent(report.run.id)}/decision`, body)) {
      open.value = false;
      some.value = [];
    }
  };
  return (
    <Part title="Decision">
      {d ? (
        <div class="decided">
          <p><b class="big">{decisionWord(d.decision)}</b> <span class="muted">{decisions.find(([c]) => c === d.decision)?.[2]}</span></p>
          {d.note && <p>{d.note}</p>}
          <p class="muted">
            {d.by}, {moment(ms(d.at) ?? 0, now)}.{" "}
            {d.customer_told_at ? `Customer told ${moment(ms(d.customer_told_at) ?? 0, now)}.` : "Customer not told yet, as far as was entered."}
          </p>
        </div>
      ) : (
        <p>{report.run.outcome === "running" ? "The run goes on." : rolls.some((r) => r.decision) ? "Decided for single rolls, not for the run." : "Nobody has decided yet."}</p>
      )}
      <OwnDecisions rolls={rolls} of={d ?? null} now={now} />
      {may && !open.value && (d || report.run.outcome === "running") && (
        <button class="plain screen" onClick={() => (open.value = true)}>{d ? "Decide again" : "Decide now"}</button>
      )}
      {may && (open.value || (!d && report.run.outcome !== "running")) && (
        <form class="entry screen" onSubmit={(e) => void submit(e)}>
          <fieldset class="cards">
            <legend class="unseen">Decision</legend>
            {decisions.map(([code, word, means]) => (
              <label key={code} class="card">
                <input type="radio" name="decision" value={code} required checked={pick.value === code} onChange={() => (pick.value = code)} />
                <span><b>{word}</b> {means}</span>
              </label>
            ))}
          </fieldset>
          {rolls.length > 1 && (
            <fieldset class="ticks">
              <legend>{some.value.length === 0 ? "For the run: every roll that has no decision of its own. Tick rolls to decide on these alone." : `For ${some.value.length === 1 ? "this roll" : `these ${some.value.length} rolls`} alone`}</legend>
              {rolls.map((r) => (
                <label key={r.twin_check}>
                  <input
                    type="checkbox" checked={some.value.includes(r.twin_check)}
                    onChange={(e) => (some.value = e.currentTarget.checked ? [...some.value, r.twin_check] : some.value.filter((x) => x !== r.twin_check))}
                  /> {r.twin_check}
                </label>
              ))}
            </fieldset>
          )}
          <label class="wide">Note<input name="note" maxLength={1000} placeholder="what was seen, what was agreed" /></label>
          <label>Customer told<input name="told" type="datetime-local" /></label>
          <button class="solid" disabled={act.busy.value || pick.value === ""}>Enter the decision</button>
          {act.trouble.value && <p class="trouble" role="alert">{act.trouble.value}</p>}
        </form>
      )}
    </Part>
  );
}
