import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { Part, Said, Waiting } from "../shared/parts";
import { useGet } from "../shared/useGet";
import { useMay, useSend } from "../shared/useSend";
import type { House } from "../types";

/** What the reels of each unit and the lab's common dryer hold: what to load next is planned by it. */
export function ReelsPart(): JSX.Element {
  const { got, again } = useGet<House>("/house");
  const h = got.value.value;
  return (
    <Part title="Reels and dryer" note="What to load next is planned by these. A unit left empty holds what its fullest run of the last 60 days had.">
      <Waiting got={got.value} again={again} what="The settings" />
      {h && <Reels key={JSON.stringify([h.reels, h.dryer_holds, h.dryer_min])} h={h} again={again} />}
    </Part>
  );
}

function Reels({ h, again }: { h: House; again(): Promise<void> }): JSX.Element {
  const store = useStore();
  const may = useMay();
  const act = useSend();
  const reels = useSignal<Record<string, number>>(h.reels ?? {});
  const holds = useSignal(h.dryer_holds ?? 0);
  const takes = useSignal(h.dryer_min ?? 0);
  const save = async (e: Event): Promise<void> => {
    e.preventDefault();
    const set = Object.fromEntries(Object.entries(reels.value).filter(([, n]) => n > 0));
    if (await act.send("PUT", "/house", { ...h, reels: set, dryer_holds: holds.value, dryer_min: takes.value }, "Saved.")) await again();
  };
  const ids = [...store.order.value].sort();
  return (
    <form class="stack" onSubmit={(e) => void save(e)}>
      <ul class="lines">
        {ids.map((id) => (
          <li key={id}>
            <label class="daysline"><b>{store.nameOf(id)}</b><span>holds <input type="number" min="0" max="200" step="0.25" placeholder="?" disabled={!may.set} value={reels.value[id] ?? ""} onInput={(e) => (reels.value = { ...reels.value, [id]: Number(e.currentTarget.value) })} /> rolls</span></label>
          </li>
        ))}
        <li>
          <label class="daysline"><b>Common dryer</b><span>holds <input type="number" min="0" max="1000" step="0.25" disabled={!may.set} value={holds.value} onInput={(e) => (holds.value = Number(e.currentTarget.value))} /> rolls</span></label>
          <label class="daysline"><span>for <input type="number" min="0" max="1440" disabled={!may.set} value={takes.value} onInput={(e) => (takes.value = Number(e.currentTarget.value))} /> min</span></label>
        </li>
      </ul>
      <p class="tiny">Rolls of 135 or 120; a roll of 220 counts as two, four sheets of 4x5 as one. Common dryer 0: each unit dries its own film.</p>
      <Said of={act} />
      {may.set && <button class="solid" disabled={act.busy.value}>Save</button>}
    </form>
  );
}
