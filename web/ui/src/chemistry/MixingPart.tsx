import type { JSX } from "preact";
import { useSignal, type Signal } from "@preact/signals";
import { said } from "../state/said";
import { SourceKind } from "../shared/SourceKind";
import { Part } from "../shared/parts";
import type { MixNeed, MixingHelp, MixingWay } from "../types";
import { milliliters } from "./words";

interface Props {
  help: MixingHelp | null;
  ml: Signal<number>;
}

/** How much of each part goes into a batch, and what to mix for the rolls that wait. */
export function MixingPart({ help, ml }: Props): JSX.Element {
  const pick = useSignal("");
  const list = (help?.solutions ?? []).filter((s) => s.ways.length > 0);
  const chosen = list.find((s) => s.solution === pick.value) ?? list[0];
  return (
    <>
      {help && (help.waiting.length > 0 || help.unsaid > 0) && (
        <Part title="For what waits" note={<>By the <a href="#/rolls">rolls on the list</a> and your mL a roll-equivalent.</>}>
          <ul class="lines">
            {help.waiting.map((n) => (
              <li key={n.solution}>
                <b>{help.solutions.find((s) => s.solution === n.solution)?.name ?? n.solution}</b>
                <span class="what">{needWords(n)}</span>
                {n.mix_ml !== null && n.mix_ml > 0 && <button class="plain tiny" onClick={() => { pick.value = n.solution; ml.value = n.mix_ml ?? ml.value; }}>Volumes for it</button>}
              </li>
            ))}
          </ul>
          {help.unsaid > 0 && <p>{help.unsaid === 1 ? "1 roll waits" : `${help.unsaid} rolls wait`} of which nobody said the process: not counted.</p>}
        </Part>
      )}
      <Part title="Mixing help" note="Measured volumes; the label of the concentrate decides.">
        {help && list.length === 0 && <p>No recipe is known. The lab&rsquo;s own are written under <a href="#/settings/chemistry">limits and recipes</a>.</p>}
        {list.length > 0 && (
          <>
            <div class="fields">
              <label>Solution
                <select value={chosen?.solution} onInput={(e) => (pick.value = e.currentTarget.value)}>
                  {list.map((s) => <option key={s.solution} value={s.solution}>{s.name}</option>)}
                </select>
              </label>
              <label>Batch, mL<input type="number" min="1" max="200000" value={ml.value} onChange={(e) => { const v = Number(e.currentTarget.value); if (v >= 1 && v <= 200_000) ml.value = v; }} /></label>
              <span class="acts">{[350, 500, 1000, 2000, 5000].map((v) => <button key={v} type="button" class="plain tiny" aria-pressed={ml.value === v} onClick={() => (ml.value = v)}>{v.toLocaleString("en-US")} mL</button>)}</span>
            </div>
            {(chosen?.ways ?? []).map((w, i) => <Way key={i} w={w} />)}
            <p class="caution"><b>Gloves, goggles, apron; air the room.</b> Start with the water and add the parts in this order, stirring between. Acid into water, never water into acid. Keep the measures of developer and fixer apart. Photographic bleach is not laundry bleach: never bring the two together.</p>
          </>
        )}
      </Part>
    </>
  );
}

function Way({ w }: { w: MixingWay }): JSX.Element {
  return (
    <div class="way">
      <h3>{w.name} <SourceKind of={w.standing} /></h3>
      <table>
        <caption class="unseen">{w.name}, {milliliters(w.volume_ml)}</caption>
        <tbody>
          {w.steps.map((s, i) => (
            <tr key={i}>
              <th scope="row">{i + 1}. {said(s.part)}{s.note && <span class="muted"> ({s.note})</span>}</th>
              <td class="num">{milliliters(s.ml)}</td>
            </tr>
          ))}
        </tbody>
      </table>
      {w.note && <p>{w.note}</p>}
      {w.source && <p class="tiny">{w.source}.</p>}
    </div>
  );
}

/** "12 rolls wait: 1,200 mL; 500 mL in the bottles; mix 700 mL." What is not known is said so. */
export function needWords(n: MixNeed): string {
  const rolls = `${n.roll_equivalents === 1 ? "1 roll-equivalent waits" : `${n.roll_equivalents} roll-equivalents wait`}`;
  const doubt = n.assumed > 0 ? ` (${n.assumed} of unknown format counted as one each)` : "";
  if (n.need_ml === null) return `${rolls}${doubt}. How much that takes is not known.`;
  const need = `${rolls}${doubt}: ${milliliters(n.need_ml)}.`;
  if (n.have_ml === null || n.mix_ml === null) return `${need} How much is in the bottles is not known.`;
  return `${need} ${milliliters(n.have_ml)} in the bottles. ${n.mix_ml > 0 ? `Mix ${milliliters(n.mix_ml)} at least.` : "Enough."}`;
}
