import type { JSX } from "preact";
import { useStore } from "../context";
import type { Heard } from "../state/live";
import type { Unit } from "../types";
import { doing } from "../words/doing";
import { kindName, processName, pushName } from "../words/steps";
import { hourMinute, ms } from "../words/time";

/** Who it is, what it does, and whether it may be opened. */
export function LaneHead({ heard }: { heard: Heard }): JSX.Element {
  const { unit } = heard;
  const run = unit.run;
  const push = run ? pushName(run.push) : "";
  return (
    <header class="lane-head">
      <h2>{unit.name || unit.id.split("/")[1]}</h2>
      <p class="tags">
        <LightTag unit={unit} />
        {unit.power.source === "battery" && (
          <span class="tag alarm">
            on battery{unit.power.battery_pct === null ? "" : ` ${Math.round(unit.power.battery_pct)} %`}
          </span>
        )}
      </p>
      <div class="second">
        <DoingNow heard={heard} />
        <p class="process">
          {unit.standing === "new" && <b>new</b>}
          {run && <span>{processName(run.process)}</span>}
          {push && <b>{push}</b>}
          {run && kindName(run.kind) && <span>{kindName(run.kind)}</span>}
          {unit.standing === "out-of-service" && <span>out of service</span>}
        </p>
      </div>
    </header>
  );
}

/** The one line that changes each second. */
function DoingNow({ heard }: { heard: Heard }): JSX.Element {
  const d = doing(heard.unit, useStore().seen.value, heard.heardAt);
  return (
    <p class={`doing${d.needsHand ? " hand" : ""}`}>
      <span>{d.lead}</span> {d.time && <b class="num">{d.time}</b>} {d.tail && <span>{d.tail}</span>}
    </p>
  );
}

function LightTag({ unit }: { unit: Unit }): JSX.Element | null {
  const since = ms(unit.light.since);
  switch (unit.light.state) {
    case "dark":
      return <span class="tag dark" title="Film that light would spoil is in the tank">DARK</span>;
    case "safe":
      return (
        <span class="tag outline" title="The tank may be opened">
          LIGHT-SAFE{since === null ? "" : ` since ${hourMinute(since)}`}
        </span>
      );
    default:
      return null;
  }
}
