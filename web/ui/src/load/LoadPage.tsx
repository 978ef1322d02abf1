import type { JSX } from "preact";
import { useStore } from "../context";
import { subject } from "../route";
import { doing } from "../words/doing";
import { unitOf } from "./loading";
import { readWant, twinCheck } from "./rolls";
import { LoadUnit } from "./LoadUnit";
import { NextLoads } from "./NextLoads";
import { ScanField } from "./ScanField";
import "./load.css";

/** What the next run of a unit will carry: the unit, its rolls, and GO or STOP. */
export function LoadPage(): JSX.Element {
  const store = useStore();
  const unit = subject.value;
  if (unit && store.unit(unit)) return <LoadUnit key={unit} unit={unit} />;
  const units = [...store.order.value].sort().map((id) => ({ id, name: store.nameOf(id) }));
  const go = (id: string): void => {
    location.hash = `#/load/${id}`;
  };
  return (
    <section class="list load">
      <h1>Load a unit</h1>
      <DarkWarning />
      {unit && store.ready.value && <p class="trouble" role="alert">There is no unit {unit}. Choose one:</p>}
      <ScanField
        label="Scan the unit's label" hint="Its name or its id. Or press it below." focus
        onScan={(code) => {
          const id = unitOf(code, units);
          if (id) {
            go(id);
            return { ok: true, title: store.nameOf(id), words: "Scan its rolls now." };
          }
          if (twinCheck(code) || readWant(code)) return { ok: false, words: `No unit is called ${code}. A roll or a card counts once the unit is known: scan the unit's label, or press the unit below, then scan this again.` };
          return { ok: false, words: `no unit is called ${code}. Scan the label on the unit, or press the unit below.` };
        }}
      />
      {store.ready.value && units.length === 0 && (
        <p class="empty">No data received from any unit. When one sends its first message, accept it on the <a href="#/board">board</a>; then it can be loaded here.</p>
      )}
      <ul class="unitpick">
        {units.map((u) => <li key={u.id}><UnitButton id={u.id} go={() => go(u.id)} /></li>)}
      </ul>
      <NextLoads />
    </section>
  );
}

function UnitButton({ id, go }: { id: string; go(): void }): JSX.Element | null {
  const store = useStore();
  const heard = store.unit(id)?.value;
  if (!heard) return null;
  const d = doing(heard.unit, store.seen.value, heard.heardAt);
  const loaded = heard.unit.load && !heard.unit.run ? heard.unit.load.rolls.length : 0;
  return (
    <button onClick={go}>
      <b>{store.nameOf(id)}</b>
      <span>{d.lead} {d.time} {d.tail}</span>
      {loaded > 0 && <span class="loadedtag">{loaded === 1 ? "1 roll loaded" : `${loaded} rolls loaded`}</span>}
    </button>
  );
}

/** Light fogs film: no live screen where it lies open. */
export function DarkWarning(): JSX.Element {
  return <p class="darkwarning"><b>Not in the loading room.</b> A screen fogs open film. Load reels in the dark, lids on, then scan here.</p>;
}
