import type { JSX } from "preact";
import { useStore } from "../context";
import { runLink } from "../route";
import type { Run } from "../types";
import { filmRemark } from "../words/film";
import { kindName, processName, pushName } from "../words/steps";
import { thirds } from "../words/stops";
import { clockSpan, hourMinute, moment, ms } from "../words/time";
import { decisionWord, standingOf } from "../words/verdict";
import { LiveStrip, MiniStrip } from "./MiniStrip";
import { VerdictMark } from "./VerdictMark";
import { said } from "../state/said";

interface Props {
  run: Run;
  now: number;
  /** Said of a run in a batch. */
  remark?: string;
}

/** One run in a list: a link to its report. */
export function RunRow({ run: r, now, remark }: Props): JSX.Element {
  const standing = standingOf(r);
  const decided = r.decision ? decisionWord(r.decision.decision) : "";
  return (
    <li class={`runrow ${standing}`}>
      <a href={runLink(r.id)}>
        <VerdictMark standing={standing} />
        <span class="who">
          <b>{useStore().nameOf(r.unit)}</b> {processName(r.process)} {pushName(r.push)} {kindName(r.kind)}
        </span>
        <span class="when num">{when(r, now)}</span>
        {standing === "running" ? <LiveStrip unit={r.unit} run={r.id} /> : <MiniStrip run={r} />}
        <span class="err num">{r.push_error_stops === null || standing === "running" ? "" : `${thirds(r.push_error_stops)} stop`}</span>
        <span class="why">
          {remark && <b>{remark} </b>}
          {filmRemark(r) && <b>{filmRemark(r)} </b>}
          {(r.reasons?.[0] && said(r.reasons[0].text)) ?? (standing === "running" ? <Going id={r.unit} run={r.id} /> : "")}
        </span>
        <span class="rolls">{rollWords(r)}{decided && <b class="decided">{decided}</b>}</span>
      </a>
    </li>
  );
}

function when(r: Run, now: number): string {
  const end = ms(r.ended_at);
  return `${moment(ms(r.started_at) ?? 0, now)}${end === null ? "" : `–${hourMinute(end)}`}`;
}

const rollWords = (r: Run): string => {
  const n = r.rolls.length;
  if (r.kind !== "film") return "";
  return n === 0 ? "rolls not scanned" : n === 1 ? "1 roll" : `${n} rolls`;
};

/** What a running run does, from the live unit. */
function Going({ id, run }: { id: string; run: string }): JSX.Element | null {
  const store = useStore();
  const heard = store.unit(id)?.value;
  const r = heard?.unit.run;
  if (!heard || !r || r.id !== run || r.remaining_s === null) return null;
  const left = r.remaining_s - (store.seen.value - heard.heardAt) / 1000;
  return <span>{clockSpan(left)} until somebody is needed</span>;
}
