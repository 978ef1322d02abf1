import type { JSX } from "preact";
import { useStore } from "../context";
import { Choice } from "../runs/Choice";
import { degrees } from "../state/prefs";
import { spanWords, dayOf } from "../words/day";
import { processName, pushName, stepWords } from "../words/steps";
import { signed } from "../words/stops";
import { clockSpan, moment, ms } from "../words/time";
import { runKinds, runKindWord } from "../words/verdict";
import { Part } from "./Part";
import type { Finding, JudgedBy, Report } from "../types";
import { useAct, useMayEnter } from "./useAct";
import { said } from "../state/said";

const day = (s: string): string => dayOf(ms(s) ?? 0);

/** The run beside the good runs of its process, push and unit. */
export function ComparedPart({ report }: { report: Report }): JSX.Element {
  const c = report.compared;
  if (!c) return <Part title="Beside good runs"><p>There are too few good runs of this process on this unit to compare with yet.</p></Part>;
  const findings = c.findings;
  return (
    <Part title="Beside good runs">
      {findings.length === 0
        ? <p>Nothing stands out from {c.runs} good runs, {day(c.from)} to {day(c.to)}.</p>
        : <p class="muted">What stands out from {c.runs} good runs, {day(c.from)} to {day(c.to)}, farthest first:</p>}
      <ul class="findings">{findings.map((f, i) => <FindingLine key={i} f={f} />)}</ul>
    </Part>
  );
}

function FindingLine({ f }: { f: Finding }): JSX.Element {
  const most = 12;
  const at = Math.min(1, Math.abs(f.z) / most);
  return (
    <li>
      <span class="zbar" aria-hidden="true"><i style={{ width: `${(at * 50).toFixed(1)}%`, left: f.z < 0 ? `${(50 - at * 50).toFixed(1)}%` : "50%" }} /></span>
      <span><b>{stepWords(f.step).full}</b> {said(f.text)} <span class="muted num">robust z {signed(f.z, 1)}</span></span>
    </li>
  );
}

/** By which figures the run was judged, and what kind of run it is. */
export function JudgedPart({ report, again }: { report: Report; again(): void }): JSX.Element {
  const j = report.judged_by;
  const may = useMayEnter();
  const act = useAct(again);
  const { run } = report;
  return (
    <Part title="Judged by">
      <p>
        Sheet <b>{j.sheet_name || j.sheet}</b>, {[processName(run.process), pushName(run.push)].filter(Boolean).join(" ")}.{" "}
        {j.developer && `Developer in the bottle: ${j.developer.developer || "the sheet's own"}. `}
        {(j.house_aims ?? []).map((h) => `House aim ${stepWords(h.step).full.toLowerCase()}: ${clockSpan(h.equivalent_s)}. `)}
      </p>
      <p>{probeWords(j)}</p>
      <p>
        Run type: <b>{runKindWord(run.kind)}</b>.{" "}
        {run.kind === "film" ? "" : "Judged only for what concerns the floor and the unit, and not counted among the good runs. "}
      </p>
      {may && (
        <div class="entry screen">
          <Choice
            label="Correct the run type" value={run.kind} none={null} options={runKinds.map(([c, w]) => [c, w])}
            onPick={(kind) => void act.send("POST", `/runs/${encodeURIComponent(run.id)}/kind`, { kind })}
          />
          {act.trouble.value && <p class="trouble" role="alert">{act.trouble.value}</p>}
        </div>
      )}
      <Sources list={j.sources} />
    </Part>
  );
}

const FEW_SOURCES = 4;

/** Where the figures of the sheet are from; a long list is folded away. */
function Sources({ list }: { list: readonly string[] }): JSX.Element | null {
  if (list.length === 0) return null;
  if (list.length <= FEW_SOURCES) return <p class="source">Figures from {list.join("; ")}</p>;
  const open = list.filter((s) => s.endsWith("(unconfirmed)") || s.includes("from memory: ")).length; // the latter: a record from before
  return (
    <details class="sources">
      <summary>Where its {list.length} figures are from{open > 0 && `; ${open} are unconfirmed`}</summary>
      <ul>{list.map((s) => <li key={s}>{s}</li>)}</ul>
    </details>
  );
}

function probeWords(j: JudgedBy): string {
  const f = degrees.value === "F" ? 1.8 : 1;
  const size = (c: number): string => `${Math.abs(c * f).toFixed(2)} °${degrees.value}`;
  const checked = ms(j.probe_checked_at);
  const offset = j.probe_offset_c === 0 ? "" : `, ${size(j.probe_offset_c)} ${j.probe_offset_c > 0 ? "added to" : "taken from"} what it says`;
  return checked === null
    ? `The probe was never checked against a reference thermometer: right to ± ${size(j.probe_within_c)}${kindOfProbe(j)}${offset}.`
    : `The probe was checked on ${dayOf(checked)}: right to ± ${size(j.probe_within_c)}${offset}.`;
}

/** By which class a probe is judged that was never checked; "" in a record from before that was kept. */
function kindOfProbe(j: JudgedBy): string {
  if (j.probe_class === undefined) return "";
  return j.probe_class ? ` (class ${j.probe_class}, IEC 60751, published)` : " (its kind is not known: class B of IEC 60751, published)";
}

/** The sealed record of the run, and what the figures do not say. */
export function SealPart({ report }: { report: Report }): JSX.Element {
  const now = useStore().now.peek();
  const { seal } = report.run;
  return (
    <Part title="Record">
      {seal ? (
        <p>Sealed {moment(ms(seal.sealed_at) ?? 0, now)} as number <b class="num">{seal.index}</b> of the log, <code>{seal.hash.slice(0, 20)}</code>.
          A seal proves "unchanged since", not "true".</p>
      ) : (
        <p>{report.run.outcome === "running" ? "Not sealed: the run goes on." : "Not sealed yet: that is done 10 minutes after the end of a run, or after a day where something is missing."}</p>
      )}
      {report.run.gaps.length > 0 && <p>{report.run.gaps?.length === 1 ? "A stretch" : `${report.run.gaps?.length} stretches`} of telemetry never arrived.</p>}
      <ul class="notes">{report.notes.map((n, i) => <li key={i}>{n}</li>)}</ul>
      <p class="source">{report.made_by} · run {report.run.run} of {report.run.unit}, {spanWords(report.run.started_at, report.run.ended_at)}</p>
    </Part>
  );
}
