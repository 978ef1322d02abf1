import type { JSX } from "preact";
import { dayLong, days, dayShort } from "../words/duty";
import { forward, without } from "./plan";
import type { Hours } from "./types";

interface Props {
  n: number;
  hours: Hours;
  people: string[];
  onChange(h: Hours): void;
  onRemove(): void;
}

/** One line of hours: its days, from and to, and who is on, the first called first. */
export function HoursLine({ n, hours: h, people, onChange, onRemove }: Props): JSX.Element {
  const left = people.filter((p) => !h.people.includes(p));
  return (
    <div class="hoursline">
      <DaysField of={`line ${n}`} value={h.days} onChange={(d) => onChange({ ...h, days: d })} />
      <div class="fields">
        <label>From<input value={h.from} size={6} inputMode="numeric" onInput={(e) => onChange({ ...h, from: e.currentTarget.value })} /></label>
        <label>To<input value={h.to} size={6} inputMode="numeric" onInput={(e) => onChange({ ...h, to: e.currentTarget.value })} /></label>
        <label>Add a person
          <select value="" onChange={(e) => e.currentTarget.value && onChange({ ...h, people: [...h.people, e.currentTarget.value] })}>
            <option value="">choose</option>
            {left.map((p) => <option key={p} value={p}>{p}</option>)}
          </select>
        </label>
        <button type="button" class="plain" onClick={onRemove}>Remove line {n}</button>
      </div>
      <ol class="onlist">
        {h.people.map((p, i) => (
          <li key={p}>
            <span><b class="num">{i + 1}</b> {p}</span>
            {i > 0 && <button type="button" class="plain" aria-label={`Call ${p} sooner`} onClick={() => onChange({ ...h, people: forward(h.people, i) })}>Sooner</button>}
            <button type="button" class="plain" aria-label={`Remove ${p} from line ${n}`} onClick={() => onChange({ ...h, people: without(h.people, i) })}>Remove</button>
          </li>
        ))}
      </ol>
    </div>
  );
}

/** Seven buttons for the days; what is pressed counts. */
export function DaysField({ of, value, onChange }: { of: string; value: string[]; onChange(d: string[]): void }): JSX.Element {
  return (
    <div class="daysfield" role="group" aria-label={`Days of ${of}`}>
      {days.map((d) => {
        const is = value.includes(d);
        return (
          <button key={d} type="button" class="plain" aria-pressed={is} aria-label={dayLong(d)} onClick={() => onChange(days.filter((x) => (x === d ? !is : value.includes(x))))}>
            {dayShort(d)}
          </button>
        );
      })}
    </div>
  );
}
