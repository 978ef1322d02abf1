import type { JSX } from "preact";
import { useEffect } from "preact/hooks";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { Mark } from "../board/Mark";
import { ShelveForm } from "../board/ShelveForm";
import { useDeed } from "../board/useDeed";
import { runLink, subject, unitLink } from "../route";
import { shelvedAt } from "../state/order";
import { Part, Waiting } from "../shared/parts";
import { useGet } from "../shared/useGet";
import { degrees, volumes } from "../state/prefs";
import type { Alert, AlertDetail } from "../types";
import { asides, dealtWith, eventWord, priorityWord } from "../words/alert";
import { factsInWords } from "../words/facts";
import { ruleWord } from "../words/rule";
import { stepWords } from "../words/steps";
import { hourMinuteSecond, moment, ms } from "../words/time";
import { SincePart } from "../strips/SincePart";
import { MeasuredForm } from "../unit/MeasuredForm";
import { NamesForm } from "../unit/NamesForm";
import { PagesSent } from "./PagesSent";
import "./alert.css";
import { heading, toDo } from "../words/todo";
import { said } from "../state/said";

/** Rules about a bath whose probe is in question. */
const MEASURABLE = new Set(["reading-doubtful", "reading-missing", "bath-temperature"]);

type Detail = Alert & AlertDetail;

/** One alert whole: what, why, what to do, what people did, and whom it called. */
export function AlertPage(): JSX.Element {
  const id = subject.value;
  const { got, again } = useGet<Detail>(`/alerts/${encodeURIComponent(id)}`, 15_000);
  const a = got.value.value;
  if (got.value.status === 404) {
    return (
      <section class="list paper">
        <h1>No such alert</h1>
        <p class="lead">Nothing is known under this address. It may have been cut short when it was copied.</p>
        <p><a class="button" href="#/alerts">All alerts</a></p>
      </section>
    );
  }
  return (
    <section class="list paper onealert">
      <p class="doors"><a class="button" href="#/alerts">All alerts</a></p>
      <Waiting got={got.value} again={again} what="This alert" />
      {a && <Whole a={a} again={again} />}
    </section>
  );
}

function Whole({ a, again }: { a: Detail; again(): Promise<void> }): JSX.Element {
  const store = useStore();
  const live = store.alertsOf(a.unit).value.find((x) => x.id === a.id);
  const key = live ? `${live.state} ${live.occurrence} ${live.shelved_until} ${live.priority} ${live.message}` : "gone";
  useEffect(() => void again(), [key]);
  const now = store.now.value;
  const facts = factsInWords(a.facts, { degrees: degrees.value, volumes: volumes.value, nameOf: (u) => store.nameOf(u) });
  const over = a.state === "closed" || a.state === "cleared-unacknowledged";
  return (
    <>
      <header class={`slipbox ${over ? "over" : a.priority}`}>
        <p class="kicker">
          <Mark priority={a.priority} hollow={over} />
          <b>{priorityWord[a.priority]}</b>
          {a.unit ? <a href={unitLink(a.unit)}>{store.nameOf(a.unit)}</a> : <b>Wetside itself</b>}
          {a.step && <span>{stepWords(a.step).full.toLowerCase()}</span>}
          <span class="num">{moment(ms(a.raised_at) ?? now, now)}{over && ms(a.cleared_at) !== null && ` to ${hourMinuteSecond(ms(a.cleared_at) ?? 0)}`}</span>
        </p>
        <h1>{said(heading(a, store.present(a.unit, now)))}</h1>
        <p class="todo">{said(toDo(a, store.present(a.unit, now)))}</p>
        <p class="muted">If nothing is done: {said(a.consequence)}</p>
        <p class="stateline"><b>{stateWords(a, now)}</b> {asides(a).join(" ")}</p>
        <Acts a={live ?? a} again={again} />
      </header>
      {a.rule === "step-unknown" && !over && <Part title="What do the names mean?"><NamesForm alert={a} /></Part>}
      {MEASURABLE.has(a.rule) && !over && a.run && (
        <Part title="Measure it" note="Hold a thermometer into the bath, in the dark until the film is fixed."><MeasuredForm run={a.run} /></Part>
      )}
      {a.rule === "strip-out" && a.unit && <SincePart unit={a.unit} process={String(a.facts?.["process"] ?? "")} mix={String(a.facts?.["mix"] ?? "")} />}
      {facts.length > 0 && (
        <Part title="What was measured">
          <dl class="facts">{facts.map((f) => <div key={f.name}><dt>{f.name}</dt><dd class="num">{f.words}</dd></div>)}</dl>
        </Part>
      )}
      <Part title="What happened" note="Nothing here is ever removed.">
        <ol class="lines">
          {a.history.map((e, i) => (
            <li key={i}><time class="num">{moment(ms(e.at) ?? now, now)}</time><span>{eventWord(e.what)}{e.by && ` by ${e.by}`}{e.note && `: ${e.note}`}</span></li>
          ))}
        </ol>
      </Part>
      <PagesSent alert={a} stamp={key} />
      <Part title="More">
        <p class="doors">
          {a.rule === "strip-out" && a.unit && <a class="button" href={`#/strips/${a.unit}/${String(a.facts?.["process"] ?? "")}`}>The chart of its strips</a>}
          {a.run && <a class="button" href={runLink(a.run)}>The run it happened in</a>}
          {a.unit && <a class="button" href={unitLink(a.unit)}>{store.nameOf(a.unit)}</a>}
          <a class="button" href="#/figures">How often “{ruleWord(a.rule)}” pages</a>
        </p>
      </Part>
    </>
  );
}

function stateWords(a: Alert, now: number): string {
  if (a.withdrawn) return "Withdrawn: later data shows that it did not happen.";
  if (a.state === "closed") return a.acknowledged_by ? `Cleared; ${dealtWith({ ...a, state: "acknowledged" }, now)}.` : "Cleared.";
  if (a.state === "cleared-unacknowledged") return "Cleared; not acknowledged.";
  const words = dealtWith(a, now);
  return `${words.charAt(0).toUpperCase()}${words.slice(1)}.`;
}

function Acts({ a, again }: { a: Alert; again(): Promise<void> }): JSX.Element | null {
  const store = useStore();
  const { busy, trouble, post } = useDeed(a);
  const note = useSignal("");
  const shelving = useSignal(false);
  if (!store.mayAct || a.state === "closed") return null;
  const act = async (what: string, body: unknown): Promise<void> => {
    if (await post(what, body)) {
      shelving.value = false;
      await again();
    }
  };
  const shelved = shelvedAt(a, store.now.peek());
  return (
    <div class="acting">
      {a.state !== "acknowledged" && (
        <form class="fields" onSubmit={(e) => { e.preventDefault(); void act("acknowledge", note.value.trim() ? { note: note.value.trim() } : {}); }}>
          <label class="grow">What you saw or did, if it helps the next one
            <input value={note.value} maxLength={1000} onInput={(e) => (note.value = e.currentTarget.value)} />
          </label>
          <button class="solid" disabled={busy.value}>Acknowledge</button>
        </form>
      )}
      {shelved
        ? <button class="plain" disabled={busy.value} onClick={() => void act("unshelve", {})}>Unshelve</button>
        : <button class="plain" aria-expanded={shelving.value} onClick={() => (shelving.value = !shelving.value)}>Shelve it</button>}
      {shelving.value && !shelved && <ShelveForm busy={busy.value} onShelve={(minutes, reason) => void act("shelve", { minutes, reason })} />}
      {trouble.value && <p class="trouble" role="alert">{trouble.value}</p>}
    </div>
  );
}
