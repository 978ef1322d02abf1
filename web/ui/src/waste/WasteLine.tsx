import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { Said } from "../shared/parts";
import { useMay, useSend } from "../shared/useSend";
import { volumes } from "../state/prefs";
import type { WasteRow } from "../types";
import { moment, ms } from "../words/time";
import { Fields } from "./LineForm";
import { amount, streamWords } from "./words";

/** One line of the log, with what stood there before, and the form that corrects it. */
export function WasteLine({ r, now, again }: { r: WasteRow; now: number; again(): Promise<void> }): JSX.Element {
  const store = useStore();
  const may = useMay();
  const act = useSend();
  const open = useSignal(false);
  const as = volumes.value;
  const what = r.what === "check" ? `Weekly check, ${r.initials ?? ""}${r.ok === undefined ? "" : r.ok ? ": all in order" : ": not in order"}` : r.unit ? `${store.nameOf(r.unit)}, ${r.container ?? "container"} emptied` : `${r.drum ? `Drum ${r.drum}` : "Container"} emptied or taken away`;
  const facts = r.what === "check" ? [] : [amount(r, as), streamWords(r.stream), r.to && `to ${r.to}`, r.unit && r.drum && `drum ${r.drum}`, r.since && `filled since ${r.since.slice(0, 10)}`, r.hauler && `hauler ${r.hauler}`, r.manifest && `manifest ${r.manifest}`];
  return (
    <li class={r.removed ? "removed" : ""}>
      <time>{moment(ms(r.at) ?? now, now)}</time>
      <span class="what">
        <b>{what}</b>{r.removed && <b> (removed)</b>}
        <span>{[...facts, r.silver_mg_per_liter !== undefined && `silver ${r.silver_mg_per_liter} mg/L${r.silver_how ? ` (${r.silver_how})` : ""}`].filter(Boolean).join(", ")}</span>
        {r.note && <span>{r.note}</span>}
        <span class="muted">by {r.versions.at(-1)?.by ?? r.by}</span>
        {r.versions.slice(0, -1).map((v) => <span key={v.version} class="muted">Before: {v.what === "check" ? `initials ${v.initials ?? ""}` : `${amount(v, as)}, ${streamWords(v.stream)}`} (by {v.by}; corrected: {r.versions[v.version]?.why})</span>)}
      </span>
      {may.enter && !r.removed && r.what === "emptied" && <button class="plain tiny noprint" aria-expanded={open.value} onClick={() => (open.value = !open.value)}>{r.missing.length > 0 ? "Write the rest" : "Correct"}</button>}
      {open.value && (
        <div class="wasteform">
          <Fields row={r} act={(body) => act.send("PUT", `/waste/${r.id}`, { what: "emptied", ...body })} done={async () => { open.value = false; await again(); }} busy={act.busy.value} word="Save" />
          <Said of={act} />
        </div>
      )}
    </li>
  );
}
