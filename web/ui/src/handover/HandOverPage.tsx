import type { ComponentChildren, JSX } from "preact";
import { useComputed, useSignal } from "@preact/signals";
import { OnCallNow } from "../board/OnCallNow";
import { Mark } from "../board/Mark";
import { useStore } from "../context";
import { alertLink, runLink, unitLink } from "../route";
import { VerdictMark } from "../runs/VerdictMark";
import { Waiting } from "../shared/parts";
import { useGet } from "../shared/useGet";
import type { Alert, HandOver, Job, Run, Unit } from "../types";
import { dealtWith, heldWords, overWords, priorityWord } from "../words/alert";
import { doing } from "../words/doing";
import { spanWords } from "../words/day";
import { jobName, processName, pushName } from "../words/steps";
import { hourMinute, moment, ms } from "../words/time";
import { decisionWord, standingOf } from "../words/verdict";
import { Undecided } from "./Undecided";
import { attendWords, calm, since } from "./handover";
import "../runs/runs.css";
import "./handover.css";
import "./undecided.css";
import { heading, toDo } from "../words/todo";
import { said } from "../state/said";

/** What the next shift must know, on one page of paper. */
export function HandOverPage(): JSX.Element {
  const store = useStore();
  const hours = useSignal(12);
  const minute = useComputed(() => Math.floor(store.now.value / 60_000) * 60_000).value;
  const { got, again } = useGet<HandOver>(`/hand-over?${new URLSearchParams({ since: since(minute, hours.value) })}`, 0);
  const last = useSignal<HandOver | null>(null);
  if (got.value.value && last.peek() !== got.value.value) last.value = got.value.value;
  const h = got.value.value ?? last.peek();
  return (
    <section class="list paper handover">
      <header>
        <h1>Hand-over</h1>
        {h && <p class="num">{spanWords(h.at, null)}. What happened since {moment(ms(h.since) ?? 0, ms(h.at) ?? 0)}.</p>}
        <div class="filters">
          <fieldset>
            <legend class="unseen">Since when</legend>
            {[8, 12, 24].map((n) => <button key={n} class="plain" aria-pressed={hours.value === n} onClick={() => (hours.value = n)}>last {n} hours</button>)}
          </fieldset>
          <button class="solid" disabled={!h} onClick={() => print()}>Print it</button>
        </div>
      </header>
      {!h && <Waiting got={got.value} again={again} what="The hand-over" />}
      {h && <Sheet h={h} again={() => void again()} />}
    </section>
  );
}

function Sheet({ h, again }: { h: HandOver; again(): void }): JSX.Element {
  const store = useStore();
  const now = store.now.value;
  return (
    <>
      <OnCallNow />
      {calm(h) && <p class="lead"><b>Nothing is open, nothing runs, nothing waits.</b></p>}
      <div class="columns">
        <Box title="Open alerts" none="None: nobody is needed." list={h.open}>{(a) => <AlertItem key={a.id} a={a} aside={dealtWith(a, now)} />}</Box>
        <Box title="Shelved" none="Nothing is shelved." list={h.shelved}>{(a) => <AlertItem key={a.id} a={a} aside={dealtWith(a, now)} />}</Box>
        <Box title="Held: pages nobody" none="" list={h.held}>{(a) => <AlertItem key={a.id} a={a} aside={heldWords(a)} />}</Box>
        <Box title="Running now" none="No unit runs." list={h.running}>{(u) => <UnitItem key={u.id} u={u} now={now} />}</Box>
        <Box title="Where a person is needed next" none="Nowhere, as far as is known." list={h.due}>{(j, i) => <JobItem key={i} j={j} />}</Box>
        <Box title="To attend to" none="No container needs anybody." list={h.attend}>{(u) => (
          <li key={u.id}><a href={unitLink(u.id)}><b>{u.name || u.id}</b></a> {attendWords(u)}</li>
        )}</Box>
        <section class="box" aria-label="Film nobody has decided about">
          <h2>Film nobody has decided about {h.undecided.length > 0 && <span class="num">{h.undecided?.length}</span>}</h2>
          {h.undecided.length === 0 ? <p class="muted">Every run that was off has been decided about.</p> : <Undecided list={h.undecided} again={again} />}
        </section>
        <Box title="Runs that ended" none="No run ended in this time." list={h.ended}>{(r) => <RunItem key={r.id} r={r} now={now} />}</Box>
      </div>
      <p>{h.closed === 0 ? "No alert came and closed in this time." : h.closed === 1 ? "One alert came and closed in this time." : `${h.closed} alerts came and closed in this time.`}</p>
      <p class="signs"><span>Handed over by</span><span>Taken over by</span><span>Time</span></p>
      <p class="tiny">Wetside advises; it is no safety device. Look at the units themselves when you take over.</p>
    </>
  );
}

interface BoxProps<T> {
  title: string;
  /** Said where there is nothing; "" leaves the box out. */
  none: string;
  list: T[] | null;
  children(item: T, i: number): ComponentChildren;
}

function Box<T>({ title, none, list, children }: BoxProps<T>): JSX.Element | null {
  const rows = list ?? [];
  if (rows.length === 0 && none === "") return null;
  return (
    <section class="box" aria-label={title}>
      <h2>{title} {rows.length > 0 && <span class="num">{rows.length}</span>}</h2>
      {rows.length === 0 ? <p class="muted">{none}</p> : <ul>{rows.map(children)}</ul>}
    </section>
  );
}

function AlertItem({ a, aside }: { a: Alert; aside: string }): JSX.Element {
  const store = useStore();
  return (
    <li class="withmark">
      <Mark priority={a.priority} hollow={a.state !== "unacknowledged"} />
      <span>
        <b>{a.unit ? store.nameOf(a.unit) : "Wetside itself"}</b> <span class="unseen">{priorityWord[a.priority]}: </span>
        {overWords(a)} <a href={alertLink(a.id)}>{said(heading(a, store.present(a.unit)))}</a>. {overWords(a) === "" && said(toDo(a, store.present(a.unit)))} <i>{aside}</i>
      </span>
    </li>
  );
}

function UnitItem({ u, now }: { u: Unit; now: number }): JSX.Element {
  const d = doing(u, now, now);
  const end = ms(u.run?.ends_at);
  return (
    <li>
      <a href={unitLink(u.id)}><b>{u.name || u.id}</b></a> {u.run && `${processName(u.run.process)} ${pushName(u.run.push)}`.trim()}: {[d.lead.toLowerCase(), d.time, d.tail].filter((x) => x !== "").join(" ")}
      {end !== null && <>, ends <b class="num">{hourMinute(end)}</b></>}
      {(u.load?.rolls ?? []).length > 0 && `, ${u.load?.rolls?.length} rolls`}
    </li>
  );
}

function JobItem({ j }: { j: Job }): JSX.Element {
  const store = useStore();
  return <li>{j.patient ? "" : <><b class="num">{hourMinute(ms(j.due_at) ?? 0)}</b> </>}<b>{store.nameOf(j.unit)}</b> {jobName(j.what)}</li>;
}

function RunItem({ r, now }: { r: Run; now: number }): JSX.Element {
  const store = useStore();
  return (
    <li class="runitem">
      <VerdictMark standing={standingOf(r)} />{" "}
      <a href={runLink(r.id)}>{store.nameOf(r.unit)} {processName(r.process)} <span class="num">{moment(ms(r.started_at) ?? 0, now)}</span></a>
      {r.decision && ` ${decisionWord(r.decision.decision).toLowerCase()}`}
    </li>
  );
}
