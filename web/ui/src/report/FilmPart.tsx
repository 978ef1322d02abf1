import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { runLink } from "../route";
import { useGet } from "../shared/useGet";
import type { Report, Run, RunList } from "../types";
import { filmStateWord } from "../words/film";
import { stepWords } from "../words/steps";
import { hourMinute, ms } from "../words/time";
import { Part } from "./Part";
import { useAct, useMayEnter } from "./useAct";

const outcomes: Record<string, string> = { running: "runs", done: "done", aborted: "aborted", lost: "given up" };

/** The film's whole way: one film may go through several runs, and is judged over all of them. */
export function FilmPart({ report, again }: { report: Report; again(): void }): JSX.Element | null {
  const { film } = report.run;
  if (!film) return null;
  const several = film.runs.length > 1;
  return (
    <Part title="The film">
      <p>{`${filmStateWord(film).replace(/^./, (c) => c.toUpperCase())}${film.fixed ? ", fixed" : film.state === "dry" ? "" : ", not fixed"}.`}
        {several && " One film over several runs: they are judged together, and each shows that verdict."}</p>
      {several && (
        <ol class="way">
          {film.runs.map((r) => (
            <li key={r.id}>
              {r.id === report.run.id ? <b>{r.run} (this run)</b> : <a href={runLink(r.id)}>{r.run}</a>}{" "}
              <span class="num muted">{hourMinute(ms(r.started_at) ?? 0)}{r.ended_at && `–${hourMinute(ms(r.ended_at) ?? 0)}`}</span> {outcomes[r.outcome] ?? r.outcome}
              {r.proposed && " · taken to go on with the film, because it began soon after with a later step"}
            </li>
          ))}
        </ol>
      )}
      <Link run={report.run} again={again} />
    </Part>
  );
}

/** Links the run to the one whose film it took on, or undoes that. */
function Link({ run, again }: { run: Run; again(): void }): JSX.Element | null {
  const may = useMayEnter();
  const act = useAct(again);
  const open = useSignal(false);
  if (!may) return null;
  const send = (id: string | null): Promise<boolean> => act.send("POST", `/runs/${encodeURIComponent(run.id)}/continues`, { run: id });
  return (
    <div class="screen">
      {run.continues
        ? <button class="plain tiny" disabled={act.busy.value} onClick={() => void send(null)}>It is another film: undo the link</button>
        : <button class="plain tiny" aria-expanded={open.value} onClick={() => (open.value = !open.value)}>It goes on with the film of an earlier run</button>}
      {open.value && !run.continues && <Earlier run={run} busy={act.busy.value} link={send} />}
      {act.trouble.value && <p class="trouble" role="alert">{act.trouble.value}</p>}
    </div>
  );
}

/** The unit's runs before this one, newest first. */
function Earlier({ run, busy, link }: { run: Run; busy: boolean; link(id: string): Promise<boolean> }): JSX.Element {
  const { got } = useGet<RunList>(`/runs?${new URLSearchParams({ unit: run.unit, to: run.started_at, limit: "8" })}`);
  const began = ms(run.started_at) ?? 0;
  const list = (got.value.value?.runs ?? []).filter((r) => r.id !== run.id && r.kind === "film" && (ms(r.started_at) ?? 0) < began).slice(0, 5);
  if (got.value.value && list.length === 0) return <p>There is no earlier run of this unit.</p>;
  return (
    <ul class="way">
      {list.map((r) => {
        const last = r.steps?.at(-1)?.step;
        return (
          <li key={r.id}>
            <button class="plain tiny" disabled={busy} onClick={() => void link(r.id)}>{r.run}</button>{" "}
            <span class="num muted">{hourMinute(ms(r.started_at) ?? 0)}</span> {outcomes[r.outcome] ?? r.outcome}{last && ` in ${stepWords(last).full.toLowerCase()}`}
          </li>
        );
      })}
    </ul>
  );
}
