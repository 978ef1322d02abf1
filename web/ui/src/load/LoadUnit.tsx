import type { JSX } from "preact";
import { useEffect } from "preact/hooks";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { processIds } from "../runs/query";
import { complete, scannedWords } from "../rolls/known";
import type { RollAnswer, RollPage } from "../types";
import { processName, pushName } from "../words/steps";
import { DarkWarning } from "./LoadPage";
import { ProposedHere } from "./NextLoads";
import { afterCheck, asSent, dropRoll, nothingLoaded, setWant, takeCode, unitLabel, type Loading } from "./loading";
import { PlanList } from "./PlanList";
import { RollRows } from "./RollRows";
import { wantWords, type Want } from "./rolls";
import { usePageScan } from "../scan/takers";
import { ScanField, type Heard } from "./ScanField";
import { sound } from "./sound";
import type { LoadAnswer, LoadReason } from "./types";
import { Verdict } from "./Verdict";

const pushes = [-1, 0, 1, 2];

/** Loading one unit: process and push, the rolls, then the verdict. */
export function LoadUnit({ unit }: { unit: string }): JSX.Element {
  const store = useStore();
  const heard = store.unit(unit)?.value.unit;
  const run = useSignal<Want>({ process: heard?.load?.process || heard?.processes?.[0] || processIds[0] || "", push: heard?.load?.push ?? 0 });
  const load = useSignal<Loading>(nothingLoaded);
  const preview = useSignal<LoadAnswer | null>(null);
  const answer = useSignal<LoadAnswer | null>(null);
  const said = useSignal<RollAnswer[]>([]);
  const trouble = useSignal("");
  const busy = useSignal(false);
  const may = store.session.value?.role === "operator" || store.session.value?.role === "lead";
  const path = `/units/${unit}/load`;
  const fail = (e: unknown): void => {
    trouble.value = e instanceof Error ? e.message : String(e);
  };

  // What is loaded already is where to go on from.
  useEffect(() => {
    store.source.get<LoadAnswer>(path).then((a) => {
      if (!a.load || load.peek().rolls.length > 0) return;
      load.value = { rolls: a.load.rolls, want: null };
      said.value = a.load.answers ?? [];
      run.value = { process: a.load.process, push: a.load.push };
    }, () => undefined);
  }, [path]);
  // What water, waste and heater say, before a roll is scanned.
  useEffect(() => {
    const q = new URLSearchParams({ process: run.value.process, push: String(run.value.push) });
    let gone = false;
    store.source.get<LoadAnswer>(`${path}?${q}`).then((a) => { if (!gone) preview.value = a; }, (e) => { if (!gone) fail(e); });
    return () => { gone = true; };
  }, [path, run.value.process, run.value.push]);

  const check = async (): Promise<void> => {
    if (busy.value || !may) return;
    busy.value = true;
    try {
      answer.value = await store.act<LoadAnswer>("POST", path, { ...run.value, rolls: load.value.rolls.map(asSent), answers: said.value });
      trouble.value = "";
      sound(answer.value.verdict === "go" ? "taken" : "refused");
    } catch (e) {
      fail(e);
      sound("refused");
    } finally {
      busy.value = false;
    }
  };
  const answerTo = (r: LoadReason, choice: string): void => {
    const others = said.value.filter((a) => a.roll !== r.roll || a.code !== r.code);
    said.value = [...others, { roll: r.roll ?? "", code: r.code, of: r.of ?? "", answer: choice }];
    void check();
  };
  const undo = async (): Promise<void> => {
    try {
      await store.act("DELETE", path);
      load.value = nothingLoaded;
      said.value = [];
      answer.value = null;
      trouble.value = "";
    } catch (e) {
      fail(e);
    }
  };
  const scan = async (code: string): Promise<Heard> => {
    if (busy.peek()) return { ok: false, words: "The load is being checked. Scan it again when GO or STOP appears." };
    const other = unitLabel(code, unit, store.units().map((h) => h.unit), load.peek().rolls.length);
    if (other) {
      if (other.go) location.hash = `#/load/${other.go}`;
      return other.heard;
    }
    const { next, heard: h, added } = takeCode(load.value, code);
    load.value = next;
    if (added === null) return h;
    const large = `Roll ${next.rolls.length} in ${store.nameOf(unit)}`;
    const page = await store.source.get<RollPage>(`/rolls/${encodeURIComponent(added)}`).catch(() => null); // the check asks again
    if (!page) return { ...h, large };
    // Only what it does not say itself: what was said twice differently is asked at the check.
    load.value = { ...load.value, rolls: load.value.rolls.map((r) => (r.twin_check === added ? complete(r, page.known) : r)) };
    const { ok, words } = scannedWords(page, unit, (id) => store.nameOf(id), store.now.peek());
    return words ? { ok, words: `${h.words}. ${words}`, large: `${large}. ${words}` } : { ...h, large };
  };
  usePageScan(answer.value ? (code) => {
    const other = unitLabel(code, unit, store.units().map((h) => h.unit), 0);
    if (other?.go) location.hash = `#/load/${other.go}`;
    return other?.heard ?? afterCheck(code, load.peek(), store.nameOf(unit));
  } : null);

  if (answer.value) {
    return (
      <Verdict
        answer={answer.value} busy={busy.value} answerTo={answerTo} trouble={trouble.value} undo={() => void undo()} change={() => (answer.value = null)}
        next={() => { location.hash = "#/load"; }}
      />
    );
  }
  const n = load.value.rolls.length;
  return (
    <section class="list load">
      <p><a href="#/load" class="back">Other unit</a></p>
      <h1>Load {store.nameOf(unit)}</h1>
      <DarkWarning />
      {heard?.run && <p class="runningnote"><b>A run is in progress here.</b> What you load now is for the run after it.</p>}
      {n === 0 && <ProposedHere unit={unit} />}
      <RunChoice ids={heard?.processes?.length ? heard.processes : processIds} run={run.value} pick={(r) => (run.value = r)} />
      <div class="loadcols">
        <div>
          <ScanField label="Scan each roll" hint="Twin check, Enter between. Enter in the empty field checks." focus onScan={scan} onEmpty={() => void check()} />
          {load.value.want && (
            <p class="wantnow">Rolls from here on are for <b>{wantWords(load.value.want)}</b>. <button class="plain" onClick={() => (load.value = { ...load.value, want: null })}>As the unit is set</button></p>
          )}
          <RollRows
            rolls={load.value.rolls} run={run.value}
            drop={(t) => (load.value = dropRoll(load.value, t))} want={(t, w) => (load.value = setWant(load.value, t, w ?? run.value))}
          />
        </div>
        <div class="side">
          <p class="counted"><b class="num">{n}</b> {n === 1 ? "roll" : "rolls"}</p>
          <button class="solid check" disabled={busy.value || !may} onClick={() => void check()}>{busy.value ? "One moment…" : n === 0 ? "Check without rolls" : "Check: go or stop?"}</button>
          {!may && <p class="muted">Only operators and leads load a unit.</p>}
          {trouble.value && <p class="trouble" role="alert">{trouble.value}</p>}
          {preview.value?.plan && <PlanList plan={preview.value.plan} />}
        </div>
      </div>
    </section>
  );
}

function RunChoice({ ids, run, pick }: { ids: readonly string[]; run: Want; pick(w: Want): void }): JSX.Element {
  const all = ids.includes(run.process) || run.process === "" ? ids : [...ids, run.process];
  return (
    <div class="runchoice">
      <fieldset>
        <legend>Process</legend>
        {all.map((p) => <button key={p} class="plain" aria-pressed={run.process === p} onClick={() => pick({ ...run, process: p })}>{processName(p)}</button>)}
      </fieldset>
      <fieldset>
        <legend>Push</legend>
        {(pushes.includes(run.push) ? pushes : [...pushes, run.push]).map((p) => (
          <button key={p} class="plain" aria-pressed={run.push === p} onClick={() => pick({ ...run, push: p })}>{pushName(p) || "0"}</button>
        ))}
      </fieldset>
    </div>
  );
}
