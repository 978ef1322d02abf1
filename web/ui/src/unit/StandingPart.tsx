import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { Said } from "../shared/parts";
import { useMay, useSend } from "../shared/useSend";
import type { Unit, UnitStanding } from "../types";

const words: Record<UnitStanding, string> = {
  new: "New: heard, and not accepted yet.",
  accepted: "In use: watched, shown, and it pages.",
  "out-of-service": "Out of service: shown, and it pages nobody.",
  retired: "Retired: gone for good, left off the board. Its runs stay.",
};

const moves: [to: UnitStanding, label: string, from: UnitStanding[]][] = [
  ["accepted", "Accept it", ["new"]],
  ["accepted", "Put it back in service", ["out-of-service", "retired"]],
  ["out-of-service", "Take it out of service", ["accepted"]],
  ["retired", "Retire it for good", ["accepted", "out-of-service", "new"]],
];

/** What people call a unit, and whether it is used. Only a lead changes it. */
export function StandingPart({ unit }: { unit: Unit }): JSX.Element {
  const may = useMay();
  const act = useSend();
  const name = useSignal(unit.name);
  const sure = useSignal(false);
  const standing = unit.standing ?? "accepted";
  const move = (to: UnitStanding): void => {
    if (to === "retired" && !sure.value) {
      sure.value = true;
      return;
    }
    sure.value = false;
    void act.send("PATCH", `/units/${unit.id}`, { standing: to }, words[to]);
  };
  if (!may.set) return <p>{words[standing]}</p>;
  return (
    <div class="stack wide">
      <p>{words[standing]}</p>
      <form class="fields" onSubmit={(e) => { e.preventDefault(); void act.send("PATCH", `/units/${unit.id}`, { name: name.value.trim() }, `It is called ${name.value.trim()} now.`); }}>
        <label>Its name<input required maxLength={64} value={name.value} onInput={(e) => (name.value = e.currentTarget.value)} /></label>
        <button class="plain" disabled={act.busy.value || name.value.trim() === "" || name.value.trim() === unit.name}>Rename it</button>
      </form>
      <p class="doors">
        {moves.filter(([, , from]) => from.includes(standing)).map(([to, label]) => (
          <button key={label} class={to === "accepted" ? "solid" : "plain"} disabled={act.busy.value} onClick={() => move(to)}>{to === "retired" && sure.value ? "Really: retire it for good" : label}</button>
        ))}
        {sure.value && <button class="plain" onClick={() => (sure.value = false)}>No, keep it</button>}
      </p>
      <Said of={act} />
    </div>
  );
}
