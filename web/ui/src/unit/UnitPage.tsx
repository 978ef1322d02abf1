import type { JSX } from "preact";
import { useStore } from "../context";
import { Alerts } from "../board/Alerts";
import { LaneHead } from "../board/LaneHead";
import { Strip } from "../board/Strip";
import { Tanks } from "../board/Tanks";
import { EndTime } from "../board/EndTime";
import { FaultRow } from "../board/FaultRow";
import { FilmRow } from "../board/FilmRow";
import { AdviceRow } from "../board/AdviceRow";
import { runLink, subject } from "../route";
import { RunRow } from "../runs/RunRow";
import "../runs/runs.css";
import { Part, Waiting } from "../shared/parts";
import { useGet } from "../shared/useGet";
import type { Heard } from "../state/live";
import { laneKind } from "../state/order";
import type { RunList } from "../types";
import { containerCautions } from "../words/container";
import { processName } from "../words/steps";
import { BottlesPart } from "../chemistry/BottlesPart";
import { ChecksPart } from "./ChecksPart";
import { FilmPart } from "./FilmPart";
import { FiguresPart } from "./FiguresPart";
import { MeasuredForm } from "./MeasuredForm";
import { NamesForm } from "./NamesForm";
import { NotesPart } from "./NotesPart";
import { StandingPart } from "./StandingPart";
import { CapacityPart } from "./CapacityPart";
import { LevelsPart } from "./LevelsPart";
import { RefusedPart } from "./RefusedPart";
import { TracePart } from "./TracePart";
import { WillLast } from "./WillLast";
import "./unit.css";

/** One unit: what it does, what it measured, what it was looked after. */
export function UnitPage(): JSX.Element {
  const store = useStore();
  const id = subject.value;
  const heard = store.unit(id)?.value;
  store.order.value; // a unit that is heard for the first time appears
  if (!heard) return <NoUnit id={id} />;
  return <Shown key={id} heard={heard} />;
}

function NoUnit({ id }: { id: string }): JSX.Element {
  const store = useStore();
  const units = [...store.order.value].sort();
  return (
    <section class="list paper">
      <h1>{id ? `No unit ${id}` : "Units"}</h1>
      {!store.ready.value ? <p role="status">One moment…</p> : (
        <>
          {id && <p class="lead">No data was ever received from a unit of that name. A unit appears by itself with its first message.</p>}
          {/^[a-z0-9][a-z0-9-]{0,31}\/[a-z0-9][a-z0-9-]{0,31}$/.test(id) && <RefusedPart id={id} />}
          {units.length === 0 && !id && <p class="lead">No data received from any unit. <a href="#/set-up">How a unit connects</a></p>}
          <p class="doors">{units.map((u) => <a key={u} class="button" href={`#/unit/${u}`}>{store.nameOf(u)}</a>)}</p>
        </>
      )}
    </section>
  );
}

function Shown({ heard }: { heard: Heard }): JSX.Element {
  const store = useStore();
  const { unit } = heard;
  const alerts = store.alertsOf(unit.id).value;
  const run = unit.run;
  return (
    <section class="list paper unitpage">
      <h1 class="unseen">{unit.name || unit.id}</h1>
      <div class="lanes">
        <section class={`lane tall ${laneKind(unit, alerts, store.now.peek())}`} aria-label="Now" data-idle={run ? undefined : "yes"}>
          <div class="row"><LaneHead heard={heard} form="tall" asks={false} cleared={[]} /><EndTime heard={heard} /></div>
          {run && <div class="filmrow"><Strip heard={heard} form="tall" scale={1} /></div>}
          <FaultRow unit={unit} />
          {unit.outlook && <AdviceRow outlook={unit.outlook} />}
          {(unit.film ?? []).map((f) => <FilmRow key={f.run} film={f} />)}
          <Alerts unit={unit.id} list={alerts} advised={Boolean(unit.outlook)} />
        </section>
      </div>
      <FilmPart unit={unit} />
      {alerts.filter((a) => a.rule === "step-unknown" && a.state !== "closed").map((a) => (
        <Part key={a.id} title="Step names that are not on the sheet" note="Say once what they mean on this unit."><NamesForm alert={a} /></Part>
      ))}
      {run && run.phase === "in-bath" && store.mayAct && (
        <Part title="Measure the bath" note="Where the probe is in doubt, your thermometer counts. In the dark until the film is fixed; gloves."><MeasuredForm run={run.id} /></Part>
      )}
      <p class="doors">
        {store.mayAct && <a class="button" href={`#/load/${unit.id}`}>Load it</a>}
        {run && <a class="button" href={runLink(run.id)}>This run</a>}
        <a class="button" href="#/start">Start of day</a>
        <a class="button" href={`#/strips/${unit.id}`}>Control strips</a>
      </p>
      <TracePart unit={unit} />
      <LevelsPart unit={unit} />
      <Part title="Containers" note="Press one to enter that it was emptied, filled or swapped.">
        {unit.containers.length === 0 ? <p>The unit has named no container yet.</p> : <Tanks unit={unit} />}
        <WillLast unit={unit} />
        <CapacityPart unit={unit} />
        <ul class="cautions">{[...new Set(unit.containers.flatMap((c) => containerCautions(c.role)))].map((c) => <li key={c}>{c}</li>)}</ul>
      </Part>
      <RunsPart id={unit.id} stamp={run?.id ?? ""} />
      <NotesPart unit={unit} />
      <BottlesPart id={unit.id} />
      <ChecksPart unit={unit.id} />
      <FiguresPart unit={unit.id} />
      <RefusedPart id={unit.id} />
      <Part title="The unit itself">
        <dl class="facts">
          <div><dt>Known as</dt><dd>{unit.id}</dd></div>
          <div><dt>Model</dt><dd>{unit.model || "not told"}</dd></div>
          <div><dt>Firmware</dt><dd>{unit.firmware || "not told"}</dd></div>
          <div><dt>Processes</dt><dd>{(unit.processes ?? []).map(processName).join(", ") || "not told"}</dd></div>
        </dl>
        <StandingPart unit={unit} />
      </Part>
    </section>
  );
}

function RunsPart({ id, stamp }: { id: string; stamp: string }): JSX.Element {
  const store = useStore();
  const { got, again } = useGet<RunList>(`/runs?${new URLSearchParams({ unit: id, limit: "10" })}${stamp && ""}`);
  const rows = got.value.value?.runs ?? [];
  return (
    <Part title="Its runs" note="The last ten.">
      <Waiting got={got.value} again={again} what="The runs" />
      {got.value.value && rows.length === 0 && <p>It has made no run yet. A run appears here by itself when the unit begins it.</p>}
      {rows.length > 0 && <ul class="wide">{rows.map((r) => <RunRow key={r.id} run={r} now={store.now.value} />)}</ul>}
      {rows.length > 0 && <p><a href="#/runs">All runs</a></p>}
    </Part>
  );
}
