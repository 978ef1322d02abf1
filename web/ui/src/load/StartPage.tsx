import type { JSX } from "preact";
import { useEffect } from "preact/hooks";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { useList } from "../pages/useList";
import { Undecided } from "../handover/Undecided";
import { useGet } from "../shared/useGet";
import { FiguresNotice } from "../shared/FiguresNotice";
import { degrees, volumes } from "../state/prefs";
import type { HandOver, Run, TraceList, TracePoint } from "../types";
import { dayOf, dayStart } from "../words/day";
import { MINUTE } from "../words/time";
import { NextLoads } from "./NextLoads";
import { startLines, startSum, type StartLine } from "./start";
import type { LoadAnswer, LoadPlan } from "./types";
import "./load.css";
import "../handover/undecided.css";
import "../runs/runs.css";

const AGAIN_MS = MINUTE;
const BACK_MS = 15 * MINUTE;

/** The start of the day: a list for each unit of what is ready, what is to do, and what nobody knows. */
export function StartPage(): JSX.Element {
  const store = useStore();
  const today = dayOf(store.now.value);
  const from = new Date(dayStart(today) ?? 0).toISOString();
  const runs = useList<Run>(`/runs?${new URLSearchParams({ from, limit: "500" })}`, "runs").value;
  const ids = [...store.order.value].sort().filter((id) => store.unit(id)?.peek().unit.standing !== "out-of-service");
  return (
    <section class="list start">
      <h1>Start of the day</h1>
      <p class="muted">What the units say of themselves. Where they say nothing, it is unknown: look. What is done shows by itself.</p>
      <UndecidedFilm />
      <FiguresNotice />
      {runs.trouble && <p class="trouble" role="alert">{runs.trouble}</p>}
      {store.ready.value && ids.length === 0 && <p class="empty">No unit yet. When one sends its first message, accept it on the <a href="#/board">board</a>.</p>}
      <div class="mornings">{ids.map((id) => <OneUnit key={id} id={id} runs={runs.rows ?? []} />)}</div>
      <NextLoads />
    </section>
  );
}

/** Film of the days before that nobody has decided about comes first. */
function UndecidedFilm(): JSX.Element | null {
  const { got, again } = useGet<HandOver>("/hand-over", MINUTE);
  const list = got.value.value?.undecided ?? [];
  if (list.length === 0) return null;
  return (
    <section class="leftover" aria-label="Film nobody has decided about">
      <h2>Film nobody has decided about: <span class="num">{list.length}</span></h2>
      <Undecided list={list} again={() => void again()} />
    </section>
  );
}

const signs: Record<StartLine["standing"], [string, string]> = { fine: ["○", "ready"], todo: ["▲", "to do"], unknown: ["?", "unknown"] };

function OneUnit({ id, runs }: { id: string; runs: readonly Run[] }): JSX.Element | null {
  const store = useStore();
  const heard = store.unit(id)?.value;
  const asked = useAsked(id, heard?.unit.load?.process || heard?.unit.processes?.[0] || "");
  if (!heard) return null;
  const lines = startLines({ unit: heard.unit, plan: asked.plan, trace: asked.trace, runs, now: store.now.value, degrees: degrees.value, volumes: volumes.value });
  const { todo, unknown } = startSum(lines);
  const sum = todo > 0 ? `${todo} to do` : unknown > 0 ? `${unknown} to look at` : "ready";
  return (
    <section class="morning" aria-label={store.nameOf(id)}>
      <header>
        <h2>{store.nameOf(id)}</h2>
        <p>{sum}</p>
        <a class="button" href={`#/load/${id}`}>Load</a>
      </header>
      <ul class="planlist">
        {lines.map((l) => (
          <li key={l.what} class={l.standing === "todo" ? "wanting" : l.standing}>
            <span class="psign" aria-hidden="true">{signs[l.standing][0]}</span>
            <span><b>{l.what}</b> <span class="unseen">{signs[l.standing][1]}: </span>{l.words}</span>
          </li>
        ))}
      </ul>
    </section>
  );
}

/** The last quarter of an hour of a unit's temperatures and what its first process needs, once a minute. */
function useAsked(id: string, process: string): { plan: LoadPlan | null; trace: TracePoint[] } {
  const store = useStore();
  const out = useSignal<{ plan: LoadPlan | null; trace: TracePoint[] }>({ plan: null, trace: [] });
  useEffect(() => {
    let gone = false;
    const ask = async (): Promise<void> => {
      const now = store.now.peek();
      const q = new URLSearchParams({ from: new Date(now - BACK_MS).toISOString(), to: new Date(now).toISOString() });
      // Each by itself: what one lacks the other may know, and unknown is said.
      const [trace, load] = await Promise.allSettled([
        store.source.get<TraceList>(`/units/${id}/trace?${q}`),
        process ? store.source.get<LoadAnswer>(`/units/${id}/load?${new URLSearchParams({ process })}`) : Promise.reject(new Error("no process")),
      ]);
      if (gone) return;
      out.value = {
        trace: trace.status === "fulfilled" ? trace.value.points : [],
        plan: load.status === "fulfilled" ? load.value.plan : null,
      };
    };
    void ask();
    const timer = setInterval(() => void ask(), AGAIN_MS);
    return () => {
      gone = true;
      clearInterval(timer);
    };
  }, [id, process, store]);
  return out.value;
}
