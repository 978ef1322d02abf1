import type { JSX, TargetedSubmitEvent } from "preact";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { wantWords } from "../load/rolls";
import { Part, Waiting } from "../shared/parts";
import { useGet } from "../shared/useGet";
import { useMay, useSend } from "../shared/useSend";
import { moment, ms } from "../words/time";
import { answerWords, chunks, overdue } from "./list";
import "./rolls.css";
import type { RollListAnswer, WaitingList, WaitingRoll } from "../types";

/** Rolls: what waits, and the list that whatever takes orders gives. */
export function RollsPage(): JSX.Element {
  const store = useStore();
  const may = useMay();
  const { got, again } = useGet<WaitingList>("/rolls?limit=1000");
  const rolls = got.value.value?.rolls ?? null;
  const now = store.now.value;
  return (
    <section class="list rolls">
      <h1>Rolls waiting</h1>
      <p class="muted">What each roll is for is saved from its first card, list or load on, for 60 days, and counts whenever it is scanned.</p>
      {may.enter && <Paste again={() => void again()} />}
      {rolls === null && <Waiting got={got.value} again={again} what="The list of rolls" />}
      {rolls?.length === 0 && <p class="empty">No roll waits. Paste a list above, or scan rolls where a <a href="#/load">unit is loaded</a>.</p>}
      {rolls !== null && rolls.length > 0 && (
        <>
          <p class="count" role="status">{rolls.length === 1 ? "1 roll waits" : `${rolls.length} rolls wait`}, the first due on top.</p>
          <ul class="waiting">{rolls.map((r) => <OneRoll key={r.twin_check} r={r} now={now} again={() => void again()} />)}</ul>
        </>
      )}
    </section>
  );
}

function OneRoll({ r, now, again }: { r: WaitingRoll; now: number; again(): void }): JSX.Element {
  const store = useStore();
  const may = useMay();
  const send = useSend();
  const asks = useSignal<"" | "stop" | "remove">("");
  const due = ms(r.due_at);
  const path = `/rolls/${encodeURIComponent(r.twin_check)}`;
  const stop = async (reason: string): Promise<void> => {
    if (await send.send("POST", `${path}/stop`, { reason })) { asks.value = ""; again(); }
  };
  const remove = async (): Promise<void> => {
    if (await send.send("DELETE", path)) again();
  };
  const loaded = r.loaded;
  return (
    <li class={r.stop ? "stopped" : ""}>
      <b class="num twin">{r.twin_check}</b>
      <span class="what">
        <span>{r.process ? wantWords({ process: r.process, push: r.push ?? 0 }) : "process not said"}</span>
        {(r.film || r.format) && <span>{[r.film, r.format].filter(Boolean).join(", ")}</span>}
        {r.order && <span>order {r.order}</span>}
        {r.note && <span class="muted">{r.note}</span>}
      </span>
      <span class={overdue(r, now) ? "due late" : "due"}>{due === null ? "no due date" : `${overdue(r, now) ? "was due" : "due"} ${moment(due, now)}`}</span>
      <span class="state">
        {r.stop && <b><span aria-hidden="true">▲</span> STOP: {r.stop}</b>}
        {loaded.map((u) => <a key={u} href={`#/load/${u}`}>loaded in {store.nameOf(u)}</a>)}
      </span>
      {may.enter && asks.value === "" && (
        <span class="acts">
          {r.stop
            ? <button class="plain tiny" disabled={send.busy.value} onClick={() => void stop("")}>It may be run</button>
            : <button class="plain tiny" onClick={() => (asks.value = "stop")} aria-label={`Mark STOP: ${r.twin_check}`}>Mark STOP</button>}
          <button class="plain tiny" onClick={() => (asks.value = "remove")} aria-label={`Remove ${r.twin_check}`}>Remove</button>
        </span>
      )}
      {asks.value === "stop" && <StopForm twin={r.twin_check} busy={send.busy.value} stop={(why) => void stop(why)} leave={() => (asks.value = "")} />}
      {asks.value === "remove" && (
        <span class="acts">
          <button class="solid tiny" disabled={send.busy.value} onClick={() => void remove()}>Remove {r.twin_check}: it will not come</button>
          <button class="plain tiny" onClick={() => (asks.value = "")}>Leave it</button>
        </span>
      )}
      {send.trouble.value && <p class="trouble" role="alert">{send.trouble.value}</p>}
    </li>
  );
}

function StopForm({ twin, busy, stop, leave }: { twin: string; busy: boolean; stop(why: string): void; leave(): void }): JSX.Element {
  return (
    <form class="acts" onSubmit={(e: TargetedSubmitEvent<HTMLFormElement>) => { e.preventDefault(); stop(String(new FormData(e.currentTarget).get("why") ?? "").trim()); }}>
      <label>Why must {twin} not be run?<input name="why" required maxLength={200} placeholder="order canceled" /></label>
      <button class="solid tiny" disabled={busy}>Mark STOP</button>
      <button class="plain tiny" type="button" onClick={leave}>Leave it</button>
    </form>
  );
}

/** Takes a list as it is pasted, or a file. */
function Paste({ again }: { again(): void }): JSX.Element {
  const store = useStore();
  const text = useSignal("");
  const said = useSignal<RollListAnswer | null>(null);
  const trouble = useSignal("");
  const busy = useSignal(false);
  const take = async (): Promise<void> => {
    busy.value = true;
    const sum: RollListAnswer = { new: 0, changed: 0, same: 0, taken: [], refused: [], ignored: [] };
    try {
      for (const part of chunks(text.value)) {
        const a = await store.act<RollListAnswer>("POST", "/rolls.csv", part.text);
        for (const k of ["new", "changed", "same"] as const) sum[k] += a[k];
        sum.refused = [...sum.refused, ...a.refused.map((r) => ({ ...r, row: r.row + part.rows }))];
        sum.ignored = a.ignored;
      }
      said.value = sum;
      trouble.value = "";
      if (sum.refused.length === 0) text.value = "";
      again();
    } catch (e) {
      trouble.value = e instanceof Error ? e.message : String(e);
    } finally {
      busy.value = false;
    }
  };
  const file = async (e: { currentTarget: HTMLInputElement }): Promise<void> => {
    const f = e.currentTarget.files?.[0];
    if (f) text.value = await f.text();
  };
  return (
    <Part title="Import a list" note="From whatever takes orders: copy its rows, or choose its file.">
      <form class="paste" onSubmit={(e) => { e.preventDefault(); void take(); }}>
        <label>
          A roll a line, with tab, comma or semicolon between
          <textarea
            rows={5} value={text.value} onInput={(e) => (text.value = e.currentTarget.value)} spellcheck={false}
            placeholder={"twin check, process, push, order, due\n48213, C-41, 0, A-1071, 2026-12-01 17:00"}
          />
        </label>
        <p class="muted">The first line may name the columns: twin check, process, push, order, due, film, format, note, stop. Sent again, a list changes nothing.</p>
        <span class="acts">
          <button class="solid" disabled={busy.value || text.value.trim() === ""}>{busy.value ? "One moment…" : "Import the list"}</button>
          <label class="plain filepick">A file<input type="file" accept=".csv,.txt,.tsv,text/csv,text/plain" onChange={(e) => void file(e)} /></label>
        </span>
      </form>
      {trouble.value && <p class="trouble" role="alert">{trouble.value}</p>}
      {said.value && (
        <div role="status">
          <p><b>{answerWords(said.value)}</b></p>
          {said.value.ignored.length > 0 && <p>Columns not used: {said.value.ignored.join(", ")}.</p>}
          {said.value.refused.length > 0 && (
            <>
              <p>Not imported; correct these rows and import the list again:</p>
              <ul class="refused">{said.value.refused.map((r) => <li key={r.row}><b>Row {r.row}</b> {r.twin_check && <span class="num">{r.twin_check}: </span>}{r.error}</li>)}</ul>
            </>
          )}
        </div>
      )}
    </Part>
  );
}
