import type { JSX } from "preact";
import { useComputed } from "@preact/signals";
import { useStore } from "../context";
import type { Heard } from "../state/live";
import type { Unit } from "../types";
import { doing } from "../words/doing";
import { kindName, processName, pushName } from "../words/steps";
import { hourMinute, ms } from "../words/time";
import { BathNow } from "./BathNow";
import type { Form } from "./wall";
import { canWait, waitsWords } from "./waits";

/** Who it is, what it does, and whether it may be opened and may wait. */
export function LaneHead({ heard, form }: { heard: Heard; form: Form }): JSX.Element {
  const { unit } = heard;
  return (
    <header class="lane-head">
      <h2>{unit.name || unit.id.split("/")[1]}</h2>
      {form !== "slim" && <Process unit={unit} />}
      <DoingNow heard={heard} form={form} />
      {form !== "slim" && <BathNow heard={heard} />}
      <p class="tags">
        <LightTag unit={unit} form={form} />
        {form !== "slim" && <WaitsTag unit={unit} />}
        {unit.power.source === "battery" && (
          <span class="tag alarm">
            battery{unit.power.battery_pct === null ? "" : ` ${Math.round(unit.power.battery_pct)} %`}
          </span>
        )}
      </p>
    </header>
  );
}

function Process({ unit }: { unit: Unit }): JSX.Element {
  const run = unit.run;
  const push = run ? pushName(run.push) : "";
  const rolls = run ? (unit.load?.rolls?.length ?? 0) : 0;
  return (
    <p class="process">
      {unit.standing === "new" && <b>new</b>}
      {run && <span>{processName(run.process)}</span>}
      {push && <b>{push}</b>}
      {run && kindName(run.kind) && <span>{kindName(run.kind)}</span>}
      {rolls > 0 && <span>{rolls === 1 ? "1 roll" : `${rolls} rolls`}</span>}
      {unit.standing === "out-of-service" && <span>out of service</span>}
    </p>
  );
}

/** The one line that changes each second. */
function DoingNow({ heard, form }: { heard: Heard; form: Form }): JSX.Element {
  const store = useStore();
  const d = doing(heard.unit, store.seen.value, heard.heardAt, form !== "tall");
  return (
    <p class={`doing${d.needsHand ? " hand" : ""}`}>
      <span class="lead">{d.lead}</span> {d.time && <b class="num">{d.time}</b>}{" "}
      {d.tail && (form !== "slim" || d.tail !== "left") && <span class="tail">{d.tail}</span>}
    </p>
  );
}

/** May it be opened? The first question in trouble. */
function LightTag({ unit, form }: { unit: Unit; form: Form }): JSX.Element | null {
  const since = ms(unit.light.since);
  switch (unit.light.state) {
    case "dark":
      return <span class="tag dark" title="Film that light would spoil is in the tank">DARK</span>;
    case "safe":
      return (
        <span class="tag outline" title="The tank may be opened">
          {form === "slim" ? "SAFE" : <>LIGHT-SAFE{since === null ? "" : ` since ${hourMinute(since)}`}</>}
        </span>
      );
    default:
      return null;
  }
}

/** Can it wait here? The next one. It weighs more when there is trouble. */
function WaitsTag({ unit }: { unit: Unit }): JSX.Element | null {
  const store = useStore();
  const trouble = useComputed(() => (store.kinds.value.get(unit.id) ?? "calm") !== "calm");
  const w = canWait(unit);
  if (w === "unknown") return null;
  return <span class={`waits ${w}${trouble.value ? " asked" : ""}`}>{waitsWords[w]}</span>;
}
