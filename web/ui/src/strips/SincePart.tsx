import type { JSX } from "preact";
import { useStore } from "../context";
import { runLink } from "../route";
import { Part, Waiting } from "../shared/parts";
import { useGet } from "../shared/useGet";
import { pushName } from "../words/steps";
import { moment, ms } from "../words/time";
import { decisionWord, standingWords } from "../words/verdict";
import type { Since, SinceRun } from "./types";

/** All film that ran since the last strip that was in, by customers' orders and by runs: what to hold, and whom to tell. */
export function SincePart({ unit, process, mix }: { unit: string; process: string; mix: string }): JSX.Element {
  const store = useStore();
  const { got, again } = useGet<Since>(`/strips/since?${new URLSearchParams({ unit, process, ...(mix && { mix }) })}`, 60_000);
  const s = got.value.value;
  const now = store.now.peek();
  const runs = s?.runs ?? [];
  const orders = s?.orders ?? [];
  const note = !s ? undefined : s.since === null ? "No strip was in yet: all since the first one." : `Since ${moment(ms(s.since) ?? now, now)}.`;
  return (
    <Part title="Film since the last strip that was in" note={note}>
      <Waiting got={got.value} again={again} what="The runs since the last strip" />
      {s && runs.length === 0 && <p>No film ran since.</p>}
      {orders.length > 0 && (
        <>
          <h3>By customers’ orders</h3>
          <ul class="lines wide sinceorders">
            {orders.map((o) => (
              <li key={o.order}>
                <b>{o.order ? `Order ${o.order}` : "No order given"}</b>
                <span class="what">{o.rolls.length === 1 ? "roll" : "rolls"} {o.rolls.join(", ")}</span>
                {o.due_at && <span class="muted">due {moment(ms(o.due_at) ?? now, now)}</span>}
              </li>
            ))}
          </ul>
        </>
      )}
      {runs.length > 0 && (
        <>
          <h3>By runs</h3>
          <ul class="lines wide sinceruns">
            {runs.map((r) => (
              <li key={r.id}>
                <time>{moment(ms(r.started_at) ?? now, now)}</time>
                <a href={runLink(r.id)}>{["Run", r.run, pushName(r.push)].filter(Boolean).join(" ")}</a>
                <span class="what">{rollWords(r)} <span class="muted">{stateWords(r)}</span></span>
              </li>
            ))}
          </ul>
          {s?.more && <p>There are more: <a href={`#/runs?${new URLSearchParams({ unit, process })}`}>all runs</a>.</p>}
        </>
      )}
    </Part>
  );
}

function rollWords(r: SinceRun): string {
  const rolls = r.rolls;
  if (rolls.length === 0) return "no rolls entered";
  return rolls.map((x) => `${x.twin_check}${x.order ? ` (order ${x.order})` : ""}`).join(", ");
}

function stateWords(r: SinceRun): string {
  const verdict = r.verdict ? standingWords[r.verdict] : r.outcome === "running" ? "running" : "";
  return [verdict, r.decision ? decisionWord(r.decision.decision) : "nobody has decided yet"].filter(Boolean).join("; ");
}
