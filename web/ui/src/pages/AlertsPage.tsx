import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { Mark } from "../board/Mark";
import type { Alert } from "../types";
import { stepWords } from "../words/steps";
import { alertLink, unitLink } from "../route";
import { heldWords, overWords } from "../words/alert";
import { ruleWord } from "../words/rule";
import { hourMinuteSecond, moment, ms } from "../words/time";
import { useList } from "./useList";
import { UnitPicker } from "./UnitPicker";
import { heading, toDo } from "../words/todo";
import { said } from "../state/said";

const states: Record<Alert["state"], string> = {
  unacknowledged: "not acknowledged",
  acknowledged: "acknowledged, not cleared",
  "cleared-unacknowledged": "cleared, not acknowledged",
  closed: "over",
};

const which = { open: "Open", all: "All" } as const;

/** Every alert, open or past, with filters. */
export function AlertsPage(): JSX.Element {
  const store = useStore();
  const show = useSignal<keyof typeof which>("open");
  const unit = useSignal("");
  const rule = useSignal("");
  const q = new URLSearchParams({ limit: "200" });
  if (show.value === "open") q.set("open", "true");
  if (unit.value) q.set("unit", unit.value);
  if (rule.value) q.set("rule", rule.value);
  const list = useList<Alert>(`/alerts?${q}`, "alerts").value;
  const now = store.now.value;
  return (
    <section class="list">
      <h1>Alerts</h1>
      <p class="filters"><a href="#/figures">How the alerting does</a> <a href="#/hand-over">Hand-over sheet</a></p>
      <div class="filters">
        <fieldset>
          <legend class="unseen">Which</legend>
          {(Object.keys(which) as (keyof typeof which)[]).map((k) => (
            <button key={k} class="plain" aria-pressed={show.value === k} onClick={() => (show.value = k)}>{which[k]}</button>
          ))}
        </fieldset>
        <UnitPicker unit={unit} />
        {rule.value && <button class="plain" onClick={() => (rule.value = "")}>Only {ruleWord(rule.value)} ×</button>}
      </div>
      {list.trouble && <p class="trouble" role="alert">{list.trouble}</p>}
      {list.rows?.length === 0 && (
        <p class="empty">{show.value === "open" ? "No open alert. All is well, by the data received." : "No alert matches."}</p>
      )}
      <ol class="rows">
        {(list.rows ?? []).map((a) => (
          <li key={a.id} class={`item ${a.state === "closed" ? "past" : a.priority}`}>
            <Mark priority={a.priority} hollow={a.state !== "unacknowledged"} />
            <div>
              <p class="line">
                {a.unit ? <a href={unitLink(a.unit)}><b>{store.nameOf(a.unit)}</b></a> : <b>Wetside itself</b>}{" "}
                <a href={alertLink(a.id)}>{said(heading(a, store.present(a.unit, now)))}</a>
              </p>
              <p>{overWords(a) === "" && said(toDo(a, store.present(a.unit, now)))} <span class="muted">{said(a.consequence)}</span></p>
              <p class="muted">
                {moment(ms(a.raised_at) ?? 0, now)}
                {ms(a.cleared_at) !== null && ` to ${hourMinuteSecond(ms(a.cleared_at) ?? 0)}`} · {a.priority} ·{" "}
                {a.withdrawn ? "withdrawn: later data shows that it did not happen" : states[a.state]}
                {a.acknowledged_by && ` · acknowledged by ${a.acknowledged_by}`}
                {a.found_afterwards && " · detected late: it had cleared before it was noticed, and paged nobody"}
                {a.held && ` · ${heldWords(a)}`}
                {a.step && ` · ${stepWords(a.step).full.toLowerCase()}`}
              </p>
              <button class="link" onClick={() => (rule.value = a.rule)}>{ruleWord(a.rule)}</button>
            </div>
          </li>
        ))}
      </ol>
    </section>
  );
}
