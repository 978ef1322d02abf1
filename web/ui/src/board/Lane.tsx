import type { JSX } from "preact";
import { useComputed } from "@preact/signals";
import { useStore } from "../context";
import { freshness } from "../state/fresh";
import { laneKind } from "../state/order";
import type { Heard } from "../state/live";
import { gateLine, gateOf } from "../strips/gates";
import { processName, pushName } from "../words/steps";
import { age } from "../words/time";
import { AdviceRow } from "./AdviceRow";
import { laneLine } from "../words/nextloads";
import { narrow } from "../state/prefs";
import type { Alert } from "../types";
import { Alerts, sortOut } from "./Alerts";
import { Cleared } from "./Cleared";
import { EndTime } from "./EndTime";
import { FaultRow } from "./FaultRow";
import { FilmRow } from "./FilmRow";
import { LaneHead } from "./LaneHead";
import { NewUnit } from "./NewUnit";
import { useProposal } from "./nextload";
import { LaneClock, useSight } from "./sight";
import { Strip } from "./Strip";
import { Tanks } from "./Tanks";
import type { Form } from "./wall";

/** One unit: its run in time, its words, its tanks, its alerts. */
export function Lane({ id, form, scale }: { id: string; form: Form; scale: number }): JSX.Element | null {
  const store = useStore();
  const sight = useSight(id);
  const heard = sight.heard.value;
  const alerts = store.alertsOf(id).value;
  // Looked at once a second, drawn again only when it has changed.
  const old = useComputed(() => {
    const unit = store.unit(id)?.value.unit;
    if (!unit) return "live|";
    const f = freshness(unit, store.now.value);
    return f.link === "live" || f.linkAge === null ? `${f.link}|` : `${f.link}|${age(f.linkAge)}`;
  });
  if (!heard) return null;
  const { unit } = heard;
  const [link = "live", ago = ""] = old.value.split("|");
  const kind = laneKind(unit, alerts, store.now.peek());
  const outlook = unit.outlook ?? null;
  const now = store.now.peek();
  const { large, cleared } = sortOut(alerts, now);
  const brief = form === "slim" && !narrow.value;
  // A lane that wants a hand and has no alert that says so is marked all the same.
  const asks = large.length === 0 && !outlook && (unit.film ?? []).length === 0;
  return (
    <section
      ref={sight.ref}
      class={`lane ${kind} ${link} ${form}`}
      data-unit={id}
      aria-label={unit.name || id}
      data-idle={unit.run ? undefined : "yes"}
    >
      <div class="in">
        <div class="row">
          <LaneClock.Provider value={sight.clock}>
            <LaneHead heard={heard} form={form} asks={asks} cleared={brief ? cleared : []} />
            {unit.run ? <Strip heard={heard} form={form} scale={scale} /> : <Loaded heard={heard} slim={brief} cleared={brief ? cleared : []} />}
          </LaneClock.Provider>
          <EndTime heard={heard} />
          <Tanks unit={unit} slim={form === "slim"} />
        </div>
        {(link === "late" || link === "stale") && unit.run && unit.link === "online" && (
          <p class={`heardago ${link}`}>{link === "late" ? "Nothing heard for" : "What you see is"} <b class="num">{ago}</b>{link === "stale" && " old"}</p>
        )}
        <FaultRow unit={unit} />
        {outlook && <AdviceRow outlook={outlook} />}
        {(unit.film ?? []).slice(0, 1).map((f) => <FilmRow key={f.run} film={f} />)}
        {unit.standing === "new" && <NewUnit unit={unit} />}
        <Alerts unit={id} list={alerts} slim={brief} advised={outlook !== null || (unit.film ?? []).length > 0} />
      </div>
    </section>
  );
}

/** An idle unit: what the next run carries, or could carry, what its control strips say of it, and where there is one line alone, what has cleared. */
function Loaded({ heard, slim, cleared }: { heard: Heard; slim: boolean; cleared: readonly Alert[] }): JSX.Element {
  const store = useStore();
  const proposal = useProposal();
  const id = heard.unit.id;
  const next = useComputed(() => laneLine(proposal.value, id, store.now.value, slim)).value;
  const load = heard.unit.load;
  const rolls = load?.rolls?.length ?? 0;
  const gate = gateOf(heard.unit);
  const line = gate ? gateLine(gate) : "";
  const what = load ? [processName(load.process), pushName(load.push)].filter(Boolean).join(" ") : "";
  const loaded = load && (rolls > 0 || load.process !== "");
  return (
    <div class="strip none">
      {loaded && <p>Loaded: <b>{rolls === 1 ? "1 roll" : `${rolls} rolls`}</b>{what && `, ${what}`}</p>}
      {line && <p>{line}</p>}
      {next && !loaded && !(slim && (line || cleared.length > 0)) && <p class="next">{next}</p>}
      {cleared.length > 0 && <Cleared unit={heard.unit.id} list={cleared} brief="press" />}
    </div>
  );
}
