import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { kiosk } from "../state/kiosk";
import { said } from "../state/said";
import type { Alert, Priority } from "../types";
import { AlertLine } from "./AlertLine";
import { clearedWords } from "./cleared";
import { Mark } from "./Mark";

interface Props {
  unit: string;
  list: readonly Alert[];
  /** A lane of one line has room for a count alone, an idle one for the press beside it too. */
  brief?: "count" | "press";
}

const rank: Record<Priority, number> = { urgent: 2, high: 1, low: 0 };

/** What has cleared on a unit, in one line, with one press that acknowledges all of it. */
export function Cleared({ unit, list, brief }: Props): JSX.Element | null {
  const store = useStore();
  const open = useSignal(false);
  const busy = useSignal(false);
  const trouble = useSignal("");
  if (list.length === 0) return null;
  const whose = unit ? store.nameOf(unit) : "wetside itself";
  const { lead, what } = clearedWords(list, store.present(unit));
  const priority = list.reduce<Priority>((p, a) => (rank[a.priority] > rank[p] ? a.priority : p), "low");
  const all = async (): Promise<void> => {
    busy.value = true;
    trouble.value = "";
    const done = await Promise.allSettled(list.map((a) => store.act<Alert>("POST", `/alerts/${encodeURIComponent(a.id)}/acknowledge`, {})));
    for (const d of done) {
      if (d.status === "fulfilled") store.takeAlert(d.value);
      else trouble.value = d.reason instanceof Error ? d.reason.message : String(d.reason);
    }
    busy.value = false;
  };
  const acknowledge = store.mayAct && <button class="plain ackcleared" disabled={busy.value} onClick={() => void all()}>Acknowledge cleared, {whose}</button>;
  const text = brief ? <span><b>{list.length} cleared</b></span> : <span><span class="num">{lead}</span> <b>{said(what)}</b></span>;
  if (kiosk.value) return <div class={`cleared${brief ? ` brief ${brief}` : ""}`}><p class={`seen ${priority}`}><Mark priority={priority} hollow />{text}</p></div>;
  return (
    <div class={`cleared${brief ? ` brief ${brief}` : ""}${open.value ? " open" : ""}`}>
      <button class={`seen ${priority}`} aria-expanded={open.value} aria-label={brief ? `${list.length} cleared, ${whose}: ${said(what)}` : undefined} onClick={() => (open.value = !open.value)}>
        <Mark priority={priority} hollow />{text}
      </button>
      {brief !== "count" && acknowledge}
      {trouble.value && <p class="trouble" role="alert">{trouble.value}</p>}
      {open.value && (
        <div class="fold clearedlist">
          {brief === "count" && acknowledge}
          {list.map((a) => <AlertLine key={a.id} alert={a} />)}
        </div>
      )}
    </div>
  );
}
