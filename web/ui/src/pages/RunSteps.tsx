import type { JSX } from "preact";
import { degrees } from "../state/prefs";
import type { Run } from "../types";
import { limits, temperature } from "../words/measure";
import { stepWords } from "../words/steps";
import { clockSpan } from "../words/time";

const span = (s: number | null): string => (s === null ? "–" : clockSpan(Math.round(s)));
const stops = (v: number | null): string => (v === null ? "" : `${v > 0 ? "+" : v < 0 ? "−" : "±"}${Math.abs(v).toFixed(2)}`);

/** What was wanted and what happened, step by step. */
export function RunSteps({ run }: { run: Run }): JSX.Element {
  const unit = degrees.value;
  return (
    <div class="fold">
      {(run.reasons ?? []).map((r) => <p key={r.code + (r.step ?? "")}>{r.text}</p>)}
      {(run.outages ?? []).map((o, i) => <p key={i}>{o.text}</p>)}
      <div class="scroll" tabIndex={0} role="region" aria-label="Steps">
        <table>
          <thead>
            <tr>
              <th>Step</th><th>Sheet</th><th>Set</th><th>Took</th><th>Limits</th><th>Mean</th><th>Range</th><th>Outside</th><th>Push error, stops</th>
            </tr>
          </thead>
          <tbody>
            {(run.steps ?? []).map((s) => (
              <tr key={s.n}>
                <th scope="row">{stepWords(s.step).full}</th>
                <td>{span(s.sheet_s)}</td>
                <td>{span(s.set_s)}</td>
                <td>{span(s.time_s)}</td>
                <td>{s.low_c === null || s.high_c === null ? "–" : limits(s.low_c, s.high_c, unit)}</td>
                <td>{s.mean_c === null ? "–" : temperature(s.mean_c, unit)}</td>
                <td>{s.min_c === null || s.max_c === null ? "–" : limits(s.min_c, s.max_c, unit)}</td>
                <td>{s.outside_s === null ? "–" : span(s.outside_s)}</td>
                <td>
                  {stops(s.push_error_stops)}
                  {s.push_error_low_stops !== null && s.push_error_high_stops !== null && (
                    <span class="muted"> ({stops(s.push_error_low_stops)} to {stops(s.push_error_high_stops)})</span>
                  )}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </div>
  );
}
