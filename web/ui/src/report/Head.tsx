import type { JSX } from "preact";
import { VerdictMark } from "../runs/VerdictMark";
import { spanWords } from "../words/day";
import { kindName, processName, pushName, stepWords } from "../words/steps";
import { outcomeWords, standingMeans, standingOf } from "../words/verdict";
import { narrowerWords } from "../words/range";
import { hangsWords } from "./hangs";
import { PushScale } from "./PushScale";
import { scaleOf } from "./scale";
import type { Report } from "../types";

/** The three things said first: what it was, how it stands, how far off. */
export function Head({ report }: { report: Report }): JSX.Element {
  const { run } = report;
  const standing = standingOf(run);
  const scale = scaleOf(run, report.judged_by.inspect_stops ?? null, report.judged_by.out_stops ?? null);
  const narrow = narrowerWords(run.steps.find((s) => s.narrower && s.push_error_stops !== null)?.narrower);
  const hangs = hangsWords(report.judged_by.hangs_on);
  const base = `/api/v1/runs/${encodeURIComponent(run.id)}`;
  const rolls = run.rolls.length;
  return (
    <header class={`runslip ${standing}`}>
      <div class="about">
        <p class="muted">Run {run.run}, {outcomeWords(run.outcome)}</p>
        <h1>{report.unit_name || run.unit} <span>{processName(run.process)} {pushName(run.push)} {kindName(run.kind)}</span></h1>
        <p class="num">{spanWords(run.started_at, run.ended_at)}</p>
        <p>{run.kind !== "film" ? "No customers' film." : rolls === 0 ? "Rolls unknown: none was scanned." : rolls === 1 ? "1 roll." : `${rolls} rolls.`}</p>
        <p class="verdictline"><VerdictMark standing={standing} /></p>
        <p>{standingMeans[standing]}</p>
        {hangs && <p><b>{hangs}</b></p>}
      </div>
      <div class="far">
        {scale ? <><PushScale scale={scale} />{narrow && <p class="muted">{narrow}</p>}</> : (
          <p class="muted">No push error: {noError(report)}</p>
        )}
      </div>
      <p class="doors screen">
        <button class="plain" onClick={() => print()}>Print</button>
        <a class="button" href={`${base}/report.pdf`} download>PDF</a>
        <a class="button" href={`${base}/trace.csv`} download>Readings as CSV</a>
        <a class="button" href="#/runs">All runs</a>
      </p>
    </header>
  );
}

/** Why there is no push error, in the words after "No push error: ". */
export function noError({ run, timeline }: Pick<Report, "run" | "timeline">): string {
  const developers = timeline.steps.filter((s) => s.kind === "dev");
  if (run.outcome === "running") return "the developer is not done.";
  if (developers.length === 0) return "this run has no developer with push times.";
  const away = developers.find((s) => s.started_at === null);
  if (away) return `no data was received of the ${stepWords(away.step, away.label).full.toLowerCase()}.`;
  const holes = run.reasons.find((r) => r.code === "missing-evidence" && developers.some((s) => s.step === r.step));
  if (holes) return `not all data of the ${stepWords(holes.step ?? "").full.toLowerCase()} was received.`;
  return "the sheet has no push times for its developer.";
}
