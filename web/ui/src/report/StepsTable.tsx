import type { JSX } from "preact";
import { degrees } from "../state/prefs";
import type { Report, RunStep } from "../types";
import { limits, temperature } from "../words/measure";
import { stepWords } from "../words/steps";
import { signed } from "../words/stops";
import { clockSpan } from "../words/time";
import { SourceKind, standingOfFigure } from "../shared/SourceKind";
import { Part } from "./Part";

const span = (s: number | null): string => (s === null ? "–" : clockSpan(Math.round(s)));

/** What was planned and what happened, step by step. */
export function StepsTable({ report }: { report: Report }): JSX.Element {
  const label = (s: RunStep): string => report.timeline.steps?.find((t) => t.n === s.n)?.label ?? "";
  const own = report.judged_by.figures.filter((f) => f.note);
  return (
    <Part title="Steps">
      <div class="scroll" tabIndex={0} role="region" aria-label="Steps, planned and as they were">
        <table>
          <thead>
            <tr>
              <th scope="col">Step</th><th scope="col">Sheet</th><th scope="col">Set</th><th scope="col">Took</th><th scope="col">Equivalent time</th>
              <th scope="col">Limits</th><th scope="col">Mean</th><th scope="col">Lowest–highest</th><th scope="col">Outside</th><th scope="col">Push error</th>
            </tr>
          </thead>
          <tbody>
            {report.run.steps.map((s) => <Row key={s.n} s={s} label={label(s)} kind={(...names) => standingOfFigure(report.judged_by.figures.filter((f) => f.step === s.step), ...names)} />)}
          </tbody>
        </table>
      </div>
      {own.map((f) => <p key={f.step} class="source"><b>{stepWords(f.step, "").full}, limits {f.value}:</b> {f.note}.</p>)}
      <p class="source">Equivalent time: the time at the sheet's temperature that would have developed as much. Push error in stops, with its range.</p>
    </Part>
  );
}

function Row({ s, label, kind }: { s: RunStep; label: string; kind(...names: string[]): string }): JSX.Element {
  const d = degrees.value;
  const off = s.time_s !== null && s.sheet_s !== null && Math.abs(s.time_s - s.sheet_s) >= 1 ? s.time_s - s.sheet_s : null;
  return (
    <tr class={(s.outside_s ?? 0) > 0 ? "outside" : ""}>
      <th scope="row">{stepWords(s.step, label).full}{s.fills > 1 && <span class="muted"> {s.fills} fills</span>}</th>
      <td>{span(s.sheet_s)}<SourceKind of={kind("push_s", "push_factor") || kind("aim_s")} /></td>
      <td>{span(s.set_s)}</td>
      <td>{span(s.time_s)}{off !== null && <span class="muted"> {off > 0 ? "+" : "−"}{Math.round(Math.abs(off))} s</span>}</td>
      <td>{span(s.equivalent_s)}</td>
      <td>{s.low_c === null || s.high_c === null ? "–" : limits(s.low_c, s.high_c, d)}<SourceKind of={kind("limits_c")} /></td>
      <td>{s.mean_c === null ? "–" : temperature(s.mean_c, d)}</td>
      <td>{s.min_c === null || s.max_c === null ? "–" : limits(s.min_c, s.max_c, d)}</td>
      <td>{s.outside_s === null ? "–" : s.outside_s > 0 ? <b>! {span(s.outside_s)}</b> : "0"}</td>
      <td>
        {s.push_error_stops === null ? "" : signed(s.push_error_stops)}
        {s.push_error_low_stops !== null && s.push_error_high_stops !== null && (
          <span class="muted"> {signed(s.push_error_low_stops)} to {signed(s.push_error_high_stops)}</span>
        )}
      </td>
    </tr>
  );
}
