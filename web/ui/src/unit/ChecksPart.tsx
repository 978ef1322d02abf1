import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { Part, Said, Standing, Waiting } from "../shared/parts";
import { SourceKind } from "../shared/SourceKind";
import { useGet } from "../shared/useGet";
import { useMay, useSend } from "../shared/useSend";
import { moment, ms } from "../words/time";
import { checkOrder, checkStand, dueWords } from "./checks";
import type { Check } from "./types";
import type { CheckList } from "../types";

/** What is looked after on a unit, and when it is due. */
export function ChecksPart({ unit }: { unit: string }): JSX.Element {
  const { got, again } = useGet<CheckList>(`/units/${unit}/checks`, 60_000);
  const list = checkOrder(got.value.value?.checks ?? []);
  return (
    <Part title="Checks" note={<>What needs looking after. How often is set under <a href="#/settings/checks">Settings</a>.</>}>
      <Waiting got={got.value} again={again} what="The checks" />
      {got.value.value && list.length === 0 && <p>No check is due on this unit: all are switched off under Settings.</p>}
      <ul class="lines checks">{list.map((c) => <CheckRow key={c.check} c={c} unit={unit} again={again} />)}</ul>
    </Part>
  );
}

function CheckRow({ c, unit, again }: { c: Check; unit: string; again(): Promise<void> }): JSX.Element {
  const store = useStore();
  const may = useMay();
  const open = useSignal(false);
  const now = store.now.value;
  const s = checkStand(c);
  const opener = may.enter ? "Done, or how" : "How";
  return (
    <li>
      <Standing is={s.is} word={s.word} />
      <span class="what"><b>{c.label}</b> <span class="muted">{dueWords(c, now)}</span> <SourceKind of={c.standing} /></span>
      {c.last && <span class="muted">{c.last.ok ? "done" : "found"} {moment(ms(c.last.at) ?? now, now)} by {c.last.by}{c.last.note && `: ${c.last.note}`}{c.last.value !== null && ` (${c.last.value})`}</span>}
      <button class="plain" aria-expanded={open.value} aria-label={`${opener}: ${c.label}`} onClick={() => (open.value = !open.value)}>{opener}</button>
      {open.value && (
        <div class="howbox">
          <p>{c.how}</p>
          {c.from && <p class="muted">How often: {c.from}.</p>}
          {c.check === "probe" ? <p>Enter the difference under “What its runs are judged by”, below; that counts as this check.</p> : may.enter && <DoneForm c={c} unit={unit} done={async () => { open.value = false; await again(); }} />}
        </div>
      )}
    </li>
  );
}

function DoneForm({ c, unit, done }: { c: Check; unit: string; done(): Promise<void> }): JSX.Element {
  const act = useSend();
  const note = useSignal("");
  const value = useSignal("");
  const send = async (ok: boolean): Promise<void> => {
    const body = { check: c.check, ok, ...(note.value.trim() ? { note: note.value.trim() } : {}), ...(value.value.trim() && Number.isFinite(Number(value.value)) ? { value: Number(value.value) } : {}) };
    if (await act.send("POST", `/units/${unit}/checks`, body)) await done();
  };
  return (
    <form class="fields" onSubmit={(e) => { e.preventDefault(); void send(true); }}>
      <label>Measured, if anything<input inputMode="decimal" pattern="-?[0-9.]*" size={8} value={value.value} onInput={(e) => (value.value = e.currentTarget.value)} /></label>
      <label class="grow">What was found or done<input maxLength={1000} value={note.value} onInput={(e) => (note.value = e.currentTarget.value)} /></label>
      <button class="solid" disabled={act.busy.value}>Done, and fine</button>
      <button type="button" class="plain" disabled={act.busy.value} onClick={() => void send(false)}>Done: found a fault</button>
      <Said of={act} />
    </form>
  );
}
