import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { kiosk } from "../state/kiosk";
import { past, shelvedAt } from "../state/order";
import type { Alert } from "../types";
import { dealtWith, heldWords, overWords, priorityWord } from "../words/alert";
import { AlertPast, AlertWhole } from "./AlertPast";
import { Mark } from "./Mark";
import { heading, toDo } from "../words/todo";
import { useDeed } from "./useDeed";
import { said } from "../state/said";

/**
 * An alert in one line: somebody has seen it, put it aside, it is over, or another one says more.
 * Where the lane's advice says what to do it does not say so again. Pressed, it unfolds. What was to do while it lasted is in the fold: in the line it would read as an order.
 */
export function AlertLine({ alert: a, advised = false }: { alert: Alert; advised?: boolean }): JSX.Element {
  const store = useStore();
  const open = useSignal(false);
  const now = store.now.peek();
  const { busy, trouble, post } = useDeed(a);
  const over = overWords(a);
  const text = (
    <>
      <Mark priority={a.priority} hollow />
      <span>{over && <b class="over num">{over} </b>}<b>{said(heading(a, store.present(a.unit)))}</b> {!over && !advised && said(toDo(a, store.present(a.unit)))} <i>{dealtWith(a, now)}</i> {!over && heldWords(a)}</span>
    </>
  );
  if (kiosk.value) return <p class={`seen ${a.priority}`}>{text}</p>;
  return (
    <div class={`seenbox${open.value ? " open" : ""}`}>
      <button class={`seen ${a.priority}`} aria-expanded={open.value} onClick={() => (open.value = !open.value)}>
        <span class="unseen">{priorityWord[a.priority]}: </span>{text}
      </button>
      {open.value && (
        <div class="fold">
          {store.mayAct && (
            <p class="acts">
              {shelvedAt(a, now) && <button class="solid" disabled={busy.value} onClick={() => void post("unshelve", {})}>Unshelve</button>}
              {(a.state === "unacknowledged" || a.state === "cleared-unacknowledged") && <button class="solid" disabled={busy.value} onClick={() => void post("acknowledge", {})}>Acknowledge</button>}
            </p>
          )}
          <AlertWhole alert={a} over={past(a)} />
          {trouble.value && <p class="trouble" role="alert">{trouble.value}</p>}
          <AlertPast alert={a} />
        </div>
      )}
    </div>
  );
}
