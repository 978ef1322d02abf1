import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { runLink, subject } from "../route";
import { Part, Said, Standing, Waiting } from "../shared/parts";
import { useGet } from "../shared/useGet";
import { useMay, useSend } from "../shared/useSend";
import { processName } from "../words/steps";
import { moment, ms } from "../words/time";
import { ReadPad } from "./ReadPad";
import { StripChart } from "./StripChart";
import { FilePart } from "./FilePart";
import { MarksPart } from "./MarksPart";
import { monthName, monthOf, monthSpan } from "./marks";
import { MonthTable } from "./MonthTable";
import { SincePart } from "./SincePart";
import { gateWords, judgedBy, signed, stripWords } from "./strips";
import type { Chart, Gate, StripSettings } from "./types";
import "./strips.css";
import { said } from "../state/said";

const DAY = 86_400_000;

/** Control strips of one unit and process: the gate, the pad, the chart, what moved it. */
export function StripsPage(): JSX.Element {
  const store = useStore();
  const parts = subject.value.split("/");
  const unit = parts.length >= 2 ? parts.slice(0, 2).join("/") : "";
  const processes = store.unit(unit)?.value.unit.processes ?? [];
  const process = parts[2] ?? processes[0] ?? "";
  if (!unit || !process) return <Pick />;
  return <One key={`${unit}/${process}`} unit={unit} process={process} processes={processes} />;
}

function Pick(): JSX.Element {
  const store = useStore();
  const units = [...store.order.value].sort();
  return (
    <section class="list paper strips">
      <h1>Control strips</h1>
      <p class="lead">A strip of known exposure goes through with the chemistry. Its densities tell whether the process is where it was, before customers' film goes in.</p>
      {units.length === 0 && <p>{store.ready.value ? "No data received from any unit." : "One moment…"}</p>}
      <ul class="lines">
        {units.map((u) => (
          <li key={u}>
            <b>{store.nameOf(u)}</b>
            <span class="doors">{(store.unit(u)?.value.unit.processes ?? []).map((p) => <a key={p} class="button" href={`#/strips/${u}/${p}`}>{processName(p)}</a>)}</span>
          </li>
        ))}
      </ul>
      <p><a href="#/settings/strips">Boxes of strips, aims and limits</a></p>
    </section>
  );
}

function One({ unit, process, processes }: { unit: string; process: string; processes: readonly string[] }): JSX.Element {
  const store = useStore();
  const may = useMay();
  const mix = useSignal("");
  const days = useSignal(62);
  const month = useSignal("");
  const span = monthSpan(month.value);
  const from = span?.from ?? Math.floor(store.now.peek() / DAY) * DAY - days.value * DAY;
  const path = `/strips/chart?${new URLSearchParams({ unit, process, from: new Date(from).toISOString(), ...(span && { to: new Date(span.to).toISOString() }), ...(mix.value && { mix: mix.value }) })}`;
  const { got, again } = useGet<Chart>(path, 60_000);
  const chart = got.value.value;
  const shown = mix.value || (chart?.mixes?.[0] ?? "");
  return (
    <section class="list paper strips">
      <h1>Control strips: {store.nameOf(unit)}, {processName(process)}<span class="onpaper">, {span ? monthName(month.value) : `the last ${days.value} days`}{mix.value && `, mix ${mix.value}`}</span></h1>
      <p class="doors noprint">
        {processes.filter((p) => p !== process).map((p) => <a key={p} class="button" href={`#/strips/${unit}/${p}`}>{processName(p)}</a>)}
        <a class="button" href="#/strips">All units</a>
        <a class="button" href="#/settings/strips">Boxes, aims, limits</a>
      </p>
      <Waiting got={got.value} again={again} what="The strips" />
      {chart && (
        <>
          <GatePart gate={chart.gate} unit={unit} process={process} mix={shown} again={again} />
          {may.enter && <Part title="Read a strip" note="Density by density, in the order in which the densitometer reads." class="noprint"><ReadPad chart={chart} done={again} /></Part>}
          <Part title="Chart" note={<>Deviation from aim, in density. Figures and limits: {chart.source || "the lab's own"}.</>} class="chartpart">
            <div class="filters noprint">
              <fieldset>
                <legend class="unseen">Period</legend>
                {([[31, "A month"], [62, "Two months"], [366, "A year"]] as const).map(([d, words]) => <button key={d} class="plain" aria-pressed={!span && days.value === d} onClick={() => { days.value = d; month.value = ""; }}>{words}</button>)}
                <label class="beside">The month<input type="month" value={month.value} max={monthOf(store.now.peek())} onInput={(e) => (month.value = e.currentTarget.value)} /></label>
                <button class="plain" onClick={() => print()}>Print {span ? "the month\u2019s sheet" : "this"}</button>
              </fieldset>
              {chart.mixes.length > 1 && (
                <fieldset>
                  <legend class="unseen">Mix</legend>
                  <button class="plain" aria-pressed={mix.value === ""} onClick={() => (mix.value = "")}>All mixes</button>
                  {chart.mixes.filter((m) => m !== "").map((m) => <button key={m} class="plain" aria-pressed={mix.value === m} onClick={() => (mix.value = m)}>Mix {m}</button>)}
                </fieldset>
              )}
            </div>
            {chart.plots.length === 0 ? <p>No strip was read in this time.</p> : <StripChart chart={chart} now={store.now.peek()} />}
            {chart.false_rate.plots > 0 && <p class="tiny noprint">Only the action and control limits move the gate. With {chart.false_rate.plots} figures, all the rules together call falsely about once in {Math.round(chart.false_rate.rules)} strips of a process in control (simulated); look at their marks, and do not stop for them.</p>}
            <MonthTable chart={chart} />
          </Part>
          <MarksPart chart={chart} />
          <CausesPart chart={chart} />
          {chart.gate.out_since && <SincePart unit={unit} process={process} mix={shown} />}
          <StripList chart={chart} again={again} />
          <OfferPart chart={chart} again={again} />
          <FilePart unit={unit} process={process} again={again} mayEnter={may.enter} />
        </>
      )}
    </section>
  );
}

function GatePart({ gate, unit, process, mix, again }: { gate: Gate; unit: string; process: string; mix: string; again(): Promise<void> }): JSX.Element {
  const store = useStore();
  const may = useMay();
  const act = useSend();
  const reason = useSignal("");
  const [is, word] = gateWords[gate.gate];
  const now = store.now.peek();
  const open = async (): Promise<void> => {
    if (await act.send("POST", "/strips/gate/open", { unit, process, ...(mix && { mix }), reason: reason.value.trim() }, "Opened until the next strip is read.")) await again();
  };
  return (
    <Part title="Gate" note={mix ? `Mix ${mix}` : undefined}>
      <p class="gate" data-gate={gate.gate}><Standing is={is} word={word} /></p>
      {gate.reasons.map((r) => <p key={r}>{r}</p>)}
      <p class="muted">{gate.last_in_at ? `The last strip that was in was read ${moment(ms(gate.last_in_at) ?? now, now)}.` : "No strip was in yet."}</p>
      {may.set && gate.gate === "stop" && (
        <form class="fields noprint" onSubmit={(e) => { e.preventDefault(); void open(); }}>
          <label class="grow">Let film run all the same, because<input required maxLength={1000} value={reason.value} onInput={(e) => (reason.value = e.currentTarget.value)} /></label>
          <button class="plain" disabled={act.busy.value || reason.value.trim() === ""}>Open the gate</button>
          <Said of={act} />
        </form>
      )}
    </Part>
  );
}

function CausesPart({ chart }: { chart: Chart }): JSX.Element | null {
  const causes = chart.causes;
  if (causes.length === 0) return null;
  return (
    <Part title="Why did it move" class="noprint" note="What fits the last strip; what telemetry speaks for comes first.">
      {chart.explanation.text && <p><b>{said(chart.explanation.text)}</b></p>}
      <ul class="lines">
        {causes.map((c) => (
          <li key={c.text}>
            <Standing is={c.fits ? "out" : "none"} word={c.fits ? "telemetry speaks for it" : "not measured, or as usual"} />
            <span class="what"><b>{said(c.text)}.</b> {said(c.evidence)} <span class="tiny">Fits {c.plots.join(", ")}. {c.source}, {c.standing}.</span></span>
          </li>
        ))}
      </ul>
    </Part>
  );
}

function StripList({ chart, again }: { chart: Chart; again(): Promise<void> }): JSX.Element {
  const store = useStore();
  const may = useMay();
  const act = useSend();
  const now = store.now.peek();
  const rows = chart.strips;
  return (
    <Part title="Strips" note="Newest first." class="noprint">
      {rows.length === 0 && <p>None in this time.</p>}
      <ul class="lines wide">
        {rows.map((s) => {
          const off = s.plots.filter((p) => p.standing === "out" || p.standing === "action");
          return (
            <li key={s.id}>
              <time>{moment(ms(s.read_at) ?? now, now)}</time>
              <Standing is={stripWords[s.standing][0]} word={stripWords[s.standing][1]} />
              <span class="what">
                {off.map((p) => `${p.label} ${p.deviation === null ? "" : signed(p.deviation)}`).join(", ")}
                <span class="muted"> {s.mix && `mix ${s.mix}, `}{s.code && `code ${s.code}, `}read by {s.by}; by {judgedBy(s.plots)}{s.note && `. ${s.note}`}</span>
              </span>
              {s.run && <a href={runLink(s.run)}>its run</a>}
              {may.enter && <button class="plain noprint" disabled={act.busy.value} onClick={() => void act.send("DELETE", `/entries/${s.id}`, undefined, "Undone.").then((ok) => ok && again())}>Undo</button>}
            </li>
          );
        })}
      </ul>
      <Said of={act} />
    </Part>
  );
}

function OfferPart({ chart, again }: { chart: Chart; again(): Promise<void> }): JSX.Element | null {
  const store = useStore();
  const may = useMay();
  const act = useSend();
  const offer = chart.offer;
  if (offer.length === 0) return null;
  const takeOver = async (): Promise<void> => {
    const settings = await store.source.get<StripSettings>("/strips/settings");
    const stamp = new Date(store.now.peek()).toISOString();
    const aims = (settings.aims ?? []).filter((a) => !(a.unit === chart.unit && a.process === chart.process && offer.some((o) => o.plot === a.plot)));
    const body = { ...settings, aims: [...aims, ...offer.map((o) => ({ ...o, by: may.me, at: stamp }))] };
    if (await act.send("PUT", "/strips/settings", body, "Taken over. Strips read from now on are judged by them.")) await again();
  };
  return (
    <Part title="What the strips teach" class="noprint" note="Aims and spread of the last 20 strips that were not out.">
      <div class="scroll" tabIndex={0} role="region" aria-label="Aims that the strips have set">
        <table>
          <thead><tr><th scope="col" class="words">Figure</th><th scope="col">Aim</th><th scope="col">Spread of one strip</th><th scope="col">Strips</th></tr></thead>
          <tbody>{offer.map((o) => <tr key={o.plot}><th scope="row">{o.plot}</th><td>{o.aim.toFixed(3)}</td><td>{o.sigma.toFixed(3)}</td><td>{o.strips}</td></tr>)}</tbody>
        </table>
      </div>
      {may.set ? <button class="plain noprint" disabled={act.busy.value} onClick={() => void takeOver()}>Take these over as the lab's own aims</button> : <p class="muted">A lead can take them over.</p>}
      <Said of={act} />
    </Part>
  );
}
