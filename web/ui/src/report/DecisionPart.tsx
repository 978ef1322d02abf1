import type { JSX, TargetedSubmitEvent } from "preact";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { moment, ms } from "../words/time";
import { decisions, decisionWord } from "../words/verdict";
import { Part } from "./Part";
import type { Report } from "./types";
import { useAct, useMayEnter } from "./useAct";

interface Props {
  report: Report;
  again(): void;
}

/** What a person decided about the film; the last one holds, all are kept. */
export function DecisionPart({ report, again }: Props): JSX.Element {
  const store = useStore();
  const may = useMayEnter();
  const act = useAct(again);
  const d = report.run.decision;
  const open = useSignal(false);
  const pick = useSignal("");
  const now = store.now.peek();
  const submit = async (e: TargetedSubmitEvent<HTMLFormElement>): Promise<void> => {
    e.preventDefault();
    const form = new FormData(e.currentTarget);
    const told = String(form.get("told") ?? "");
    const body: Record<string, unknown> = { decision: pick.value };
    const note = String(form.get("note") ?? "").trim();
    if (note) body["note"] = note;
    if (told) body["customer_told_at"] = new Date(told).toISOString();
    if (await act.send("POST", `/runs/${encodeURIComponent(report.run.id)}/decision`, body)) open.value = false;
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
        <p>{report.run.outcome === "running" ? "The run goes on." : "Nobody has decided yet."}</p>
      )}
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
          <label class="wide">Note<input name="note" maxLength={1000} placeholder="what was seen, what was agreed" /></label>
          <label>Customer told<input name="told" type="datetime-local" /></label>
          <button class="solid" disabled={act.busy.value || pick.value === ""}>Enter the decision</button>
          {act.trouble.value && <p class="trouble" role="alert">{act.trouble.value}</p>}
        </form>
      )}
    </Part>
  );
}
