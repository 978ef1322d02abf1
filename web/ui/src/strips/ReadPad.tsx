import type { JSX } from "preact";
import { useRef } from "preact/hooks";
import { useSignal } from "@preact/signals";
import { Said } from "../shared/parts";
import { useSend } from "../shared/useSend";
import { Keypad } from "./Keypad";
import { densitiesOf, density, keyed, pasted, stripWords } from "./strips";
import type { Chart } from "./types";
import type { StripAnswer } from "../types";

/** Densities typed one after the other: Enter goes on to the next field; on the large keys the third digit does. */
export function ReadPad({ chart, done }: { chart: Chart; done(): Promise<void> }): JSX.Element {
  const fields = chart.fields;
  const typed = useSignal<string[]>([]);
  const last = chart.strips?.[0];
  const mix = useSignal(chart.mix ?? last?.mix ?? "");
  const code = useSignal(last?.code ?? "");
  const run = useSignal("");
  const form = useRef<HTMLFormElement>(null);
  const act = useSend();
  const heard = useSignal<StripAnswer | null>(null);
  const keys = useSignal(matchMedia("(pointer: coarse)").matches);
  const at = useSignal(0);
  const set = (i: number, v: string): void => {
    const next = [...typed.value];
    next[i] = v;
    typed.value = next;
  };
  const focus = (i: number): void => form.current?.querySelectorAll<HTMLInputElement>("input.density")[i]?.focus();
  const press = (key: string): void => {
    const i = at.value;
    const { value, full } = keyed(typed.value[i] ?? "", key);
    set(i, value);
    focus(full ? Math.min(fields.length - 1, i + 1) : i);
  };
  const take = (i: number, text: string): boolean => {
    const all = pasted(text);
    if (all.length < 2) return false;
    const next = [...typed.value];
    all.slice(0, fields.length - i).forEach((v, k) => (next[i + k] = v));
    typed.value = next;
    focus(Math.min(fields.length - 1, i + all.length));
    return true;
  };
  const send = async (): Promise<void> => {
    const densities = densitiesOf(fields, typed.value);
    if (!densities) {
      act.trouble.value = "Type at least one density, such as 0.44.";
      return;
    }
    const body = { unit: chart.unit, process: chart.process, densities, ...(mix.value.trim() && { mix: mix.value.trim() }), ...(code.value.trim() && { code: code.value.trim() }), ...(run.value.trim() && { run: run.value.trim() }) };
    const got = await act.send<StripAnswer>("POST", "/strips", body, "Saved.");
    if (!got) return;
    heard.value = got.value;
    typed.value = [];
    await done();
  };
  const bad = typed.value.findIndex((t) => (t ?? "").trim() !== "" && density(t) === null);
  return (
    <form class="stack pad" ref={form} onSubmit={(e) => { e.preventDefault(); void send(); }}>
      <div class="fields">
        <label>Mix<input maxLength={64} value={mix.value} onInput={(e) => (mix.value = e.currentTarget.value)} /></label>
        <label>Code number of the box<input maxLength={64} value={code.value} onInput={(e) => (code.value = e.currentTarget.value)} /></label>
        <label>Run it went through, if known<input maxLength={64} value={run.value} onInput={(e) => (run.value = e.currentTarget.value)} /></label>
      </div>
      <div class="padgrid">
        {fields.map((f, i) => (
          <label key={f.step + f.color}>{f.label}
            <input data-keys="own" class={`density num${keys.value && at.value === i ? " active" : ""}`} inputMode={keys.value ? "none" : "decimal"} onFocus={() => (at.value = i)} autocomplete="off" value={typed.value[i] ?? ""} aria-invalid={bad === i}
              onInput={(e) => set(i, e.currentTarget.value)}
              onPaste={(e) => { if (take(i, e.clipboardData?.getData("text") ?? "")) e.preventDefault(); }}
              onKeyDown={(e) => {
                if (e.key !== "Enter" || i === fields.length - 1) return;
                e.preventDefault();
                focus(i + 1);
              }} />
          </label>
        ))}
      </div>
      {keys.value && <Keypad press={press} label={fields[at.value]?.label ?? ""} typed={typed.value[at.value] ?? ""} />}
      {bad >= 0 && <p class="trouble" role="alert">{fields[bad]?.label} must be a density such as 0.44; got {typed.value[bad]}.</p>}
      <div class="fields">
        <button type="button" class="plain big" aria-pressed={keys.value} onClick={() => { keys.value = !keys.value; focus(at.value); }}>Large keys</button>
        <button class="solid big" disabled={act.busy.value || bad >= 0}>Save this strip</button>
        <Said of={act} />
      </div>
      {heard.value && (
        <div class="once" role="status">
          <p><b>The strip is {stripWords[heard.value.strip.standing][1]}.</b></p>
          {heard.value.gate.reasons.map((r) => <p key={r}>{r}</p>)}
          {heard.value.notes.map((n) => <p key={n} class="muted">{n}</p>)}
        </div>
      )}
      <p class="tiny">Hundredths may be typed without the point: 44 is 0.44. On the large keys three digits are a density: 0 4 4 is 0.44. A line from the densitometer can be pasted into the first field.</p>
    </form>
  );
}
