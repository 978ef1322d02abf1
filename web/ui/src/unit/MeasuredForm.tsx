import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { timeNear } from "../report/statements";
import { Said } from "../shared/parts";
import { useMay, useSend } from "../shared/useSend";
import { degrees } from "../state/prefs";
import { inCelsius } from "../words/measure";

/** What a thermometer showed in the bath: it counts in place of a probe that is doubtful. */
export function MeasuredForm({ run }: { run: string }): JSX.Element | null {
  const store = useStore();
  const may = useMay();
  const act = useSend();
  const value = useSignal("");
  const at = useSignal("");
  if (!may.enter) return null;
  const v = Number(value.value.trim().replace(",", "."));
  const whole = value.value.trim() !== "" && Number.isFinite(v);
  const send = async (e: Event): Promise<void> => {
    e.preventDefault();
    if (!whole) return;
    const time = at.value ? timeNear(at.value, store.now.peek()) : store.now.peek();
    const body = { at: new Date(time ?? store.now.peek()).toISOString(), c: Number(inCelsius(v, degrees.value).toFixed(2)) };
    if (await act.send("POST", `/runs/${encodeURIComponent(run)}/measured`, body, "Entered: it counts from now on.")) value.value = at.value = "";
  };
  return (
    <form class="fields" onSubmit={(e) => void send(e)}>
      <label>Your thermometer says, °{degrees.value}<input required inputMode="decimal" size={7} value={value.value} onInput={(e) => (value.value = e.currentTarget.value)} /></label>
      <label>At (empty: now)<input type="time" step="1" value={at.value} onInput={(e) => (at.value = e.currentTarget.value)} /></label>
      <button class="solid" disabled={act.busy.value || !whole}>Enter it</button>
      <Said of={act} />
    </form>
  );
}
