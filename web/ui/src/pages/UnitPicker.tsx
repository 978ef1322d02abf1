import type { Signal } from "@preact/signals";
import type { JSX } from "preact";
import { useStore } from "../context";

/** Chooses one unit, or all. */
export function UnitPicker({ unit }: { unit: Signal<string> }): JSX.Element {
  const store = useStore();
  const ids = [...store.order.value].sort();
  return (
    <label class="pick">
      Unit
      <select value={unit.value} onChange={(e) => (unit.value = e.currentTarget.value)}>
        <option value="">all</option>
        {ids.map((id) => <option key={id} value={id}>{store.nameOf(id)}</option>)}
      </select>
    </label>
  );
}
