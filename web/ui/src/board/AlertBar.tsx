import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { kiosk } from "../state/kiosk";
import type { Alert } from "../types";
import { asides, priorityWord } from "../words/alert";
import { hourMinute, hourMinuteSecond, ms } from "../words/time";
import { AlertPast } from "./AlertPast";
import { Mark } from "./Mark";
import { ShelveForm } from "./ShelveForm";
import { useDeed } from "./useDeed";

interface Props {
  alert: Alert;
  /** Advice of the lane says what to do better than the alert can. */
  advised?: boolean;
}

/** One alert that nobody has seen yet, with what to do and the button that says somebody has. */
export function AlertBar({ alert: a, advised = false }: Props): JSX.Element {
  const store = useStore();
  const open = useSignal(false);
  const { busy, trouble, post } = useDeed(a);
  const raised = ms(a.raised_at);
  const over = a.state === "cleared-unacknowledged";
  const actAt = over || advised ? null : ms(textOf(a.facts?.["act_at"]));
  const whose = a.unit ? store.nameOf(a.unit) : "wetside itself";
  const more = asides(a).join(" ");
  return (
    <div
      role="group"
      class={`alert ${a.priority}${over ? " over" : ""}${advised ? " advised" : ""}`}
      aria-label={`${priorityWord[a.priority]} alert of ${whose}: ${a.message}`}
    >
      <Mark priority={a.priority} hollow={over} />
      <div class="say">
        <p class="what"><span class="word">{priorityWord[a.priority]}{raised === null ? "" : ` ${hourMinute(raised)}`}</span> {a.message}</p>
        <p class="todo">
          {actAt !== null && <b class="at">{hourMinuteSecond(actAt)}</b>} <b class="do">{a.response}</b>{" "}
          {more && <span class="when">{more} </span>}
          <span class="else">{a.consequence}</span>
        </p>
        {trouble.value && <p class="trouble" role="alert">{trouble.value}</p>}
      </div>
      {!kiosk.value && (
        <div class="acts">
          {store.mayAct && <button class="solid ack" disabled={busy.value} onClick={() => void post("acknowledge", {})}>Acknowledge</button>}
          <button class="plain" aria-expanded={open.value} aria-label={`More of this alert: ${store.mayAct ? "shelve it, " : ""}what happened, pages`} onClick={() => (open.value = !open.value)}>
            More
          </button>
        </div>
      )}
      {open.value && (
        <div class="fold">
          {store.mayAct && <ShelveForm busy={busy.value} onShelve={async (minutes, reason) => (open.value = !(await post("shelve", { minutes, reason })))} />}
          <AlertPast alert={a} />
        </div>
      )}
    </div>
  );
}

export function textOf(v: unknown): string | null {
  return typeof v === "string" ? v : null;
}
