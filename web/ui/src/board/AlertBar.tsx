import type { JSX } from "preact";
import { useComputed, useSignal } from "@preact/signals";
import { useStore } from "../context";
import { kiosk } from "../state/kiosk";
import { narrow } from "../state/prefs";
import type { Alert } from "../types";
import { asides, priorityWord } from "../words/alert";
import { heading, passed as orderPassed, toDo } from "../words/todo";
import { hourMinute, hourMinuteSecond, ms } from "../words/time";
import { AlertPast, AlertWhole } from "./AlertPast";
import { Mark } from "./Mark";
import { ShelveForm } from "./ShelveForm";
import { useDeed } from "./useDeed";
import { said } from "../state/said";

interface Props {
  alert: Alert;
  /** Advice of the lane says what to do better than the alert can. */
  advised?: boolean;
}

/** So many letters of a response and half-size ones after it stand in one line of a bar. */
const LINE_LETTERS = 78;
const SMALLER = 0.65;
/** One alert that goes on and that nobody has seen yet, with what to do and the button that says somebody has. */
export function AlertBar({ alert: a, advised = false }: Props): JSX.Element {
  const store = useStore();
  const open = useSignal(false);
  const { busy, trouble, post } = useDeed(a);
  const raised = ms(a.raised_at);
  const actAt = advised ? null : ms(textOf(a.facts?.["act_at"]));
  const passed = useComputed(() => orderPassed(a, store.present(a.unit, store.now.value)));
  const at = actAt === null ? "" : hourMinuteSecond(actAt);
  // What the lane's own advice says with the time is not said again here.
  const todo = advised && !passed.value ? "" : said(passed.value ? toDo(a, store.present(a.unit)) : a.response);
  const chip = todo.includes(at) ? "" : at; // a time that the response names is not said twice
  const whose = a.unit ? store.nameOf(a.unit) : "wetside itself";
  const more = asides(a).join(" ");
  // What does not fit whole beside the response is left to the fold: half a sentence says less than none.
  const room = LINE_LETTERS - todo.length - chip.length;
  const fits = (text: string): boolean => narrow.value || text.length * SMALLER <= room;
  return (
    <div
      role="group"
      class={`alert ${a.priority}${advised ? " advised" : ""}`}
      aria-label={`${priorityWord[a.priority]} alert of ${whose}: ${said(a.message)}`}
    >
      <Mark priority={a.priority} />
      <div class="say">
        <p class="what"><span class="word">{priorityWord[a.priority]}{raised === null ? "" : ` ${hourMinute(raised)}`}</span> {said(advised ? bare(a) : passed.value ? heading(a, store.present(a.unit)) : a.message)}</p>
        {(todo || chip || !advised) && <p class="todo">
          {chip && <b class="at">{chip}</b>} <b class={passed.value ? "do passed" : "do"}>{todo}</b>{" "}
          {more && fits(more) && <span class="when">{more} </span>}
          {fits(`${more} ${a.consequence}`) && <span class="else">{said(a.consequence)}</span>}
        </p>}
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
          <AlertWhole alert={a} />
          <AlertPast alert={a} />
        </div>
      )}
    </div>
  );
}

/** What is wrong without what is to be done, where the rule says both in one sentence. */
const bare = (a: Alert): string => (a.rule === "power-lost" ? (a.message.split(": ")[0] ?? a.message) : a.message);

export function textOf(v: unknown): string | null {
  return typeof v === "string" ? v : null;
}
