import type { JSX, TargetedSubmitEvent } from "preact";
import { useEffect } from "preact/hooks";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { SourceKind } from "../shared/SourceKind";
import { stepWords } from "../words/steps";
import { onRolls } from "./statements";
import { Part } from "./Part";
import type { Cause, Report, SymptomCode, SymptomList } from "../types";
import { useAct, useMayEnter } from "./useAct";
import { said } from "../state/said";

interface Props {
  report: Report;
  again(): void;
}

/** The fault seen on the film, and the causes that fit both it and this run. */
export function SeenPart({ report, again }: Props): JSX.Element {
  const may = useMayEnter();
  const seen = report.seen;
  return (
    <Part title="Seen on the film">
      {seen.length === 0 && <p>Nothing was entered.{may && <span class="screen"> What does the film show?</span>}</p>}
      {seen.map((s) => (
        <div key={s.seen} class="seenfault">
          <h3>{s.label}, {onRolls(s.rolls ?? [], s.all === true)}</h3>
          {s.causes.length === 0 && <p>No cause that is known fits both this fault and what was measured. It may lie before the process: exposure, camera, the film itself.</p>}
          <ol class="causes">{s.causes.map((c, i) => <OneCause key={i} c={c} />)}</ol>
        </div>
      ))}
      {may && <SeenForm report={report} again={again} />}
    </Part>
  );
}

function OneCause({ c }: { c: Cause }): JSX.Element {
  return (
    <li>
      <p><b>{said(c.text)}</b>{c.step && <span class="muted">, {stepWords(c.step).full.toLowerCase()}</span>}</p>
      {c.evidence && <p><span class="sidesign" aria-hidden="true">+</span> <span class="unseen">For it: </span>{said(c.evidence)}</p>}
      {c.against && <p><span class="sidesign" aria-hidden="true">−</span> <span class="unseen">Against it: </span>{said(c.against)}</p>}
      {!c.evidence && !c.against && <p class="muted">Nothing measured in this run speaks for or against it.</p>}
      {c.tell && <p><b>To tell it</b> {c.tell}</p>}
      <p class="source">{c.source} <SourceKind of={c.standing} /></p>
    </li>
  );
}

/** Who ticks a roll means these rolls. */
function someOf(e: { currentTarget: HTMLInputElement }): void {
  const some = e.currentTarget.form?.querySelector<HTMLInputElement>('input[name="on"][value="some"]');
  if (some && e.currentTarget.checked) some.checked = true;
}

function SeenForm({ report, again }: Props): JSX.Element {
  const store = useStore();
  const act = useAct(again);
  const choices = useSignal<SymptomCode[]>([]);
  const trouble = useSignal("");
  const process = report.run.process;
  useEffect(() => {
    store.source
      .get<SymptomList>(`/symptoms?process=${encodeURIComponent(process)}`)
      .then((a) => (choices.value = a.symptoms), (e: unknown) => (trouble.value = e instanceof Error ? e.message : String(e)));
  }, [process, store]);
  const rolls = report.run.rolls;
  const submit = async (e: TargetedSubmitEvent<HTMLFormElement>): Promise<void> => {
    e.preventDefault();
    const el = e.currentTarget;
    const form = new FormData(el);
    const body: Record<string, unknown> = { seen: String(form.get("seen")) };
    const on = form.get("on");
    const ticked = form.getAll("roll").map(String);
    if (rolls.length > 0 && on === "some" && ticked.length === 0) {
      trouble.value = "Tick the rolls that show it.";
      return;
    }
    trouble.value = "";
    if (on === "some") body["rolls"] = ticked;
    if (on === "all") body["all_rolls"] = true;
    if (on === "unknown") body["rolls_unknown"] = true;
    const note = String(form.get("note") ?? "").trim();
    if (note) body["note"] = note;
    if (await act.send("POST", `/runs/${encodeURIComponent(report.run.id)}/symptoms`, body)) el.reset();
  };
  return (
    <form class="entry screen" onSubmit={(e) => void submit(e)}>
      <label>
        The film shows
        <select name="seen" required>
          <option value="">choose</option>
          {choices.value.map((c) => <option key={c.seen} value={c.seen}>{c.label}</option>)}
        </select>
      </label>
      {rolls.length > 0 && (
        <fieldset class="ticks">
          <legend>On which rolls</legend>
          <label><input type="radio" name="on" value="some" required /> On these:</label>
          {rolls.map((r) => <label key={r.twin_check}><input type="checkbox" name="roll" value={r.twin_check} onChange={someOf} /> {r.twin_check}</label>)}
          <label><input type="radio" name="on" value="all" /> On all {rolls.length}</label>
          <label><input type="radio" name="on" value="unknown" /> Not known</label>
        </fieldset>
      )}
      <label class="wide">Note<input name="note" maxLength={1000} /></label>
      <button class="solid" disabled={act.busy.value}>Find causes</button>
      {(trouble.value || act.trouble.value) && <p class="trouble" role="alert">{trouble.value || act.trouble.value}</p>}
    </form>
  );
}
