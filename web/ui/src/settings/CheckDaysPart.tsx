import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { Part, Said, Waiting } from "../shared/parts";
import { useGet } from "../shared/useGet";
import { useMay, useSend } from "../shared/useSend";
import type { CheckList, House } from "../types";

// The ids of internal/process/checks.yaml: what a unit's own list leaves out
// when it is switched off has to be named here still.
const known: [id: string, label: string, days: number][] = [
  ["probe", "Probe against a reference thermometer", 90], ["pump-volumes", "Pump volumes", 90], ["battery", "Battery runtime", 180], ["hoses", "Hoses and couplings", 30],
  ["filters", "Filters", 60], ["float", "Float switches", 30], ["strip", "Control strip", 7],
];

/** How often each check is due, on every unit. */
export function CheckDaysPart(): JSX.Element {
  const store = useStore();
  const { got, again } = useGet<House>("/house");
  const first = store.order.value[0];
  const one = useGet<CheckList>(first ? `/units/${first}/checks` : null);
  const h = got.value.value;
  const told = (one.got.value.value?.checks ?? []).map((c): [string, string, number] => [c.check, c.label, c.days]);
  const all = [...told, ...known.filter(([id]) => !told.some(([t]) => t === id))];
  return (
    <Part title="Checks" note="Days are common practice, no source; 0 days: this lab does not do it. Runs: due after so many runs of the unit where that comes first; empty or 0: by days alone. What is due is among the next jobs once you have done it on the unit, or set it here.">
      <Waiting got={got.value} again={again} what="The settings" />
      {h && <Days key={JSON.stringify([h.check_days, h.check_runs])} h={h} all={all} again={again} />}
    </Part>
  );
}

function Days({ h, all, again }: { h: House; all: [string, string, number][]; again(): Promise<void> }): JSX.Element {
  const may = useMay();
  const act = useSend();
  const days = useSignal<Record<string, number>>(h.check_days ?? {});
  const runs = useSignal<Record<string, number>>(h.check_runs ?? {});
  const save = async (e: Event): Promise<void> => {
    e.preventDefault();
    if (await act.send("PUT", "/house", { ...h, check_days: days.value, check_runs: runs.value }, "Saved.")) await again();
  };
  return (
    <form class="stack" onSubmit={(e) => void save(e)}>
      <ul class="lines">
        {all.map(([id, label, usual]) => (
          <li key={id}>
            <label class="daysline"><b>{label}</b><span>every <input type="number" min="0" max="3650" disabled={!may.set} value={days.value[id] ?? usual} onInput={(e) => (days.value = { ...days.value, [id]: Number(e.currentTarget.value) })} /> days</span></label>
            <label class="daysline"><span>or <input type="number" min="0" max="5000" disabled={!may.set} aria-label={`${label}: after so many runs`} value={runs.value[id] || ""} onInput={(e) => (runs.value = { ...runs.value, [id]: Number(e.currentTarget.value) })} /> runs</span></label>
          </li>
        ))}
      </ul>
      <Said of={act} />
      {may.set && <button class="solid" disabled={act.busy.value}>Save</button>}
    </form>
  );
}
