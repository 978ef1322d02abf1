import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { ScanField, type Heard } from "../load/ScanField";
import { unitOf } from "../load/loading";
import { subject } from "../route";
import { said } from "../state/said";
import { Part, Standing, Waiting } from "../shared/parts";
import { useGet } from "../shared/useGet";
import { useMay } from "../shared/useSend";
import type { MixList, MixView, MixingHelp } from "../types";
import { MixPage } from "./MixPage";
import { MixingPart } from "./MixingPart";
import { NewMix } from "./NewMix";
import { ageWords, mixLabel, standOf, useWords } from "./words";
import "./chemistry.css";

/** What was mixed, where it stands, and how to mix the next. */
export function MixesPage(): JSX.Element {
  const label = subject.value.split("/")[0] ?? "";
  if (label !== "") return <MixPage key={label} label={label} />;
  return <AllMixes />;
}

function AllMixes(): JSX.Element {
  const may = useMay();
  const { got, again } = useGet<MixList>("/mixes");
  const ml = useSignal(1000);
  const help = useGet<MixingHelp>(`/mixing?ml=${ml.value}`);
  const mixes = got.value.value?.mixes ?? null;
  const old = (m: MixView): boolean => m.state.is === "done" || (m.state.is === "withdrawn" && m.at.length === 0);
  return (
    <section class="list paper mixes">
      <h1>Mixes</h1>
      <p class="lead">Each batch that was mixed has a label. Scan the bottle, then the unit: from then on each run knows which mix each bath was, and a bad mix finds its rolls.</p>
      <Waiting got={got.value} again={again} what="The mixes" />
      {may.enter && mixes && mixes.length > 0 && <PutUp again={again} />}
      {mixes && (
        <Part title="In use" note="Age and film beside your limits.">
          {mixes.filter((m) => !old(m)).length === 0 && <p>No mix is written yet. Write the first below; nothing is asked about mixes until then.</p>}
          <ul class="lines mixlist">{mixes.filter((m) => !old(m)).map((m) => <OneMix key={m.id} m={m} />)}</ul>
        </Part>
      )}
      {may.enter && <NewMix solutions={help.got.value.value?.solutions ?? []} again={again} />}
      <MixingPart help={help.got.value.value} ml={ml} />
      {mixes && mixes.some(old) && (
        <Part title="Before" note="Used up, discarded or withdrawn.">
          <ul class="lines mixlist">{mixes.filter(old).map((m) => <OneMix key={m.id} m={m} />)}</ul>
        </Part>
      )}
      <p><a href="#/settings/chemistry">Limits and recipes</a></p>
    </section>
  );
}

function OneMix({ m }: { m: MixView }): JSX.Element {
  const store = useStore();
  const [is, word] = standOf(m);
  return (
    <li>
      <a class="num mixid" href={`#/mixes/${m.id}`}>{m.id}</a>
      <span class="what">
        <b>{m.name || m.solution_name}</b> {m.name && <span>{m.solution_name}</span>}
        <span>{ageWords(m.state.age_days)}, {useWords(m.use)}</span>
        {m.state.why.map((w) => <span key={w}>{said(w)}</span>)}
        <span class="muted">{m.at.length === 0 ? "stands at no unit" : m.at.map((p) => `${store.nameOf(p.unit)}, ${p.position}`).join("; ")}</span>
        {m.strip && <span class="muted">strip read: {m.strip.standing}</span>}
      </span>
      <Standing is={is} word={word} />
    </li>
  );
}

/** Two scans: the bottle, then the unit. */
function PutUp({ again }: { again(): Promise<void> }): JSX.Element {
  const store = useStore();
  const bottle = useSignal("");
  const scan = async (code: string): Promise<Heard> => {
    const label = mixLabel(code);
    if (label) {
      bottle.value = label;
      return { ok: true, words: `${label}: scan the unit that it stands on` };
    }
    const unit = unitOf(code, store.units().map((h) => h.unit));
    if (!unit) return { ok: false, words: "This is no mix (labels begin with MIX-) and no unit" };
    if (!bottle.value) return { ok: false, words: "Scan the bottle first, then the unit" };
    try {
      await store.act("POST", `/units/${unit}/bottles`, { mix: bottle.value });
      const put = bottle.value;
      bottle.value = "";
      await again();
      return { ok: true, words: `${put} stands on ${store.nameOf(unit)} from now on` };
    } catch (e) {
      return { ok: false, words: e instanceof Error ? e.message : String(e) };
    }
  };
  return (
    <Part title="Put a bottle up" note="Look at the label on the bottle, not at its color.">
      <ScanField label={bottle.value ? `${bottle.value}: scan the unit` : "Scan the bottle, then the unit"} hint="Gloves on; the mix must be what the position says." onScan={scan} focus />
    </Part>
  );
}
