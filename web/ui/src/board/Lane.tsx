import type { JSX } from "preact";
import { useStore } from "../context";
import { freshness } from "../state/fresh";
import { Alerts } from "./Alerts";
import { BathNow } from "./BathNow";
import { LaneHead } from "./LaneHead";
import { NewUnit } from "./NewUnit";
import { EndTime } from "./EndTime";
import { Strip } from "./Strip";
import { Tanks } from "./Tanks";

/** One unit: its run in time, its words, its tanks, its alerts. */
export function Lane({ id }: { id: string }): JSX.Element | null {
  const store = useStore();
  const heard = store.unit(id)?.value;
  const alerts = store.alertsOf(id).value;
  if (!heard) return null;
  const { unit } = heard;
  const worst = alerts.find((a) => a.state !== "acknowledged" && a.shelved_until === null)?.priority;
  const state = unit.link === "online" ? "" : freshness(unit, store.now.peek()).link;
  const kind = worst === "urgent" || worst === "high" ? worst : unit.activity === "waiting" ? "high" : "calm";
  return (
    <section
      class={`lane ${kind} ${state}`}
      data-unit={id}
      aria-label={unit.name || id}
      data-idle={unit.run ? undefined : "yes"}
    >
      <div class="row">
        <LaneHead heard={heard} />
        <Strip heard={heard} />
        <BathNow heard={heard} />
        <EndTime heard={heard} />
        <Tanks unit={unit} />
      </div>
      {unit.standing === "new" && <NewUnit unit={unit} />}
      <Alerts list={alerts} />
    </section>
  );
}
