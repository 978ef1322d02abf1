import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { subject } from "../route";
import { Part, Said, Waiting } from "../shared/parts";
import { SourceKind, standingOfFigure } from "../shared/SourceKind";
import { useGet } from "../shared/useGet";
import { useMay, useSend } from "../shared/useSend";
import { pushName, stepWords } from "../words/steps";
import { clockSpan, moment, ms } from "../words/time";
import { SheetForm } from "./SheetForm";
import { figureWords } from "./sheets";
import { degrees } from "../state/prefs";
import { said } from "../state/said";
import { difference, limits, plainDegrees } from "../words/measure";
import type { SheetList, SheetSource, SheetStep, SheetView } from "../types";

/** What each process should be, where each figure comes from, and what this lab changed. */
export function SheetsPart(): JSX.Element {
  const { got, again } = useGet<SheetList>("/sheets", 0);
  const list = got.value.value?.sheets ?? [];
  const picked = subject.value.split("/")[1] ?? "";
  const s = list.find((x) => x.id === picked) ?? list[0];
  return (
    <>
      <Waiting got={got.value} again={again} what="The sheets" />
      <div class="filters">
        {list.map((x) => <a key={x.id} class="button" aria-current={x.id === s?.id ? "true" : undefined} href={`#/settings/sheets/${x.id}`}>{x.name || x.id}{x.text && " *"}</a>)}
      </div>
      {list.some((x) => x.text) && <p class="tiny">* changed by this lab</p>}
      {s && <Sheet key={s.id} s={s} again={again} />}
    </>
  );
}

function Sheet({ s, again }: { s: SheetView; again(): Promise<void> }): JSX.Element {
  const may = useMay();
  return (
    <>
      <Part title={`${s.name || s.id}`} note={<>{s.what}{s.figures.map((f) => <span key={f.figure}>; {f.label} {said(f.value)} <SourceKind of={f.standing} /></span>)}</>} class="wholewidth">
        <div class="scroll" tabIndex={0} role="region" aria-label={`Figures of ${s.name}`}>
          <table class="sheetfigures">
            <thead><tr><th scope="col">Step</th><th scope="col">Time</th><th scope="col">At least</th><th scope="col">Aim</th><th scope="col">Limits</th><th scope="col" class="words">Push</th><th scope="col" class="words">Where from</th></tr></thead>
            <tbody>{s.steps.map((x) => <StepRow key={x.step} x={x} />)}</tbody>
          </table>
        </div>
        {s.sources.length > 0 && <ul class="tiny">{s.sources.map((x, i) => <li key={i}>{figureWords(x.figure)}: <From x={x} /></li>)}</ul>}
      </Part>
      {may.set && s.steps.length > 0 && <SheetForm key={s.text} s={s} again={again} />}
      {may.set && <TextPart key={`t${s.text}`} s={s} again={again} />}
      <HistoryPart s={s} />
    </>
  );
}

function StepRow({ x }: { x: SheetStep }): JSX.Element {
  const as = degrees.value;
  const time = x.time_from_unit ? "as the unit says" : x.aim_s === null ? "" : clockSpan(x.aim_s);
  const kind = (...names: string[]): string => standingOfFigure(x.figures, ...names);
  const push = x.push.filter((p) => p.push !== 0).map((p) => `${pushName(p.push)} ${p.time_s !== null ? clockSpan(p.time_s) : `×${p.times}`}`);
  return (
    <tr>
      <th scope="row">{stepWords(x.step, x.label).full}{x.optional && <span class="muted"> (optional)</span>}</th>
      <td>{time}<SourceKind of={kind("aim_s")} /></td>
      <td>{x.least_s === null ? "" : <>{clockSpan(x.least_s)}<SourceKind of={kind("least_s")} /></>}</td>
      <td>{x.aim_is_usual && <span class="muted">usually </span>}{plainDegrees(x.aim_c, as)} °{as}<SourceKind of={kind("aim_c")} /></td>
      <td>{limits(x.low_c, x.high_c, as)} °{as}<SourceKind of={kind("limits_c")} /></td>
      <td class="words">
        {push.length > 0 && <div>{push.join(", ")} <SourceKind of={kind("push_s", "push_factor")} /></div>}
        {x.per_10c && <div class="muted">×{x.per_10c.best} for {difference(10, as)} °{as} ({x.per_10c.low} to {x.per_10c.high}) <SourceKind of={kind("per_10c")} /></div>}
      </td>
      <td class="words">
        {x.note && <div><b>{said(x.note)}</b></div>}
        {x.sources.length === 0 ? <span class="muted">nothing named</span> : x.sources.map((f, i) => <div key={i}>{figureWords(f.figure)}: <From x={f} /></div>)}
      </td>
    </tr>
  );
}

/** A source, and how far it goes. */
export function From({ x }: { x: SheetSource }): JSX.Element {
  return <>{x.from} <SourceKind of={x.standing} /></>;
}

function TextPart({ s, again }: { s: SheetView; again(): Promise<void> }): JSX.Element {
  const act = useSend();
  const text = useSignal(s.text);
  const save = async (t: string): Promise<void> => {
    if (await act.send("PUT", `/sheets/${s.id}`, { text: t }, t === "" ? "Back to the built-in sheet." : "Saved. Runs that begin from now on are judged by it.")) await again();
  };
  return (
    <Part title="The change as text" note="Everything a sheet's file can say (YAML). It stands in place of the change before.">
      <details open={s.text !== ""}>
        <summary>{s.text === "" ? "Write it as text" : "This lab's change"}</summary>
        <form class="stack" onSubmit={(e) => { e.preventDefault(); void save(text.value); }}>
          <label class="grow">Text<textarea class="yaml" rows={Math.min(18, Math.max(6, text.value.split("\n").length + 1))} spellcheck={false} value={text.value} placeholder={`id: ${s.id}\nsteps:\n  - {id: developer, aim_s: 190}`} onInput={(e) => (text.value = e.currentTarget.value)} /></label>
          <Said of={act} />
          <p class="doors">
            <button class="solid" disabled={act.busy.value || text.value.trim() === "" || text.value === s.text}>Save this text</button>
            {s.text !== "" && <button type="button" class="plain" disabled={act.busy.value} onClick={() => void save("")}>Back to the built-in sheet</button>}
          </p>
        </form>
      </details>
    </Part>
  );
}

function HistoryPart({ s }: { s: SheetView }): JSX.Element {
  const now = useStore().now.value;
  const list = s.history;
  return (
    <Part title="Who changed it">
      {list.length === 0 && <p>Nobody: these are the built-in figures.</p>}
      <ol class="lines">
        {list.map((c, i) => (
          <li key={i}>
            <time class="num">{moment(ms(c.at) ?? now, now)}</time><b>{c.by}</b>
            {c.text === "" ? <span>went back to the built-in sheet</span> : <details><summary>what it said</summary><pre class="yaml">{c.text}</pre></details>}
          </li>
        ))}
      </ol>
    </Part>
  );
}
