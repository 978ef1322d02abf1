import type { JSX } from "preact";
import { useStore } from "../context";
import { twinCheck } from "../load/rolls";
import { knownWords } from "../rolls/known";
import { useGet } from "../shared/useGet";
import type { RollPage } from "../types";

/** Of a roll that is looked for: where it is loaded and not run yet, and what is known of it. */
export function RollNow({ number }: { number: string }): JSX.Element | null {
  const store = useStore();
  const twin = twinCheck(number);
  const { got } = useGet<RollPage>(twin === null ? null : `/rolls/${encodeURIComponent(twin)}`);
  const p = got.value.value;
  const loaded = p?.loaded ?? [];
  const known = p?.known ? knownWords(p.known, store.now.peek()) : "";
  if (!p || loaded.length === 0 && !p.known) return null;
  return (
    <div class="rollnow" role="status">
      {loaded.map((l) => <p key={l.unit}><b>Roll {twin} is loaded in <a href={`#/load/${l.unit}`}>{store.nameOf(l.unit)}</a>, not started.</b></p>)}
      {loaded.length > 1 && <p><b>It can be in one only: look where it is.</b></p>}
      {loaded.length === 0 && p.runs.length === 0 && <p><b>Roll {twin} is known and waits:</b> no unit is loaded with it and no run had it.</p>}
      {p.known?.stop && <p class="trouble">Marked STOP: {p.known.stop}</p>}
      {known && <p>{known.charAt(0).toUpperCase() + known.slice(1)}. <a href="#/rolls">Rolls waiting</a></p>}
    </div>
  );
}
