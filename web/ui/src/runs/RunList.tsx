import type { JSX } from "preact";
import { useEffect, useRef } from "preact/hooks";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { narrow } from "../state/prefs";
import { processName } from "../words/steps";
import { decisions, decisionWord, standingWords } from "../words/verdict";
import { Choice } from "./Choice";
import { everything, isEverything, processIds, readTerm, type Asked, type NumberIs } from "./query";
import { RollNow } from "./RollNow";
import { RunRow } from "./RunRow";
import { lookUp } from "../scan/lookup";
import { usePageScan, type Heard } from "../scan/takers";
import { asked, seek } from "./seek";
import { useRuns } from "./useRuns";
import "./runs.css";

/** Every run, running ones on top, with one field for whatever is known of it. */
export function RunList(): JSX.Element {
  const store = useStore();
  const a = asked.value;
  const found = useRuns(a).value;
  const now = store.now.peek();
  const rows = found.rows ?? [];
  const running = rows.filter((r) => r.outcome === "running");
  const ended = rows.filter((r) => r.outcome !== "running");
  return (
    <section class="list runs">
      <h1>Runs</h1>
      <Search />
      {narrow.value ? (
        <details class="narrowdown" open={!isEverything({ ...a, number: "" })}>
          <summary>By unit, process, verdict, decision, day</summary>
          <Filters />
        </details>
      ) : <Filters />}
      {found.trouble && <p class="trouble" role="alert">{found.trouble}</p>}
      <p class="count muted" role="status">
        {found.rows === null ? "Looking…" : countWords(rows.length, a, found.as)}
      </p>
      {running.length > 0 && (
        <>
          <h2>Running now</h2>
          <ol class="runrows">{running.map((r) => <RunRow key={r.id} run={r} now={now} />)}</ol>
        </>
      )}
      {ended.length > 0 && (
        <>
          <h2>{running.length > 0 ? "Before" : <span class="unseen">Found</span>}</h2>
          <ol class="runrows">{ended.map((r) => <RunRow key={r.id} run={r} now={now} />)}</ol>
        </>
      )}
      {a.number && <RollNow key={a.number} number={a.number} />}
      {found.rows?.length === 0 && <Nothing a={a} />}
    </section>
  );
}

function countWords(n: number, a: Asked, as: NumberIs): string {
  const runs = n === 1 ? "1 run" : n >= 200 ? "The newest 200 runs" : `${n} runs`;
  return a.number ? (n === 0 ? "" : as === "run" ? `${runs} whose name begins with ${a.number}` : `${runs} with ${as} ${a.number}`) : isEverything(a) ? (n === 0 ? "" : `${runs}, newest first`) : `${runs} found`;
}

/** The one field: a scanner types digits and Enter; so may a person. */
function Search(): JSX.Element {
  const store = useStore();
  const text = useSignal("");
  const field = useRef<HTMLInputElement>(null);
  // A page honours autofocus once; this one comes and goes.
  useEffect(() => field.current?.focus(), []);
  const scanned = async (code: string): Promise<Heard> => {
    const known = readTerm(code, store.units().map((h) => h.unit), store.now.peek());
    await seek(store, code);
    if (!known.number) return { ok: true, words: "The runs that fit are listed." };
    // The list, or the one run, is open already: no doors stand in its way.
    const { doors: _open, ...heard } = await lookUp(store, code);
    return heard;
  };
  usePageScan(scanned);
  const find = (): void => {
    const term = text.value;
    text.value = "";
    void seek(store, term);
  };
  return (
    <form class="seek" role="search" aria-label="Search the runs" onSubmit={(e) => { e.preventDefault(); find(); }}>
      <label for="seek">Scan or type</label>
      <input
        id="seek" ref={field} value={text.value} onInput={(e) => (text.value = e.currentTarget.value)} autocomplete="off"
        autocapitalize="off" spellcheck={false} enterkeyhint="search" maxLength={80} aria-describedby="seek-hint"
      />
      <button class="solid">Find</button>
      <p id="seek-hint" class="muted">A roll's twin check, an order, a unit, a process, a verdict, a day (2026-11-24, today).</p>
    </form>
  );
}

function Filters(): JSX.Element {
  const store = useStore();
  const a = asked.value;
  const set = (change: Partial<Asked>): void => {
    asked.value = { ...asked.value, ...change };
  };
  const units = [...store.order.value].sort();
  return (
    <div class="filters">
      <Choice label="Unit" value={a.unit} onPick={(unit) => set({ unit })} options={units.map((id) => [id, store.nameOf(id)])} />
      <Choice label="Process" value={a.process} onPick={(process) => set({ process })} options={processIds.map((id) => [id, processName(id)])} />
      <Choice
        label="Verdict" value={a.verdict} onPick={(verdict) => set({ verdict })}
        options={(["in-control", "inspect", "out-of-control"] as const).map((v) => [v, standingWords[v]])}
      />
      <Choice
        label="Decision" value={a.decision} onPick={(decision) => set({ decision })}
        options={[["none", "not yet"], ...decisions.map(([c]): [string, string] => [c, decisionWord(c).toLowerCase()])]}
      />
      <span class="days">
      <label class="pick">From<input type="date" value={a.from} onChange={(e) => set({ from: e.currentTarget.value })} /></label>
      <label class="pick">To<input type="date" value={a.to} onChange={(e) => set({ to: e.currentTarget.value })} /></label>
      </span>
      {a.number && <button class="plain" onClick={() => set({ number: "" })}>{a.number} <span aria-hidden="true">×</span><span class="unseen"> remove</span></button>}
      {!isEverything(a) && <button class="plain" onClick={() => (asked.value = everything)}>Show all</button>}
    </div>
  );
}

function Nothing({ a }: { a: Asked }): JSX.Element {
  if (a.number) {
    return (
      <div class="empty">
        <h2>No run carried {a.number}</h2>
        <p>
          No roll, order or run of that name went through a unit. If the film was processed, open its run by unit and day
          and scan the roll there.
        </p>
      </div>
    );
  }
  if (!isEverything(a)) {
    return (
      <div class="empty">
        <h2>No run fits all of this</h2>
        <button class="solid" onClick={() => (asked.value = everything)}>Show all runs</button>
      </div>
    );
  }
  return (
    <div class="empty">
      <h2>No run yet</h2>
      <p>A run appears here by itself when a unit begins it. To say beforehand which rolls it carries, <a href="#/load">load a unit</a>.</p>
    </div>
  );
}
