import type { JSX } from "preact";
import { useComputed, useSignal } from "@preact/signals";
import { Mark } from "../board/Mark";
import { useStore } from "../context";
import { Part, Standing, Waiting } from "../shared/parts";
import { SourceKind } from "../shared/SourceKind";
import { useGet } from "../shared/useGet";
import { priorityWord } from "../words/alert";
import { ruleWord } from "../words/rule";
import { clockSpan } from "../words/time";
import { axisOf, figure, periods, scopeWords, standOf } from "./figures";
import "./figures.css";
import type { AlertFigures, Gauge, RuleFigures } from "../types";

/** How the alerting did: each figure beside what is acceptable, the rules that page most first. */
export function FiguresPage(): JSX.Element {
  const store = useStore();
  const hours = useSignal(24 * 7);
  // The minute it was asked in: a new address each second would ask each second.
  const to = useComputed(() => Math.floor(store.now.value / 60_000) * 60_000).value;
  const path = `/alert-figures?${new URLSearchParams({ from: new Date(to - hours.value * 3_600_000).toISOString(), to: new Date(to).toISOString() })}`;
  const { got, again } = useGet<AlertFigures>(path, 0);
  const f = got.value.value;
  const last = useSignal<AlertFigures | null>(null);
  if (f && last.peek() !== f) last.value = f;
  const shown = f ?? last.peek();
  return (
    <section class="list paper figures">
      <h1>How the alerting does</h1>
      <p class="lead">Every alert and every page should be one that somebody can use, at a time when they could still act. Where a figure is out, correct the rule at the top of the list first.</p>
      <div class="filters">
        <fieldset>
          <legend class="unseen">Period</legend>
          {periods.map(([h, words]) => (
            <button key={h} class="plain" aria-pressed={hours.value === h} onClick={() => { hours.value = h; last.value = null; }}>{words}</button>
          ))}
        </fieldset>
      </div>
      {!shown && <Waiting got={got.value} again={again} what="The figures" />}
      {shown && <Shown f={shown} />}
    </section>
  );
}

function Shown({ f }: { f: AlertFigures }): JSX.Element {
  const rules = f.rules;
  return (
    <>
      <Part title="In short" note={scopeWords(f)}>
        <p class="inshort">
          <span><b class="num">{f.alerts}</b> {f.alerts === 1 ? "alert" : "alerts"}</span>
          <span><b class="num">{f.pages}</b> {f.pages === 1 ? "page that reached somebody" : "pages that reached somebody"}</span>
          <span><b class="num">{f.found}</b> detected late, and not paged</span>
        </p>
        {f.alerts === 0 && <p>Nothing was raised in this time. That is what a good week looks like, if data came from the units: <a href="#/board">look at the board</a>.</p>}
      </Part>
      <Part title="Against what is acceptable" note="The line on each bar is where acceptable ends.">
        <ul class="gauges wide">{f.measures.map((g) => <GaugeRow key={g.code} g={g} />)}</ul>
      </Part>
      <Part title="Rules" note="Those that page most come first: correct them first.">
        {rules.length === 0 ? <p>No rule raised anything.</p> : <Rules rules={rules} />}
      </Part>
      <Part title="People" note="How much each was called.">
        {f.people.length === 0 ? <p>Nobody was called.</p> : (
          <div class="scroll" tabIndex={0} role="region" aria-label="Pages by person">
            <table>
              <thead><tr><th scope="col">Person</th><th scope="col">Pages</th><th scope="col">An hour, on average</th><th scope="col">Worst ten minutes</th><th scope="col">Worst hour</th></tr></thead>
              <tbody>
                {f.people.map((p) => (
                  <tr key={p.person}><th scope="row">{p.person}</th><td>{p.pages}</td><td>{p.per_hour.toFixed(2)}</td><td>{p.peak_10_min}</td><td>{p.worst_hour}</td></tr>
                ))}
              </tbody>
            </table>
          </div>
        )}
      </Part>
      <Part title="Spread of priorities" note="The outline is the guide of alarm practice. Many urgent ones: nothing is urgent any more.">
        <ul class="spread wide">
          {f.spread.map((s) => (
            <li key={s.priority}>
              <span class="who"><Mark priority={s.priority} /> {priorityWord[s.priority]}</span>
              <span class="bar" aria-hidden="true"><i style={{ width: `${s.part * 100}%` }} /><em style={{ width: `${s.usual * 100}%` }} /></span>
              <span class="num"><b>{Math.round(s.part * 100)} %</b> ({s.alerts}), guide {Math.round(s.usual * 100)} % <SourceKind of={s.standing} /></span>
            </li>
          ))}
        </ul>
      </Part>
    </>
  );
}

function GaugeRow({ g }: { g: Gauge }): JSX.Element {
  const stand = standOf(g);
  const axis = axisOf(g);
  return (
    <li class={`gauge ${stand.is}`}>
      <span class="label">{g.label}</span>
      <Standing is={stand.is} word={stand.word} />
      <span class="val num">
        <b>{g.value === null ? "nothing to measure" : figure(g.value, g.unit)}</b>
        {g.limit !== null && <span class="muted"> {g.at_least ? "at least" : "at most"} {figure(g.limit, g.unit)}</span>}
      </span>
      {axis && (
        <span class={`bar${g.at_least ? " least" : ""}`} aria-hidden="true">
          <i class="ok" style={{ left: `${axis.okFrom * 100}%`, width: `${(axis.okTo - axis.okFrom) * 100}%` }} />
          <i class="is" style={{ width: `${axis.value * 100}%` }} />
          <i class="limit" style={{ left: `${axis.limit * 100}%` }} />
        </span>
      )}
      {g.source && <span class="tiny">{g.source} <SourceKind of={g.standing} /></span>}
    </li>
  );
}

function Rules({ rules }: { rules: readonly RuleFigures[] }): JSX.Element {
  const most = Math.max(1, ...rules.map((r) => r.pages));
  return (
    <div class="scroll" tabIndex={0} role="region" aria-label="Rules, those that page most first">
      <table class="rulefigures">
        <thead>
          <tr>
            <th scope="col">Rule</th><th scope="col" class="words">Pages</th><th scope="col">Alerts</th><th scope="col">Answered in time</th><th scope="col">Late</th>
            <th scope="col">Never</th><th scope="col">Usual answer</th><th scope="col">Came and went</th><th scope="col">Withdrawn</th>
          </tr>
        </thead>
        <tbody>
          {rules.map((r) => (
            <tr key={r.rule}>
              <th scope="row">{ruleWord(r.rule)}</th>
              <td class="words pages"><span class="num">{r.pages}</span><i aria-hidden="true" style={{ width: `${(r.pages / most) * 8}em` }} /></td>
              <td>{r.alerts}</td><td>{r.in_time}</td><td>{r.late}</td><td>{r.never}</td>
              <td>{r.median_ack_s === null ? "" : clockSpan(r.median_ack_s)}</td>
              <td>{r.chattering || ""}</td><td>{r.withdrawn || ""}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}
