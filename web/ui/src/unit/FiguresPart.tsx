import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { Part, Said, Waiting } from "../shared/parts";
import { useGet } from "../shared/useGet";
import { useMay, useSend } from "../shared/useSend";
import { degrees, volumes } from "../state/prefs";
import { entryWords, offsetWords, stepNameWords, stepTimeWords } from "../words/entry";
import { processName, pushName, stepWords } from "../words/steps";
import { clockSpan, moment, ms } from "../words/time";
import { neverChecked, readSpan, steps } from "./figures";
import type { Figures } from "./types";
import { difference, inCelsius } from "../words/measure";
import type { SheetList, DeveloperList } from "../types";

/** What a unit's runs are judged by beside the sheet: its probe, house aims, developers. */
export function FiguresPart({ unit }: { unit: string }): JSX.Element {
  const may = useMay();
  const { got, again } = useGet<Figures>(`/units/${unit}/figures`, 60_000);
  const f = got.value.value;
  return (
    <Part title="What its runs are judged by" note="Beside the process sheet. It counts for runs that begin after it was set.">
      <Waiting got={got.value} again={again} what="The figures" />
      {f && <InForce f={f} />}
      {f && may.set && <Setting unit={unit} again={again} />}
      {f && f.history.length > 0 && (
        <details>
          <summary>Who set what, and when</summary>
          <ol class="lines">{f.history.map((e) => (
            <li key={e.id} class={e.taken_back ? "muted" : ""}>
              <When at={e.at} /><span>{entryWords(e.what, e.body, { degrees: degrees.value, volumes: volumes.value })}</span><span class="muted">{e.by}{e.taken_back && `, undone by ${e.taken_back.by}`}</span>
            </li>
          ))}</ol>
        </details>
      )}
    </Part>
  );
}

function When({ at }: { at: string }): JSX.Element {
  const now = useStore().now.value;
  return <time class="num">{moment(ms(at) ?? now, now)}</time>;
}

function InForce({ f }: { f: Figures }): JSX.Element {
  const p = f.probe;
  return (
    <ul class="lines">
      <li>
        <b>Probe</b>
        <span>{p ? `${offsetWords(p.offset_c, degrees.value)} is added to what it says${p.uncertainty_c ? `, good to ±${difference(p.uncertainty_c, degrees.value).toFixed(2)} °${degrees.value}` : ""}${p.reference ? `, by ${p.reference}` : ""}` : `never checked against a reference thermometer: taken as it reads, right to ±${neverChecked(f, degrees.value)}`}</span>
        {p && <span class="muted">{p.by}, <When at={p.at} /></span>}
      </li>
      {f.probe_kind && <li><b>Probe's class</b><span>{f.probe_kind.class}, IEC 60751</span><span class="muted">{f.probe_kind.by}, <When at={f.probe_kind.at} /></span></li>}
      {f.house_aims.map((a) => (
        <li key={a.id}><b>House aim</b><span>{processName(a.process)} {pushName(a.push)} {stepWords(a.step).full.toLowerCase()}: {clockSpan(a.equivalent_s)} at the sheet's temperature</span><span class="muted">{a.by}, <When at={a.at} /></span></li>
      ))}
      {f.developers.map((d) => (
        <li key={d.id}><b>Developer</b><span>{processName(d.process)} {stepWords(d.step).full.toLowerCase()}: {d.developer}</span><span class="muted">{d.by}, <When at={d.at} /></span></li>
      ))}
      {f.step_names.map((n) => (
        <li key={n.id}><b>Step name</b><span>{processName(n.process)}: {stepNameWords(n.name, n.step ?? "")}</span><span class="muted">{n.by}, <When at={n.at} /></span></li>
      ))}
      {f.step_time && <li><b>Counting</b><span>{stepTimeWords(f.step_time.with_fill, f.step_time.with_drain)}</span><span class="muted">{f.step_time.by}, <When at={f.step_time.at} /></span></li>}
      {f.house_aims.length + f.developers.length === 0 && <li>No house aim and no other developer: the sheet's own count.</li>}
    </ul>
  );
}

function Setting({ unit, again }: { unit: string; again(): Promise<void> }): JSX.Element {
  const what = useSignal<"" | "probe" | "kind" | "aim" | "developer" | "counting">("");
  const act = useSend();
  const send = async (body: unknown): Promise<void> => {
    if (await act.send("POST", `/units/${unit}/figures`, body, "Set. It counts from the next run on.")) {
      what.value = "";
      await again();
    }
  };
  const pick = (w: typeof what.value): void => void (what.value = what.value === w ? "" : w);
  return (
    <div class="stack wide">
      <p class="doors">
        <button class="plain" aria-expanded={what.value === "probe"} onClick={() => pick("probe")}>Enter a probe check</button>
        <button class="plain" aria-expanded={what.value === "kind"} onClick={() => pick("kind")}>Name the probe's class</button>
        <button class="plain" aria-expanded={what.value === "aim"} onClick={() => pick("aim")}>Set a house aim</button>
        <button class="plain" aria-expanded={what.value === "developer"} onClick={() => pick("developer")}>Choose a developer</button>
        <button class="plain" aria-expanded={what.value === "counting"} onClick={() => pick("counting")}>Say how it counts time</button>
      </p>
      {what.value === "probe" && <ProbeForm send={send} busy={act.busy.value} />}
      {what.value === "kind" && <ProbeKindForm send={send} busy={act.busy.value} />}
      {(what.value === "aim" || what.value === "developer") && <StepForm kind={what.value} send={send} busy={act.busy.value} />}
      {what.value === "counting" && <CountingForm send={send} busy={act.busy.value} />}
      <Said of={act} />
    </div>
  );
}

interface FormProps {
  send(body: unknown): Promise<void>;
  busy: boolean;
}

function ProbeForm({ send, busy }: FormProps): JSX.Element {
  const probe = useSignal("");
  const reference = useSignal("");
  const name = useSignal("");
  const as = degrees.value;
  const offset = inCelsius(Number(reference.value), as) - inCelsius(Number(probe.value), as);
  const whole = probe.value !== "" && reference.value !== "" && Number.isFinite(offset);
  return (
    <form class="fields" onSubmit={(e) => { e.preventDefault(); if (whole) void send({ probe: { offset_c: Number(offset.toFixed(3)), ...(name.value.trim() ? { reference: name.value.trim() } : {}) } }); }}>
      <label>The probe says, °{as}<input required inputMode="decimal" size={7} value={probe.value} onInput={(e) => (probe.value = e.currentTarget.value)} /></label>
      <label>The reference says, °{as}<input required inputMode="decimal" size={7} value={reference.value} onInput={(e) => (reference.value = e.currentTarget.value)} /></label>
      <label class="grow">Which thermometer<input maxLength={200} value={name.value} onInput={(e) => (name.value = e.currentTarget.value)} /></label>
      <button class="solid" disabled={busy || !whole}>{whole ? `Add ${offsetWords(offset, as)} from now on` : "Enter both"}</button>
    </form>
  );
}

/** Of what tolerance class the probe is: on its data sheet. */
function ProbeKindForm({ send, busy }: FormProps): JSX.Element {
  const kind = useSignal("B");
  return (
    <form class="fields" onSubmit={(e) => { e.preventDefault(); void send({ probe_kind: { class: kind.value } }); }}>
      <label>Its class by IEC 60751, on its data sheet
        <select value={kind.value} onChange={(e) => (kind.value = e.currentTarget.value)}>
          <option value="A">{degrees.value === "C" ? "A: ±(0.15 + 0.002 of the reading) °C" : "A: ±(0.27 + 0.002 of the reading above 32) °F"}</option>
          <option value="B">{degrees.value === "C" ? "B: ±(0.30 + 0.005 of the reading) °C" : "B: ±(0.54 + 0.005 of the reading above 32) °F"}</option>
          <option value="">not known: B is assumed</option>
        </select>
      </label>
      <button class="solid" disabled={busy}>Set it</button>
    </form>
  );
}

/** From where to where the unit counts the time that is set for a step. */
function CountingForm({ send, busy }: FormProps): JSX.Element {
  const fill = useSignal(false);
  const drain = useSignal(false);
  return (
    <form class="stack" onSubmit={(e) => { e.preventDefault(); void send({ step_time: { with_fill: fill.value, with_drain: drain.value } }); }}>
      <p>The time that is set on the unit for a step</p>
      <label class="tick"><input type="checkbox" checked={fill.value} onChange={() => (fill.value = !fill.value)} /><span>begins when the fill begins, not when it ends</span></label>
      <label class="tick"><input type="checkbox" checked={drain.value} onChange={() => (drain.value = !drain.value)} /><span>ends when the drain ends, not when it begins</span></label>
      <button class="solid" disabled={busy}>Set it</button>
    </form>
  );
}

function StepForm({ kind, send, busy }: FormProps & { kind: "aim" | "developer" }): JSX.Element {
  const { got, again } = useGet<SheetList>("/sheets", 0);
  const devs = useGet<DeveloperList>(kind === "developer" ? "/developers" : null, 0);
  const at = useSignal("");
  const push = useSignal("0");
  const time = useSignal("");
  const dev = useSignal("");
  if (!got.value.value) return <Waiting got={got.value} again={again} what="The sheets" />;
  const list = steps(got.value.value.sheets);
  const [process = "", step = ""] = (at.value || list[0]?.at || "").split(" ");
  const seconds = readSpan(time.value);
  const body = kind === "developer" ? { developer: { process, step, developer: dev.value } } : { house_aim: { process, step, push: Number(push.value), equivalent_s: seconds ?? 0 } };
  return (
    <form class="fields" onSubmit={(e) => { e.preventDefault(); void send(body); }}>
      <label>Of which bath
        <select value={at.value || list[0]?.at} onChange={(e) => (at.value = e.currentTarget.value)}>{list.map((s) => <option key={s.at} value={s.at}>{s.words}</option>)}</select>
      </label>
      {kind === "aim" && <label>Push, stops<input type="number" step="0.5" min="-6" max="6" value={push.value} onInput={(e) => (push.value = e.currentTarget.value)} /></label>}
      {kind === "aim" && <label>Your good runs get (m:ss; 0: as the sheet)<input required size={7} placeholder="3:11" value={time.value} onInput={(e) => (time.value = e.currentTarget.value)} /></label>}
      {kind === "developer" && (
        <label>In the bottle
          <select value={dev.value} onChange={(e) => (dev.value = e.currentTarget.value)}>
            <option value="">the sheet's own</option>
            {(devs.got.value.value?.developers ?? []).map((d) => <option key={d.id} value={d.id}>{[d.name, d.dilution, d.film].filter((x) => x).join(", ")}</option>)}
          </select>
        </label>
      )}
      <button class="solid" disabled={busy || (kind === "aim" && seconds === null)}>Set it</button>
    </form>
  );
}
