import type { JSX } from "preact";
import { subject } from "../route";
import { ComparedPart, JudgedPart, SealPart } from "./BackParts";
import { BatchPart } from "./BatchPart";
import { DecisionPart } from "./DecisionPart";
import { FilmPart } from "./FilmPart";
import { Head } from "./Head";
import { MixesPart } from "./MixesPart";
import { Outages, Reasons } from "./Reasons";
import { RollsPart } from "./RollsPart";
import { SeenPart } from "./SeenPart";
import { StatementsPart } from "./StatementsPart";
import { StepsTable } from "./StepsTable";
import { StripPart } from "./StripPart";
import { TimelinePart } from "./TimelinePart";
import { useReport } from "./useReport";
import "../runs/runs.css";
import "./report.css";

/** What happened to the film of one run, and what people made of it. */
export function ReportPage(): JSX.Element {
  const id = subject.value;
  const { state, again } = useReport(id);
  const { report, trouble, missing } = state.value;
  if (!report) {
    return (
      <section class="list">
        <h1>Run</h1>
        {missing
          ? <p class="empty">There is no run with this name. <a href="#/runs">Look for it among all runs</a>.</p>
          : trouble ? <p class="trouble" role="alert">{trouble} <button class="plain" onClick={again}>Try again</button></p> : <p role="status">Fetching the report…</p>}
      </section>
    );
  }
  const film = report.run.kind === "film";
  return (
    <article class="list report">
      {trouble && <p class="trouble" role="alert">What is shown may be old: {trouble}</p>}
      <Head report={report} />
      <TimelinePart report={report} />
      <Reasons report={report} />
      <Outages report={report} />
      {film && <FilmPart report={report} again={again} />}
      {film && <RollsPart report={report} again={again} />}
      {film && <DecisionPart report={report} again={again} />}
      {film && <SeenPart report={report} again={again} />}
      <StatementsPart report={report} again={again} />
      <StepsTable report={report} />
      <MixesPart report={report} />
      <StripPart report={report} />
      <ComparedPart report={report} />
      <BatchPart key={report.run.id} report={report} />
      <JudgedPart report={report} again={again} />
      <SealPart report={report} />
    </article>
  );
}
