import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { runLink } from "../route";
import { VerdictMark } from "../runs/VerdictMark";
import { said } from "../state/said";
import { useMay, useSend } from "../shared/useSend";
import { processName } from "../words/steps";
import { age, moment, ms } from "../words/time";
import { standingOf } from "../words/verdict";
import { ownerWords, undecidedRolls } from "./handover";
import type { DecisionsAnswer, UndecidedRun } from "../types";

/** Film that nobody has decided about: whose it is, how old, and one press for what may go. */
export function Undecided({ list, again }: { list: readonly UndecidedRun[]; again(): void }): JSX.Element | null {
  const may = useMay();
  const send = useSend();
  const picked = useSignal<string[]>([]);
  const refused = useSignal<string[]>([]);
  const chosen = list.filter((r) => picked.value.includes(r.id));
  const release = async (): Promise<void> => {
    const said = chosen.length === 1 ? "1 run released." : `${chosen.length} runs released.`;
    const a = await send.send<DecisionsAnswer>("POST", "/decisions", { runs: chosen.map((r) => r.id), decision: "release" }, said);
    if (!a) return;
    refused.value = a.value.refused.map((r) => r.error);
    if (refused.value.length > 0) send.done.value = `${a.value.decided.length} released, ${refused.value.length} not.`;
    picked.value = [];
    again();
  };
  const take = async (id: string): Promise<void> => {
    if (await send.send("POST", `/runs/${encodeURIComponent(id)}/owner`, {})) again();
  };
  if (list.length === 0) return null;
  return (
    <div class="undecided">
      <ul>
        {list.map((r) => (
          <OneRun
            key={r.id} r={r} may={may.enter} busy={send.busy.value} mine={r.owner?.said === true && r.owner.name === may.me} take={() => void take(r.id)}
            picked={picked.value.includes(r.id)} pick={(on) => (picked.value = on ? [...picked.value, r.id] : picked.value.filter((x) => x !== r.id))}
          />
        ))}
      </ul>
      {may.enter && (
        <p class="undecidedacts">
          {list.length > 1 && <button class="plain" onClick={() => (picked.value = chosen.length === list.length ? [] : list.map((r) => r.id))}>{chosen.length === list.length ? "Tick none" : `Tick all ${list.length}`}</button>}
          <button class="solid" disabled={send.busy.value || chosen.length === 0} onClick={() => void release()}>{chosen.length < 2 ? "Release the ticked run" : `Release the ${chosen.length} ticked runs`}</button>
        </p>
      )}
      {send.done.value && <p role="status">{send.done.value}</p>}
      {refused.value.map((e) => <p key={e} class="trouble" role="alert">{e}</p>)}
      {send.trouble.value && <p class="trouble" role="alert">{send.trouble.value}</p>}
    </div>
  );
}

interface Props {
  r: UndecidedRun;
  may: boolean;
  busy: boolean;
  mine: boolean;
  picked: boolean;
  pick(on: boolean): void;
  take(): void;
}

function OneRun({ r, may, busy, mine, picked, pick, take }: Props): JSX.Element {
  const store = useStore();
  const rolls = undecidedRolls(r);
  const name = `${store.nameOf(r.unit)} ${processName(r.process)}`;
  return (
    <li class="runitem">
      {may && <input type="checkbox" checked={picked} onChange={(e) => pick(e.currentTarget.checked)} aria-label={`Tick ${name}`} />}
      <span>
        <VerdictMark standing={standingOf(r)} />{" "}
        <a href={runLink(r.id)}>{name} <span class="num">{moment(ms(r.started_at) ?? 0, store.now.peek())}</span></a>
        {r.reasons?.[0] && ` ${said(r.reasons[0].text)}`}
        {rolls.length > 0 ? ` ${rolls.length === 1 ? "Roll" : "Rolls"} ${rolls.join(", ")}.` : " Rolls unknown."}
        {" "}<b>{ownerWords(r)}, undecided for {age(r.age_s)}.</b>
      </span>
      {may && !mine && <button class="plain tiny" disabled={busy} onClick={take} aria-label={`I will decide: ${name}`}>I will decide</button>}
    </li>
  );
}
