import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import type { Alert } from "../types";
import { hourMinute, ms } from "../words/time";
import { AlertBar } from "./AlertBar";
import { Mark } from "./Mark";

const LARGE_AT_ONCE = 2;

/** The alerts of a lane: what nobody has seen large, what somebody has in a line. */
export function Alerts({ list }: { list: readonly Alert[] }): JSX.Element | null {
  const all = useSignal(false);
  const now = useStore().now.peek();
  if (list.length === 0) return null;
  const quiet = (a: Alert): boolean => a.state === "acknowledged" || (ms(a.shelved_until) ?? 0) > now;
  const told = (a: Alert): boolean => quiet(a) || coveredBy(a, list);
  const loud = list.filter((a) => !told(a));
  const seen = list.filter(told);
  const shown = all.value ? loud : loud.slice(0, LARGE_AT_ONCE);
  return (
    <div class="alerts">
      {shown.map((a) => <AlertBar key={a.id} alert={a} />)}
      {loud.length > shown.length && (
        <button class="plain more" onClick={() => (all.value = true)}>and {loud.length - shown.length} more</button>
      )}
      {seen.map((a) => <Seen key={a.id} alert={a} />)}
    </div>
  );
}

/** A container that will not take this run is also nearly full: one large alert says both. */
function coveredBy(a: Alert, list: readonly Alert[]): boolean {
  return a.rule === "waste-nearly-full" && a.state === "unacknowledged" &&
    list.some((b) => b.rule === "waste-will-not-fit" && b.subject === a.subject && b.state === "unacknowledged");
}

function Seen({ alert: a }: { alert: Alert }): JSX.Element {
  const until = ms(a.shelved_until);
  const at = ms(a.acknowledged_at);
  const unseen = a.state === "unacknowledged";
  const how = unseen && until === null ? "not yet seen" : until !== null && until > Date.now()
    ? `shelved until ${hourMinute(until)}${a.shelved_by ? ` by ${a.shelved_by}` : ""}`
    : `seen${a.acknowledged_by ? ` by ${a.acknowledged_by}` : ""}${at === null ? "" : ` at ${hourMinute(at)}`}`;
  return (
    <p class={`seen ${a.priority}`}>
      <Mark priority={a.priority} hollow />
      <span><b>{a.message}</b> {a.response} <i>{how}</i></span>
    </p>
  );
}
