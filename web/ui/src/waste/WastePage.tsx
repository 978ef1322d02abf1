import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { SourceKind } from "../shared/SourceKind";
import { Part, Standing, Waiting } from "../shared/parts";
import { useGet } from "../shared/useGet";
import { useMay } from "../shared/useSend";
import { useStore } from "../context";
import { volumes } from "../state/prefs";
import type { WasteLog } from "../types";
import { BeginWaste } from "./BeginWaste";
import { CheckForm, LineForm } from "./LineForm";
import { WasteLine } from "./WasteLine";
import { monthSpan, monthWords, streamWords } from "./words";
import "../chemistry/chemistry.css";
import "./waste.css";

/** The waste log: what went out, weekly checks, totals, what is missing. */
export function WastePage(): JSX.Element {
  const may = useMay();
  const month = useSignal("");
  const span = monthSpan(month.value);
  const query = span ? `?${new URLSearchParams(span)}` : "";
  const { got, again } = useGet<WasteLog>(`/waste${query}`, 60_000);
  const w = got.value.value;
  return (
    <section class="list paper waste">
      <h1>Waste log</h1>
      <Waiting got={got.value} again={again} what="The waste log" />
      {w && !w.started_at && (
        <>
          <p class="lead">No waste log is written. Once a lead begins it, each emptying of a unit&rsquo;s waste or recovery container is in it by itself, and the weekly checks are asked for here.</p>
          {may.set ? <BeginWaste log={w} again={again} /> : <p>A lead begins it.</p>}
        </>
      )}
      {w?.started_at && (
        <>
          <Cautions list={w.cautions} />
          <div class="filters noprint">
            <label class="beside">The month<input type="month" value={month.value} onInput={(e) => (month.value = e.currentTarget.value)} /></label>
            {month.value && <button class="plain" onClick={() => (month.value = "")}>All of it</button>}
            <a class="button" href={`/api/v1/waste.pdf${query}`}>For the inspector (PDF)</a>
            <a class="button" href={`/api/v1/waste.csv${query}`} download>As a table (CSV)</a>
          </div>
          <Gaps w={w} />
          {may.enter && <CheckForm again={again} />}
          <Lines w={w} again={again} />
          {may.enter && <LineForm again={again} />}
          <Months w={w} />
          <Classes w={w} />
          {may.set && <details><summary>What collects what, and the lab&rsquo;s address</summary><BeginWaste log={w} again={again} /></details>}
        </>
      )}
    </section>
  );
}

function Cautions({ list }: { list: readonly string[] }): JSX.Element {
  return <ul class="caution" aria-label="Cautions">{list.map((c) => <li key={c}>{c}</li>)}</ul>;
}

function Gaps({ w }: { w: WasteLog }): JSX.Element {
  return (
    <Part title="Not written" note="What an inspector would ask about.">
      {w.gaps.length === 0 ? <p><Standing is="in" word="nothing is missing" /></p> : <ul class="lines">{w.gaps.map((g) => <li key={g.text}><Standing is="out" word={g.what === "check" ? "no check" : "incomplete"} /><span class="what">{g.text}</span></li>)}</ul>}
    </Part>
  );
}

function Lines({ w, again }: { w: WasteLog; again(): Promise<void> }): JSX.Element {
  const store = useStore();
  const now = store.now.peek();
  return (
    <Part title="The log" note="Newest first. A corrected line shows what stood there before.">
      {w.rows.length === 0 && <p>Nothing yet in this time.</p>}
      <ul class="lines wastelines">{w.rows.map((r) => <WasteLine key={r.id} r={r} now={now} again={again} />)}</ul>
    </Part>
  );
}

function Months({ w }: { w: WasteLog }): JSX.Element | null {
  if (w.months.length === 0) return null;
  return (
    <Part title="By month">
      <ul class="lines">{w.months.map((m) => <li key={m.month + m.stream}><b class="num">{m.month}</b><span>{streamWords(m.stream)}</span><span class="what">{monthWords(m, volumes.value)}</span></li>)}</ul>
    </Part>
  );
}

function Classes({ w }: { w: WasteLog }): JSX.Element {
  return (
    <Part title="Published classes" note={<b>{w.local_rules}</b>}>
      <p>{w.silver_rich_gal_a_day === null
        ? "Silver-rich solution a day: not known. The log is younger than 30 days, or a line lacks its liters."
        : `Silver-rich solution: ${w.silver_rich_gal_a_day} gal a day over the last 30 days.`}</p>
      <ul class="lines">{w.classes.map((c) => <li key={c.name}><b>{c.name}</b><span class="what">{c.says}. <span class="muted">{c.source}</span> <SourceKind of={c.standing} /></span></li>)}</ul>
    </Part>
  );
}
