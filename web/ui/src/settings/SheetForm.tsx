import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { Part, Said } from "../shared/parts";
import { useSend } from "../shared/useSend";
import { readSpan } from "../unit/figures";
import { stepWords } from "../words/steps";
import { changeOf, fieldsOf, readChange, widened, writeChange, type StepFields } from "./sheets";
import { degrees } from "../state/prefs";
import { plainDegrees } from "../words/measure";
import type { SheetStep, SheetView } from "../types";

/** Changes the usual figures of one step, and shows the text that this makes before it is sent. */
export function SheetForm({ s, again }: { s: SheetView; again(): Promise<void> }): JSX.Element {
  const act = useSend();
  const steps = s.steps;
  const step = useSignal(steps[0]?.step ?? "");
  const x = steps.find((y) => y.step === step.value) ?? (steps[0] as SheetStep);
  const f = useSignal<StepFields>(fieldsOf(x, degrees.value));
  const why = useSignal("");
  const had = readChange(s.id, s.text);
  if (had === null) {
    return <Part title="Change a figure"><p>This lab's change was written by hand: change it in the text below.</p></Part>;
  }
  const made = changeOf(x, f.value, readSpan, degrees.value);
  const trouble = "trouble" in made ? made.trouble : "";
  const changed = "change" in made && Object.keys(made.change).length > 0;
  const wider = "change" in made && widened(x, made.change.limits_c);
  const reason = wider ? { why: why.value.trim() } : {};
  const text = "change" in made ? writeChange(s.id, { ...had, [x.step]: { ...had[x.step], ...made.change, ...reason } }) : "";
  const set = (k: keyof StepFields) => (e: { currentTarget: HTMLInputElement }): void => void (f.value = { ...f.value, [k]: e.currentTarget.value });
  const save = async (e: Event): Promise<void> => {
    e.preventDefault();
    if (changed && (await act.send("PUT", `/sheets/${s.id}`, { text }, "Saved. Runs that begin from now on are judged by it."))) await again();
  };
  return (
    <Part title="Change a figure" note="Runs that began before keep the figures they began with.">
      <form class="stack" onSubmit={(e) => void save(e)}>
        <div class="fields">
          <label>Step
            <select value={step.value} onChange={(e) => {
              step.value = e.currentTarget.value;
              f.value = fieldsOf(steps.find((y) => y.step === step.value) as SheetStep, degrees.value);
            }}>
              {steps.map((y) => <option key={y.step} value={y.step}>{stepWords(y.step, y.label).full}</option>)}
            </select>
          </label>
          <label>Time (m:ss)<input size={7} value={f.value.aim} disabled={x.time_from_unit} onInput={set("aim")} /></label>
          {x.least_s !== null && <label>At least (m:ss)<input size={7} value={f.value.least} onInput={set("least")} /></label>}
          <label>Aim, °{degrees.value}<input size={6} inputMode="decimal" value={f.value.c} onInput={set("c")} /></label>
          <label>From, °{degrees.value}<input size={6} inputMode="decimal" value={f.value.low} onInput={set("low")} /></label>
          <label>To, °{degrees.value}<input size={6} inputMode="decimal" value={f.value.high} onInput={set("high")} /></label>
        </div>
        {wider && (
          <label class="grow">Why wider than {plainDegrees(x.low_c, degrees.value)} to {plainDegrees(x.high_c, degrees.value)} °{degrees.value}?
            <input required maxLength={300} value={why.value} placeholder="such as: our control strips stay in control up to here" onInput={(e) => (why.value = e.currentTarget.value)} />
          </label>
        )}
        {wider && <p class="tiny">The limits are then the lab's own: reports say so, with your reason, and the publication is no longer cited for them.</p>}
        {trouble && <p class="trouble" role="alert">{trouble}</p>}
        {changed && <div><p class="tiny">This will be written:</p><pre class="yaml">{text}</pre></div>}
        <Said of={act} />
        <button class="solid" disabled={act.busy.value || !changed}>Save the change</button>
      </form>
    </Part>
  );
}
