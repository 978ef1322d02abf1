import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import type { Alert, Priority } from "../types";
import { hourMinute, hourMinuteSecond, ms } from "../words/time";
import { Mark } from "./Mark";
import { ShelveForm } from "./ShelveForm";

const words: Record<Priority, string> = { urgent: "Urgent", high: "High", low: "Low" };

/** One alert that nobody has seen yet, with what to do and the button that says somebody has. */
export function AlertBar({ alert: a }: { alert: Alert }): JSX.Element {
  const store = useStore();
  const trouble = useSignal("");
  const busy = useSignal(false);
  const shelving = useSignal(false);
  const may = store.session.value?.role === "operator" || store.session.value?.role === "lead";

  const post = async (what: string, body: unknown): Promise<void> => {
    busy.value = true;
    try {
      store.takeAlert(await store.act<Alert>("POST", `/alerts/${a.id}/${what}`, body));
      trouble.value = "";
      shelving.value = false;
    } catch (e) {
      trouble.value = e instanceof Error ? e.message : String(e);
    } finally {
      busy.value = false;
    }
  };

  const raised = ms(a.raised_at);
  const over = a.state === "cleared-unacknowledged";
  const actAt = over ? null : ms(textOf(a.facts?.["act_at"]));
  return (
    <div role="group" class={`alert ${a.priority}${over ? " over" : ""}`} aria-label={`${words[a.priority]} alert of ${store.nameOf(a.unit)}: ${a.message}`}>
      <Mark priority={a.priority} hollow={over} />
      <div class="say">
        <p class="what"><span class="word">{words[a.priority]}{raised === null ? "" : ` ${hourMinute(raised)}`}</span> {a.message}</p>
        <p class="todo">
          {actAt !== null && <b class="at">{hourMinuteSecond(actAt)}</b>} <b>{a.response}</b> <span class="else">{a.consequence}</span>
          <span class="when">
            {over && " Over now."}
            {a.found_afterwards && " Found afterwards."}
            {a.occurrence > 1 && ` For the ${a.occurrence}. time.`}
          </span>
        </p>
        {trouble.value && <p class="trouble" role="alert">{trouble.value}</p>}
      </div>
      {may && (
        <div class="acts">
          <button class="solid ack" disabled={busy.value} onClick={() => void post("acknowledge", {})}>Acknowledge</button>
          <button
            class="plain"
            aria-expanded={shelving.value}
            aria-label="Shelve this alert for a while"
            onClick={() => (shelving.value = !shelving.value)}
          >
            Shelve
          </button>
        </div>
      )}
      {shelving.value && (
        <ShelveForm busy={busy.value} onShelve={(minutes, reason) => void post("shelve", { minutes, reason })} />
      )}
    </div>
  );
}

function textOf(v: unknown): string | null {
  return typeof v === "string" ? v : null;
}
