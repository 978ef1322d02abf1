import type { JSX } from "preact";
import { useEffect } from "preact/hooks";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { tick } from "../state/clock";
import { justDone } from "./deeds";

/** Says what was just entered, with one button that takes it back. The history of the container does so later. */
export function UndoToast(): JSX.Element {
  const store = useStore();
  const done = justDone.value;
  const said = useSignal("");
  useEffect(() => {
    if (!done) return;
    const timer = setTimeout(() => (justDone.value = null), Math.max(0, done.until - Date.now()));
    return () => clearTimeout(timer);
  }, [done]);
  const undo = async (): Promise<void> => {
    if (!done) return;
    try {
      await store.act("DELETE", done.path);
      said.value = `Undone. ${done.words} does not count any more.`;
    } catch (e) {
      said.value = e instanceof Error ? e.message : String(e);
    }
    justDone.value = null;
    setTimeout(() => (said.value = ""), 5000);
  };
  const text = done?.words ?? said.value;
  return (
    <div class={text ? "undotoast" : "undotoast none"} role="status">
      {text && <span>{text}</span>}
      {done && <button onClick={() => void undo()}>Undo <Left until={done.until} /></button>}
    </div>
  );
}

function Left({ until }: { until: number }): JSX.Element {
  return <span class="num" aria-hidden="true">{Math.max(0, Math.ceil((until - tick.value) / 1000))}</span>;
}
