import type { JSX, TargetedSubmitEvent } from "preact";
import { useSignal } from "@preact/signals";
import { degrees } from "../state/prefs";
import { inCelsius } from "../words/measure";
import { hourMinuteSecond, ms } from "../words/time";
import { Part } from "./Part";
import { entryWords, takenBack, timeNear } from "./statements";
import type { Entry, Report } from "../types";
import { useAct, useMayEnter, type Act } from "./useAct";

interface Props {
  report: Report;
  again(): void;
}

type What = "turned-by-hand" | "drained" | "measured" | "note";
const whats: [What, string][] = [["turned-by-hand", "Turned by hand"], ["drained", "Drained by hand"], ["measured", "Measured a bath"], ["note", "Something else"]];

/** What people did and saw at the unit: counted in, and never changed, only taken back. */
export function StatementsPart({ report, again }: Props): JSX.Element {
  const may = useMayEnter();
  const act = useAct(again);
  const entries = report.entries;
  const back = takenBack(entries);
  const shown = entries.filter((e) => e.what !== "takes-back");
  return (
    <Part title="What people did">
      {shown.length === 0 && <p>Nothing was entered.</p>}
      <ul class="entries">
        {shown.map((e) => <One key={e.id} e={e} gone={back.has(e.id)} may={may} act={act} />)}
      </ul>
      {act.trouble.value && <p class="trouble" role="alert">{act.trouble.value}</p>}
      {may && <StatementForm report={report} again={again} />}
    </Part>
  );
}

const retractable = new Set(["turned-by-hand", "drained", "note", "symptom", "run-kind", "film", "continues", "measured", "step-name"]);

function One({ e, gone, may, act }: { e: Entry; gone: boolean; may: boolean; act: Act }): JSX.Element {
  const words = entryWords(e, hourMinuteSecond);
  return (
    <li class={gone ? "gone" : ""}>
      <span class="num muted">{hourMinuteSecond(ms(e.at) ?? 0)}</span>
      <span>{gone ? <s>{words}</s> : words} <span class="muted">{e.by}{gone && ", undone"}</span></span>
      {may && !gone && retractable.has(e.what) && (
        <button class="plain tiny screen" disabled={act.busy.value} aria-label={`Undo: ${words}`} onClick={() => void act.send("DELETE", `/entries/${encodeURIComponent(e.id)}`)}>
          Undo
        </button>
      )}
    </li>
  );
}

function StatementForm({ report, again }: Props): JSX.Element {
  const act = useAct(again);
  const outage = report.run.outages?.[0];
  const what = useSignal<What>(outage ? "turned-by-hand" : "note");
  const near = ms(outage?.lost_at) ?? ms(report.run.started_at) ?? 0;
  const submit = async (e: TargetedSubmitEvent<HTMLFormElement>): Promise<void> => {
    e.preventDefault();
    const el = e.currentTarget;
    const form = new FormData(el);
    const time = (name: string): string | null => {
      const t = timeNear(String(form.get(name) ?? ""), near);
      return t === null ? null : new Date(t).toISOString();
    };
    if (what.value === "measured") {
      const c = inCelsius(Number(String(form.get("degrees")).replace(",", ".")), degrees.value);
      if (await act.send("POST", `/runs/${encodeURIComponent(report.run.id)}/measured`, { at: time("at"), c: Number(c.toFixed(2)) })) el.reset();
      return;
    }
    const body: Record<string, unknown> = { what: what.value };
    if (what.value === "turned-by-hand") {
      body["from"] = time("from");
      const to = time("to");
      if (to !== null) body["to"] = to;
    } else if (what.value === "drained") body["at"] = time("at");
    const text = String(form.get("text") ?? "").trim();
    if (text) body["text"] = text;
    if (await act.send("POST", `/runs/${encodeURIComponent(report.run.id)}/statements`, body)) el.reset();
  };
  return (
    <form class="entry screen" onSubmit={(e) => void submit(e)}>
      <fieldset class="which">
        <legend class="unseen">What was done</legend>
        {whats.map(([k, words]) => (
          <button key={k} type="button" class="plain" aria-pressed={what.value === k} onClick={() => (what.value = k)}>{words}</button>
        ))}
      </fieldset>
      {what.value === "turned-by-hand" && (
        <>
          <label>From<input name="from" type="time" step="1" required /></label>
          <label>{outage ? "To (empty: until the power was back)" : "To"}<input name="to" type="time" step="1" required={!outage} /></label>
        </>
      )}
      {what.value === "measured" && <label>It showed, °{degrees.value}<input name="degrees" inputMode="decimal" pattern="[0-9]{1,3}([.,][0-9]*)?" size={7} required /></label>}
      {(what.value === "drained" || what.value === "measured") && <label>At<input name="at" type="time" step="1" required /></label>}
      {what.value === "note" && <label class="wide">What<input name="text" required maxLength={1000} /></label>}
      <button class="solid" disabled={act.busy.value}>Enter it</button>
      {act.trouble.value && <p class="trouble" role="alert">{act.trouble.value}</p>}
    </form>
  );
}
