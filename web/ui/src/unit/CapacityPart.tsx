import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { Said } from "../shared/parts";
import { useMay, useSend } from "../shared/useSend";
import { volumes } from "../state/prefs";
import type { Unit } from "../types";
import { containerName } from "../words/container";
import { asLitres, inVolume, litres, volumeUnit } from "../words/measure";

/** How much each container holds; a lead puts right what the unit says of it. */
export function CapacityPart({ unit }: { unit: Unit }): JSX.Element {
  const may = useMay();
  return (
    <ul class="lines capacities">
      {unit.containers.map((c) => (
        <li key={c.name}>
          <span><b>{containerName(c)}</b> holds {litres(c.capacity_l, volumes.value)} when full</span>
          {may.set && <Change unit={unit.id} name={c.name} called={containerName(c)} litres={c.capacity_l} />}
        </li>
      ))}
    </ul>
  );
}

function Change({ unit, name, called, litres: now }: { unit: string; name: string; called: string; litres: number }): JSX.Element {
  const act = useSend();
  const open = useSignal(false);
  const typed = useSignal("");
  const path = `/units/${unit}/containers/${encodeURIComponent(name)}`;
  const set = (l: number, said: string): void => void act.send("PUT", path, { capacity_l: l }, said).then((r) => r && (open.value = false));
  const value = Number(typed.value.replace(",", "."));
  const ok = typed.value.trim() !== "" && value > 0;
  return (
    <>
      <button class="plain" aria-expanded={open.value} aria-label={`Change what ${called.toLowerCase()} holds`} onClick={() => { open.value = !open.value; typed.value = inVolume(now, volumes.value).toFixed(1); }}>Change</button>
      {open.value && (
        <form class="fields" onSubmit={(e) => { e.preventDefault(); if (ok) set(Number(asLitres(value, volumes.value).toFixed(3)), `${called}: entered. It counts from now on.`); }}>
          <label>It really holds, {volumeUnit(volumes.value)}<input required inputMode="decimal" value={typed.value} onInput={(e) => (typed.value = e.currentTarget.value)} /></label>
          <button class="solid" disabled={act.busy.value || !ok}>Enter it</button>
          <button type="button" class="plain" disabled={act.busy.value} onClick={() => set(0, `${called}: as the unit says.`)}>As the unit says</button>
        </form>
      )}
      <Said of={act} />
    </>
  );
}
