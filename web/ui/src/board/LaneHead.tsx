import type { JSX } from "preact";
import { useComputed } from "@preact/signals";
import { useStore } from "../context";
import { unitLink } from "../route";
import { kiosk } from "../state/kiosk";
import type { Heard } from "../state/live";
import { narrow } from "../state/prefs";
import { gateOf, gateTag } from "../strips/gates";
import type { Alert, Unit } from "../types";
import { doing } from "../words/doing";
import { kindName, processName, pushName } from "../words/steps";
import { hourMinute, ms } from "../words/time";
import { BathNow } from "./BathNow";
import { useLaneClock } from "./sight";
import type { Form } from "./wall";
import { canWait, waitsWords } from "./waits";
import { said } from "../state/said";
import { Cleared } from "./Cleared";
import { Mark } from "./Mark";
import { rollsWords } from "./rollwords";

interface Props {
  heard: Heard;
  form: Form;
  /** No alert marks this lane: where it wants a hand it marks itself. */
  asks: boolean;
  /** What has cleared, where the lane has one line alone. */
  cleared: readonly Alert[];
}

/** Who it is, what it does, and whether it may be opened and may wait. */
export function LaneHead({ heard, form, asks, cleared }: Props): JSX.Element {
  const { unit } = heard;
  return (
    <header class="lane-head">
      <div class="first">
        <h2>{kiosk.value ? <Name unit={unit} /> : <a href={unitLink(unit.id)}><Name unit={unit} /></a>}</h2>
        <p class="tags">
          {unit.power.source === "battery" && (
            <span class="tag alarm">
              battery{unit.power.battery_pct === null || form === "slim" ? "" : ` ${Math.round(unit.power.battery_pct)} %`}
            </span>
          )}
          <GateTag unit={unit} form={form} />
          <LightTag unit={unit} form={form} />
          {form !== "slim" && <WaitsTag unit={unit} form={form} />}
          {unit.run && cleared.length > 0 && <Cleared unit={unit.id} list={cleared} brief="count" />}
        </p>
      </div>
      <div class="second">
        <DoingNow heard={heard} form={form} asks={asks} />
        {form !== "slim" && <Process unit={unit} form={form} />}
        {form !== "slim" && <BathNow heard={heard} />}
      </div>
    </header>
  );
}

const Name = ({ unit }: { unit: Unit }): JSX.Element => <>{unit.name || unit.id.split("/")[1]}</>;

function Process({ unit, form }: { unit: Unit; form: Form }): JSX.Element {
  const run = unit.run;
  const gate = run && form === "tall" ? gateOf(unit) : null;
  const push = run ? pushName(run.push) : "";
  const rolls = (run?.rolls ?? []).map((r) => r.twin_check);
  return (
    <p class="process">
      {unit.standing === "new" && <b>new</b>}
      {run && <span>{processName(run.process)}</span>}
      {push && <b>{push}</b>}
      {run && kindName(run.kind) && <span>{kindName(run.kind)}</span>}
      {gate && gate.gate !== "in" && gate.process === run?.process && <b data-gate={gate.gate}>{gateTag(gate, false)}</b>}
      {rolls.length > 0 && <span class="rolls">{rolls.length === 1 ? "roll" : `${rolls.length} rolls:`} <b class="num">{rollsWords(rolls)}</b></span>}
      {unit.standing === "out-of-service" && <span>out of service</span>}
    </p>
  );
}

/** The one line that changes each second. */
function DoingNow({ heard, form, asks }: { heard: Heard; form: Form; asks: boolean }): JSX.Element {
  const clock = useLaneClock();
  const d = doing(heard.unit, clock.value, heard.heardAt, !narrow.value);
  const rolls = form === "slim" && d.time ? (heard.unit.run?.rolls ?? []).length : 0;
  return (
    <p class={`doing${d.needsHand ? " hand" : ""}`}>
      {d.needsHand && asks && <Mark priority="high" hollow />}
      <span class="lead">{d.lead}</span> {d.time && <b class="num">{d.time}</b>}{" "}
      {d.tail && (form !== "slim" || !d.time) && <span class="tail">{d.tail}</span>}
      {rolls > 0 && <span class="tail">{rolls === 1 ? "1 roll" : `${rolls} rolls`}</span>}
    </p>
  );
}

/** May customers' film go in, by its control strips? Film that is in goes on: in a run its step needs the room. */
function GateTag({ unit, form }: { unit: Unit; form: Form }): JSX.Element | null {
  const g = unit.run ? null : gateOf(unit);
  if (!g || (g.gate === "in" && form === "slim")) return null;
  const look = { in: "waits", watch: "tag dashed", stop: "tag outline" }[g.gate];
  return <span class={look} title={said(g.text ?? "")} data-gate={g.gate}>{gateTag(g, form !== "slim" && (unit.processes?.length ?? 0) > 1)}</span>;
}

/** May it be opened? The first question in trouble. */
function LightTag({ unit, form }: { unit: Unit; form: Form }): JSX.Element | null {
  const since = ms(unit.light.since);
  switch (unit.light.state) {
    case "dark":
      return <span class="tag dark" title="Film that light would spoil is in the tank"><span>Keep closed</span> <span>(dark)</span></span>;
    case "safe":
      return (
        <span class="tag outline lid" title="What is in the tank is not spoiled by light">
          <span>Lid may be</span> <span>opened</span>{form === "slim" || since === null ? "" : ` since ${hourMinute(since)}`}
        </span>
      );
    default:
      return null;
  }
}

/** Can it wait here? The next one. It weighs more when there is trouble. */
function WaitsTag({ unit, form }: { unit: Unit; form: Form }): JSX.Element | null {
  const store = useStore();
  const trouble = useComputed(() => (store.kinds.value.get(unit.id) ?? "calm") !== "calm");
  const w = canWait(unit);
  if (w === "unknown") return null;
  const words = form === "tall" || narrow.value ? waitsWords[w] : waitsWords[w].replace(" here", "");
  return <span class={`waits ${w}${trouble.value ? " asked" : ""}`}>{words}</span>;
}
