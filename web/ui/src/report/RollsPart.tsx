import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { noTwinCheck, oddWords, twinCheck } from "../load/rolls";
import { asSent } from "../load/loading";
import { ScanField, type Heard } from "../load/ScanField";
import type { Report, Roll } from "../types";
import { Part } from "./Part";
import { useAct, useMayEnter } from "./useAct";

interface Props {
  report: Report;
  again(): void;
}

/** Which rolls were in it. What was not scanned is unknown, and says so. */
export function RollsPart({ report, again }: Props): JSX.Element {
  const store = useStore();
  const may = useMayEnter();
  const run = report.run;
  const rolls = run.rolls;
  const path = `/runs/${encodeURIComponent(run.id)}/rolls`;
  const act = useAct(again);
  const gone = useSignal<Roll | null>(null);
  const add = async (scanned: string): Promise<Heard> => {
    const code = twinCheck(scanned);
    if (code === null) return { ok: false, words: noTwinCheck(scanned) };
    if (rolls.some((r) => r.twin_check === code)) return { ok: false, words: `${code} is in this run already` };
    try {
      await store.act("POST", path, { add: [{ twin_check: code }] });
      again();
      return { ok: true, words: `${code} added` };
    } catch (e) {
      return { ok: false, words: `${code}: ${e instanceof Error ? e.message : String(e)}` };
    }
  };
  const remove = async (roll: Roll): Promise<void> => {
    if (await act.send("POST", path, { remove: [roll.twin_check] })) gone.value = roll;
  };
  const putBack = async (): Promise<void> => {
    const roll = gone.value;
    if (roll && (await act.send("POST", path, { add: [asSent(roll)] }))) gone.value = null;
  };
  return (
    <Part title="Rolls">
      {rolls.length === 0 && <p>Unknown: no roll was scanned for this run.{may && " Scan each twin check below, so that it is found again by number."}</p>}
      <ul class="rolllist">
        {rolls.map((r) => (
          <li key={r.twin_check}>
            <b class="num">{r.twin_check}</b>
            <span class="of">
            <span>{[r.film, r.format, r.order && `order ${r.order}`].filter(Boolean).join(", ")}</span>
            {oddWords(r, run) && <span class="odd"><span aria-hidden="true">▲</span> {oddWords(r, run)}</span>}
            {r.note && <span class="muted">{r.note}</span>}
            </span>
            {may && <button class="plain tiny screen" disabled={act.busy.value} onClick={() => void remove(r)} aria-label={`Remove ${r.twin_check} from this run`}>Remove</button>}
          </li>
        ))}
      </ul>
      {gone.value && (
        <p class="screen" role="status">
          {gone.value.twin_check} was removed. <button class="plain" onClick={() => void putBack()}>Undo</button>
        </p>
      )}
      {act.trouble.value && <p class="trouble" role="alert">{act.trouble.value}</p>}
      {may && <div class="screen"><ScanField label="Scan a roll" hint="Twin check, Enter between." onScan={add} /></div>}
    </Part>
  );
}
