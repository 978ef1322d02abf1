import type { JSX } from "preact";
import { useSignal, type Signal } from "@preact/signals";
import { Said } from "../shared/parts";
import { useSend } from "../shared/useSend";
import { days, dayLong, stepsWords } from "../words/duty";
import { DaysField, HoursLine } from "./HoursLine";
import { cleaned, freshHours, freshQuiet, planTrouble, replaced, without } from "./plan";
import type { DutyNow, Plan } from "./types";
import { Unreachable } from "./Unreachable";
import type { DutyStep } from "../types";

interface Props {
  d: DutyNow;
  again(): Promise<void>;
  close(): void;
}

/** Changes the plan. What somebody else changed meanwhile is never written over unseen. */
export function PlanEditor({ d, again, close }: Props): JSX.Element {
  const plan = useSignal<Plan>(structuredClone(d.plan));
  const version = useSignal(d.version);
  const wrong = useSignal("");
  const act = useSend();
  const people = d.people.map((p) => p.name);
  const set = (change: Partial<Plan>): void => void (plan.value = { ...plan.value, ...change });
  const save = async (e?: Event): Promise<void> => {
    e?.preventDefault();
    const next = cleaned(plan.value);
    wrong.value = planTrouble(next);
    if (wrong.value) return;
    if (await act.send("PUT", "/duty", { version: version.value, plan: next })) {
      await again();
      close();
    } else if (act.status.value === 409) await again();
  };
  const p = plan.value;
  const clash = act.status.value === 409;
  return (
    <form class="planedit stack" onSubmit={(e) => void save(e)}>
      <fieldset>
        <legend>Who is on, and when</legend>
        {p.hours.map((h, i) => (
          <HoursLine key={i} n={i + 1} hours={h} people={people} onChange={(x) => set({ hours: replaced(p.hours, i, x) })} onRemove={() => set({ hours: without(p.hours, i) })} />
        ))}
        {p.hours.length === 0 && <p>Nobody is on at any hour yet.</p>}
        <Unreachable of={p.hours.flatMap((h) => h.people)} people={d.people} />
        <button type="button" class="plain" onClick={() => set({ hours: [...p.hours, freshHours(people)] })}>Add hours</button>
      </fieldset>
      <Steps title="Urgent alerts" steps={p.urgent} repeat={p.repeat_urgent_s} people={people} onChange={(urgent, repeat_urgent_s) => set({ urgent, repeat_urgent_s })} />
      <Steps title="High alerts" steps={p.high} repeat={p.repeat_high_s} people={people} onChange={(high, repeat_high_s) => set({ high, repeat_high_s })} />
      <fieldset>
        <legend>Quiet hours, for high alerts only</legend>
        {p.quiet.map((q, i) => (
          <div class="hoursline" key={i}>
            <DaysField of={`quiet hours ${i + 1}`} value={q.days} onChange={(v) => set({ quiet: replaced(p.quiet, i, { ...q, days: v }) })} />
            <div class="fields">
              <label>From<input value={q.from} inputMode="numeric" size={6} onInput={(e) => set({ quiet: replaced(p.quiet, i, { ...q, from: e.currentTarget.value }) })} /></label>
              <label>To<input value={q.to} inputMode="numeric" size={6} onInput={(e) => set({ quiet: replaced(p.quiet, i, { ...q, to: e.currentTarget.value }) })} /></label>
              <button type="button" class="plain" onClick={() => set({ quiet: without(p.quiet, i) })}>Remove</button>
            </div>
          </div>
        ))}
        <button type="button" class="plain" onClick={() => set({ quiet: [...p.quiet, structuredClone(freshQuiet)] })}>Add quiet hours</button>
      </fieldset>
      <Rest plan={plan} />
      {wrong.value && <p class="trouble" role="alert">{wrong.value}</p>}
      {clash ? <Clash d={d} mine={version} plan={plan} save={() => void save()} /> : <Said of={act} />}
      <p class="doors">
        <button class="solid" disabled={act.busy.value || clash}>Save the plan</button>
        <button type="button" class="plain" onClick={close}>Leave it as it was</button>
      </p>
    </form>
  );
}

/** Somebody else saved in between: shown, and the reader decides. */
function Clash({ d, mine, plan, save }: { d: DutyNow; mine: Signal<number>; plan: Signal<Plan>; save(): void }): JSX.Element {
  return (
    <div class="once" role="alert">
      <p><b>{d.changed_by || "Somebody"} changed the plan while you did.</b> Yours is not saved. Theirs has: {[...new Set(d.plan.hours.flatMap((h) => h.people))].join(", ") || "nobody on"}. {stepsWords(d.plan.urgent, d.plan.repeat_urgent_s)}</p>
      <p class="doors">
        <button type="button" class="plain" onClick={() => { plan.value = structuredClone(d.plan); mine.value = d.version; save(); }}>Keep theirs, drop mine</button>
        <button type="button" class="plain" onClick={() => { mine.value = d.version; save(); }}>Put mine in its place</button>
      </p>
    </div>
  );
}

interface StepsProps {
  title: string;
  steps: DutyStep[];
  repeat: number;
  people: string[];
  onChange(steps: DutyStep[], repeat: number): void;
}

function Steps({ title, steps, repeat, people, onChange }: StepsProps): JSX.Element {
  const set = (i: number, change: Partial<DutyStep>): void => onChange(replaced(steps, i, { ...(steps[i] as DutyStep), ...change }), repeat);
  return (
    <fieldset>
      <legend>{title}: whom to call, step by step</legend>
      {steps.map((s, i) => (
        <div class="fields step" key={i}>
          <label>{i === 0 ? "Seconds after it came" : "Seconds after the step before"}
            <input type="number" min="0" max="86400" value={s.after_s} onInput={(e) => set(i, { after_s: Number(e.currentTarget.value) })} />
          </label>
          <label>Step {i + 1} calls
            <select value={s.who} onChange={(e) => set(i, { who: e.currentTarget.value as DutyStep["who"] })}>
              <option value="first">the first on call</option>
              <option value="second">the second on call</option>
              <option value="everybody">everybody</option>
              <option value="named">one person</option>
            </select>
          </label>
          {s.who === "named" && (
            <label>Whom
              <select value={s.person ?? ""} onChange={(e) => set(i, { person: e.currentTarget.value })}>
                <option value="">choose</option>
                {people.map((x) => <option key={x} value={x}>{x}</option>)}
              </select>
            </label>
          )}
          {steps.length > 1 && <button type="button" class="plain" onClick={() => onChange(without(steps, i), repeat)}>Remove</button>}
        </div>
      ))}
      <div class="fields step">
        <label>Last step again every, seconds<input type="number" min="30" max="86400" value={repeat} onInput={(e) => onChange(steps, Number(e.currentTarget.value))} /></label>
        <button type="button" class="plain" onClick={() => onChange([...steps, { who: "everybody", after_s: 120 }], repeat)}>Add a step</button>
      </div>
      <p class="tiny">{stepsWords(steps, repeat)}</p>
    </fieldset>
  );
}

function Rest({ plan }: { plan: Signal<Plan> }): JSX.Element {
  const p = plan.value;
  const set = (change: Partial<Plan>): void => void (plan.value = { ...plan.value, ...change });
  const test = p.weekly_test;
  const setTest = (day: string, at: string): void => {
    const { weekly_test: _, ...rest } = plan.value;
    plan.value = day === "" ? rest : { ...rest, weekly_test: { day, at } };
  };
  return (
    <fieldset>
      <legend>And</legend>
      <div class="fields">
        <label>Time zone of the lab<input value={p.time_zone} placeholder="Europe/London" onInput={(e) => set({ time_zone: e.currentTarget.value })} /></label>
        <label>Weekly test of all contact methods
          <select value={test?.day ?? ""} onChange={(e) => setTest(e.currentTarget.value, test?.at ?? "10:00")}>
            <option value="">none</option>
            {days.map((x) => <option key={x} value={x}>{dayLong(x)}</option>)}
          </select>
        </label>
        {test && <label>at<input size={6} value={test.at} onInput={(e) => setTest(test.day, e.currentTarget.value)} /></label>}
        <label class="grow">Address at which a phone reaches the board<input type="url" value={p.address} placeholder="https://board.example" onInput={(e) => set({ address: e.currentTarget.value })} /></label>
      </div>
    </fieldset>
  );
}
