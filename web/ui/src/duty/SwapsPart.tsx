import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { Part, Said } from "../shared/parts";
import { useMay, useSend } from "../shared/useSend";
import type { DutyNow, Swap } from "./types";
import { Unreachable } from "./Unreachable";

const dayWords = (day: string): string =>
  new Date(`${day}T12:00:00`).toLocaleDateString("en-GB", { weekday: "short", day: "numeric", month: "short" });

/** One person in place of another, for the hours that begin on one day. */
export function SwapsPart({ d, today, again }: { d: DutyNow; today: string; again(): Promise<void> }): JSX.Element {
  const may = useMay();
  const act = useSend();
  const back = async (s: Swap): Promise<void> => {
    if (await act.send("DELETE", `/duty/swaps/${s.id}`, undefined, "The swap is undone.")) await again();
  };
  const swaps = d.swaps;
  return (
    <Part title="Swaps for a day" note="They count for the hours that begin on that day.">
      {swaps.length === 0 && <p>No swap is entered.</p>}
      <ul class="lines">
        {swaps.map((s) => (
          <li key={s.id}>
            <b class="num">{dayWords(s.day)}</b>
            <span>{s.on ? `${s.on} for ${s.off}` : `nobody for ${s.off}`}{s.note && `: ${s.note}`}</span>
            <span class="muted">entered by {s.by}</span>
            {may.enter && <button class="plain" disabled={act.busy.value} onClick={() => void back(s)}>Undo</button>}
          </li>
        ))}
      </ul>
      {may.enter && <SwapForm d={d} today={today} again={again} />}
      <Said of={act} />
    </Part>
  );
}

function SwapForm({ d, today, again }: { d: DutyNow; today: string; again(): Promise<void> }): JSX.Element {
  const store = useStore();
  const act = useSend();
  const day = useSignal(today);
  const off = useSignal(d.on[0] ?? "");
  const on = useSignal("");
  const note = useSignal("");
  const people = d.people.map((p) => p.name);
  const submit = async (e: Event): Promise<void> => {
    e.preventDefault();
    const body = { day: day.value, off: off.value, on: on.value, note: note.value.trim() };
    if (await act.send("POST", "/duty/swaps", body, "The swap is entered; the week above shows it.")) {
      note.value = "";
      await Promise.all([again(), store.duty.ask()]);
    }
  };
  return (
    <form class="fields" onSubmit={(e) => void submit(e)}>
      <label>Day<input type="date" required min={today} value={day.value} onInput={(e) => (day.value = e.currentTarget.value)} /></label>
      <label>Off
        <select required value={off.value} onChange={(e) => (off.value = e.currentTarget.value)}>
          <option value="">who is off?</option>
          {people.map((p) => <option key={p} value={p}>{p}</option>)}
        </select>
      </label>
      <label>In their place
        <select value={on.value} onChange={(e) => (on.value = e.currentTarget.value)}>
          <option value="">nobody</option>
          {people.filter((p) => p !== off.value).map((p) => <option key={p} value={p}>{p}</option>)}
        </select>
      </label>
      <Unreachable of={[on.value]} people={d.people} />
      <label class="grow">Note<input value={note.value} maxLength={200} onInput={(e) => (note.value = e.currentTarget.value)} /></label>
      <button class="solid" disabled={act.busy.value}>Enter the swap</button>
      <Said of={act} />
    </form>
  );
}
