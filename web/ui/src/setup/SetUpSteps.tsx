import type { JSX } from "preact";
import { useEffect } from "preact/hooks";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { usePageTest } from "../duty/PageTestPart";
import type { DutyNow } from "../duty/types";
import { Waiting } from "../shared/parts";
import { useGet } from "../shared/useGet";
import { useMay } from "../shared/useSend";
import type { House, UnitList, WallLinkList } from "../types";
import { CalledStep } from "./CalledStep";
import { LabStep } from "./LabStep";
import { firstOpen, progress, recallSkips, rememberSkips, skipMeans, stepIds, stepName, type StepId } from "./progress";
import { UnitsStep } from "./UnitsStep";
import { WallStep } from "./WallStep";
import "./setup.css";

/** From nothing to a page that reaches a person, in five steps; it can be left and come back to. */
export function SetUpSteps(): JSX.Element {
  const may = useMay();
  if (!may.set) {
    return (
      <section class="list paper">
        <h1>First steps</h1>
        <p class="lead">A lead sets the lab up. You can <a href="#/duty">say how you are reached</a> and <a href="#/settings/mine">how pages look to you</a>.</p>
      </section>
    );
  }
  return <Steps me={may.me} />;
}

function Steps({ me }: { me: string }): JSX.Element {
  const store = useStore();
  store.order.value; // asked anew when a unit appears
  const house = useGet<House>("/house");
  const units = useGet<UnitList>("/units", 5000);
  const duty = useGet<DutyNow>("/duty");
  const links = useGet<WallLinkList>("/wall-links");
  const test = usePageTest(me);
  const skipped = useSignal(recallSkips());
  const picked = useSignal<StepId | null>(null);
  const ready = house.got.value.value && duty.got.value.value;
  const p = progress({
    signedIn: true, house: house.got.value.value, units: units.got.value.value?.units ?? [], duty: duty.got.value.value, me, paged: test.works,
    links: (links.got.value.value?.links ?? []).length, skipped: skipped.value,
  });
  const at = picked.value ?? firstOpen(p);
  const title = (): void => document.getElementById("step-title")?.focus();
  useEffect(title, [at]);
  const next = (): void => {
    const i = stepIds.indexOf(at);
    picked.value = stepIds[Math.min(stepIds.length - 1, i + 1)] ?? "wall";
  };
  const skip = (): void => {
    skipped.value = new Set([...skipped.value, at]);
    rememberSkips(skipped.value);
    if (at === "wall") location.hash = "#/board";
    else next();
  };
  const last = at === "wall" || stepIds.every((id) => p[id] !== "open");
  return (
    <section class="list paper setup">
      <h1>First steps</h1>
      <ol class="frames" aria-label="How far it is">
        {stepIds.map((id, i) => (
          <li key={id} class={p[id]}>
            <button aria-current={id === at ? "step" : undefined} disabled={id === "you"} onClick={() => (picked.value = id)}>
              <b class="num">{i + 1}</b> {stepName[id]} <span class="how">{p[id] === "done" ? "✓ done" : p[id] === "skipped" ? "skipped" : "to do"}</span>
            </button>
          </li>
        ))}
      </ol>
      <div class="slipbox">
        <h2 id="step-title" tabIndex={-1}>{stepIds.indexOf(at) + 1}. {stepName[at]}</h2>
        {!ready && <><Waiting got={house.got.value} again={house.again} what="The lab's settings" /><Waiting got={duty.got.value} again={duty.again} what="The on-call plan" /></>}
        {ready && at === "lab" && <LabStep h={house.got.value.value as House} again={house.again} />}
        {ready && at === "units" && <UnitsStep units={units.got.value.value?.units ?? []} again={units.again} />}
        {ready && at === "called" && <CalledStep d={duty.got.value.value as DutyNow} zone={house.got.value.value?.time_zone ?? ""} me={me} again={duty.again} test={test} />}
        {ready && at === "wall" && <WallStep again={links.again} />}
        {p[at] === "skipped" && <p><b>Skipped.</b> {skipMeans[at]}</p>}
        <p class="doors stepdoors">
          {p[at] === "done" && at !== "wall" && <button class="solid" onClick={next}>Next: {stepName[stepIds[stepIds.indexOf(at) + 1] ?? "wall"].toLowerCase()}</button>}
          {p[at] !== "done" && <button class="plain" onClick={skip}>Skip it for now</button>}
          {last && <a class="button" href="#/board">Open the board</a>}
        </p>
        {p[at] === "open" && skipMeans[at] && <p class="tiny">Skipped, it means: {skipMeans[at]} Everything here is also under Settings and On call.</p>}
      </div>
      <p>You can leave at any time and come back by Settings, First steps. <a href="#/board">To the board</a></p>
    </section>
  );
}
