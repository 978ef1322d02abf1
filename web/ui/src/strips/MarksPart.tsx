import type { JSX } from "preact";
import { useStore } from "../context";
import { Part } from "../shared/parts";
import { moment, ms } from "../words/time";
import { signalMarks } from "./strips";
import { marksOf } from "./marks";
import type { Chart } from "./types";

/** What the last strip's marks say, and what to do about each: a chart shows a letter, a hand cannot hover. */
export function MarksPart({ chart }: { chart: Chart }): JSX.Element | null {
  const store = useStore();
  const last = chart.strips?.[0];
  if (!last) return null;
  const marks = marksOf(chart, last.id);
  const now = store.now.peek();
  return (
    <Part title="Marks of the last strip" class="noprint" note={<>Read {moment(ms(last.read_at) ?? now, now)}. Only C and A move the gate.</>}>
      {marks.length === 0 ? <p>None: no limit passed, no run, no drift.</p> : (
        <ul class="lines wide marks">
          {marks.map((m) => (
            <li key={m.signal}>
              <b class="num letter" aria-hidden="true">{signalMarks[m.signal]?.[0] ?? "?"}</b>
              <span class="what"><b>{capital(signalMarks[m.signal]?.[1] ?? m.signal)}: {m.labels.join(", ")}.</b> {m.do} <span class="tiny">{m.detail}</span></span>
            </li>
          ))}
        </ul>
      )}
    </Part>
  );
}

const capital = (s: string): string => s.charAt(0).toUpperCase() + s.slice(1);
