import type { JSX } from "preact";
import { useStore } from "../context";
import { Part } from "../shared/parts";
import { useGet } from "../shared/useGet";
import { moment } from "../words/time";
import type { RefusedList } from "../types";

const words: Record<string, string> = { connection: "Connection refused", publish: "Message refused", slowed: "Slowed" };

/** What of this unit was not let in, and why: for whoever sets it up. Nothing where nothing was refused. */
export function RefusedPart({ id }: { id: string }): JSX.Element | null {
  const store = useStore();
  const { got } = useGet<RefusedList>(`/units/${id}/refused`);
  const refused = got.value.value?.refused ?? [];
  const messages = got.value.value?.messages ?? [];
  if (refused.length === 0 && messages.length === 0) return null;
  const now = store.now.value;
  return (
    <Part title="Refused" note="What the broker did not let in, and what stands in quarantine. The newest 20 of each.">
      <ul class="lines wide refused">
        {refused.map((r) => (
          <li key={r.what + r.reason + r.from}>
            <span><b>{words[r.what] ?? r.what}:</b> {r.reason}. {moment(Date.parse(r.last_at), now)}{r.count > 1 && `, ${r.count} times since ${moment(Date.parse(r.first_at), now)}`}{r.from && `, from ${r.from}`}</span>
          </li>
        ))}
        {messages.map((m, i) => (
          <li key={m.received_at + String(i)}><span><b>In quarantine:</b> {m.reason}. {moment(Date.parse(m.received_at), now)}, on {m.topic}</span></li>
        ))}
      </ul>
    </Part>
  );
}
