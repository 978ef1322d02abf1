import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { Part, Said, Waiting } from "../shared/parts";
import { useGet } from "../shared/useGet";
import { useMay, useSend } from "../shared/useSend";
import { boxFields, densitiesOf, density } from "../strips/strips";
import type { StripReference, StripSettings } from "../strips/types";
import { degrees } from "../state/prefs";
import { inCelsius, temperature } from "../words/measure";
import { processName } from "../words/steps";
import { dayOf } from "../words/day";
import { ms } from "../words/time";

/** What control strips are judged by: for which processes one is asked each day, boxes and their aims, own limits. */
export function StripsPart(): JSX.Element {
  const store = useStore();
  const { got, again } = useGet<StripSettings>("/strips/settings", 0);
  const act = useSend();
  const may = useMay();
  const settings = got.value.value;
  const processes = [...new Set([...store.order.value].flatMap((u) => store.unit(u)?.value.unit.processes ?? []))].sort();
  const save = async (s: StripSettings, said: string): Promise<void> => {
    if (await act.send("PUT", "/strips/settings", s, said)) await again();
  };
  return (
    <>
      <h2>Control strips</h2>
      <Waiting got={got.value} again={again} what="The settings of control strips" />
      {settings && (
        <>
          <Part title="Asked each day" note="Where a strip is asked, loading says STOP until one was read that day. Published practice: at least one each day, before customers' film.">
            {processes.map((p) => (
              <label key={p} class="tick">
                <input type="checkbox" disabled={!may.set || act.busy.value} checked={(settings.asked ?? []).includes(p)}
                  onChange={(e) => void save({ ...settings, asked: e.currentTarget.checked ? [...(settings.asked ?? []), p] : (settings.asked ?? []).filter((x) => x !== p) }, "Saved.")} />
                {processName(p)}
              </label>
            ))}
            {processes.length === 0 && <p>No unit has named its processes yet.</p>}
          </Part>
          <Part title="Boxes of strips" note="Aims are the densities of the box's reference strip, read on your own densitometer, and the correction factors printed with it. Store strips at −18 °C (0 °F) or lower; take out one at a time.">
            <ul class="lines wide">
              {(settings.references ?? []).map((r) => (
                <li key={r.process + r.code}>
                  <b>{processName(r.process)}, code {r.code}</b>
                  <span class="what muted">{r.box && `box ${r.box}, `}{r.stored_c != null && `stored at ${temperature(r.stored_c, degrees.value)}, `}{r.opened_at ? `opened ${dayOf(ms(r.opened_at) ?? 0)}, ` : ""}{Object.keys(r.densities).length} steps</span>
                  {r.used_up_at && <span class="muted">used up {dayOf(ms(r.used_up_at) ?? 0)}</span>}
                  {may.set && !r.used_up_at && <button class="plain" disabled={act.busy.value} onClick={() => void save({ ...settings, references: (settings.references ?? []).map((x) => (x === r ? { ...r, used_up_at: new Date().toISOString() } : x)) }, `Code ${r.code} is used up.`)}>Used up</button>}
                  {may.set && <button class="plain" disabled={act.busy.value} onClick={() => void save({ ...settings, references: (settings.references ?? []).filter((x) => x !== r) }, `Code ${r.code} removed.`)}>Remove</button>}
                </li>
              ))}
            </ul>
            {(settings.references ?? []).length === 0 && <p>None yet: strips are judged by what the first ones set.</p>}
            {may.set && <BoxForm processes={processes} busy={act.busy.value} add={(r) => save({ ...settings, references: [...(settings.references ?? []).filter((x) => x.process !== r.process || x.code !== r.code), r] }, `Code ${r.code} saved.`)} />}
          </Part>
          <Part title="Own limits and aims" note="In place of the published ones. Reports say when the lab's own were used.">
            <ul class="lines wide">
              {(settings.limits ?? []).map((l) => (
                <li key={l.process + (l.unit ?? "") + l.plot}>
                  <b>{processName(l.process)}, {l.plot}</b><span class="what">action ±{l.action}, control ±{l.control}: {l.reason}{l.unit ? `, ${store.nameOf(l.unit)} only` : ""}</span>
                  {may.set && <button class="plain" disabled={act.busy.value} onClick={() => void save({ ...settings, limits: (settings.limits ?? []).filter((x) => x !== l) }, "Removed.")}>Remove</button>}
                </li>
              ))}
              {(settings.aims ?? []).map((a) => (
                <li key={a.process + a.unit + a.plot}>
                  <b>{processName(a.process)}, {a.plot}, {store.nameOf(a.unit)}</b><span class="what">aim {a.aim}, spread {a.sigma}, from {a.strips} strips{a.by ? `, taken over by ${a.by}` : ""}</span>
                  {may.set && <button class="plain" disabled={act.busy.value} onClick={() => void save({ ...settings, aims: (settings.aims ?? []).filter((x) => x !== a) }, "Removed.")}>Remove</button>}
                </li>
              ))}
            </ul>
            {may.set && <LimitForm processes={processes} busy={act.busy.value} add={(l) => save({ ...settings, limits: [...(settings.limits ?? []), l] }, "Saved.")} />}
          </Part>
          <Said of={act} />
        </>
      )}
    </>
  );
}

function BoxForm({ processes, busy, add }: { processes: readonly string[]; busy: boolean; add(r: StripReference): Promise<void> }): JSX.Element {
  const process = useSignal(processes[0] ?? "c41");
  const code = useSignal("");
  const box = useSignal("");
  const typed = useSignal<string[]>([]);
  const fixes = useSignal<string[]>([]);
  const cold = useSignal("");
  const fields = boxFields(process.value);
  const put = (list: typeof typed, i: number, v: string): void => {
    const next = [...list.value];
    next[i] = v;
    list.value = next;
  };
  const stored = cold.value.trim() === "" ? null : Number(cold.value.trim().replace("−", "-").replace(",", "."));
  const storedC = stored === null ? null : inCelsius(stored, degrees.value);
  const bad = [...typed.value, ...fixes.value].some((t) => (t ?? "").trim() !== "" && density(t) === null) || Number.isNaN(stored ?? 0);
  const send = async (): Promise<void> => {
    const densities = densitiesOf(fields, typed.value);
    if (!densities || code.value.trim() === "") return;
    const corrections = densitiesOf(fields, fixes.value);
    await add({ process: process.value, code: code.value.trim(), densities, ...(corrections && { corrections }), ...(box.value.trim() && { box: box.value.trim() }), ...(storedC !== null && { stored_c: storedC }), opened_at: new Date().toISOString() });
    typed.value = [];
    fixes.value = [];
    code.value = "";
  };
  return (
    <details>
      <summary>Add a box</summary>
      <form class="stack" onSubmit={(e) => { e.preventDefault(); void send(); }}>
        <div class="fields">
          <label>Process<select value={process.value} onChange={(e) => (process.value = e.currentTarget.value)}>{processes.map((p) => <option key={p} value={p}>{processName(p)}</option>)}</select></label>
          <label>Code number<input required maxLength={64} value={code.value} onInput={(e) => (code.value = e.currentTarget.value)} /></label>
          <label>Batch of the box<input maxLength={64} value={box.value} onInput={(e) => (box.value = e.currentTarget.value)} /></label>
          <label>Stored at, °{degrees.value}<input inputMode="text" size={6} value={cold.value} onInput={(e) => (cold.value = e.currentTarget.value)} /></label>
        </div>
        <table>
          <thead><tr><th scope="col" class="words">Step</th><th scope="col">Reference strip</th><th scope="col">Correction factor</th></tr></thead>
          <tbody>
            {fields.map((f, i) => (
              <tr key={f.step + f.color}>
                <th scope="row">{f.label}</th>
                <td><input aria-label={`${f.label}, reference`} inputMode="decimal" size={6} value={typed.value[i] ?? ""} onInput={(e) => put(typed, i, e.currentTarget.value)} /></td>
                <td><input aria-label={`${f.label}, correction`} inputMode="decimal" size={6} value={fixes.value[i] ?? ""} onInput={(e) => put(fixes, i, e.currentTarget.value)} /></td>
              </tr>
            ))}
          </tbody>
        </table>
        {bad && <p class="trouble" role="alert">Densities are numbers such as 0.44, a temperature such as −18.</p>}
        <button class="solid" disabled={busy || bad || code.value.trim() === ""}>Save the box</button>
      </form>
    </details>
  );
}

type Limit = NonNullable<StripSettings["limits"]>[number];

function LimitForm({ processes, busy, add }: { processes: readonly string[]; busy: boolean; add(l: Limit): Promise<void> }): JSX.Element {
  const l = useSignal({ process: processes[0] ?? "c41", plot: "", action: "", control: "", reason: "" });
  const set = (part: Partial<typeof l.value>): void => { l.value = { ...l.value, ...part }; };
  const action = density(l.value.action);
  const control = density(l.value.control);
  const ready = l.value.plot.trim() !== "" && action !== null && control !== null && control >= action && l.value.reason.trim() !== "";
  return (
    <details>
      <summary>Add a limit of your own</summary>
      <form class="fields" onSubmit={(e) => { e.preventDefault(); if (ready) void add({ process: l.value.process, plot: l.value.plot.trim(), action, control, reason: l.value.reason.trim() }); }}>
        <label>Process<select value={l.value.process} onChange={(e) => set({ process: e.currentTarget.value })}>{processes.map((p) => <option key={p} value={p}>{processName(p)}</option>)}</select></label>
        <label>Figure, such as ld.r<input value={l.value.plot} maxLength={32} onInput={(e) => set({ plot: e.currentTarget.value })} /></label>
        <label>Action ±<input inputMode="decimal" size={5} value={l.value.action} onInput={(e) => set({ action: e.currentTarget.value })} /></label>
        <label>Control ±<input inputMode="decimal" size={5} value={l.value.control} onInput={(e) => set({ control: e.currentTarget.value })} /></label>
        <label class="grow">Why it is not the published one<input maxLength={1000} value={l.value.reason} onInput={(e) => set({ reason: e.currentTarget.value })} /></label>
        <button class="plain" disabled={busy || !ready}>Save the limit</button>
      </form>
    </details>
  );
}
