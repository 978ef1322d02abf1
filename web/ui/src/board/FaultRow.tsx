import type { JSX } from "preact";
import { useStore } from "../context";
import type { Unit } from "../types";
import { faultWords } from "../words/fault";

/** That wetside itself cannot judge a unit: its quiet is no good sign. */
export function FaultRow({ unit }: { unit: Unit }): JSX.Element | null {
  const words = faultWords(unit, useStore().now.peek());
  if (!words) return null;
  return (
    <p class="ownfault" role="status">
      <svg viewBox="0 0 20 20" aria-hidden="true"><path d="M4 4 16 16M16 4 4 16" /></svg>
      <b>{words}</b>
      {!unit.fault?.judged && <span>Watch it by eye</span>}
    </p>
  );
}
