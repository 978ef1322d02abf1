import type { JSX } from "preact";
import { stepWords } from "../words/steps";
import { clockSpan, hourMinuteSecond, ms } from "../words/time";
import { adviceWord, reasonWord } from "../words/verdict";
import { SourceKind } from "../shared/SourceKind";
import { Part } from "./Part";
import type { LookFor, Report } from "../types";
import { said } from "../state/said";

/** Why, most likely first; for each what to look for and what can still be done. */
export function Reasons({ report }: { report: Report }): JSX.Element {
  const reasons = report.run.reasons;
  const look = report.look_for;
  const mine = (code: string, step: string | undefined): LookFor | undefined =>
    look.find((l) => l.code === code && (l.step ?? "") === (step ?? "")) ?? look.find((l) => l.code === code && !l.step);
  return (
    <Part title="Why">
      {reasons.length === 0 && <p>{report.run.verdict ? "Nothing was found off." : "Not judged yet."}</p>}
      <ol class="reasons">
        {reasons.map((r, i) => {
          const l = mine(r.code, r.step);
          return (
            <li key={i}>
              <p class="what">
                <span class="code">{reasonWord(r.code)}{r.step && `, ${stepWords(r.step).full.toLowerCase()}`}</span>
                {said(r.text)}
              </p>
              {l?.look && <p><b>Look for</b> {said(l.look)}</p>}
              {l?.remedy && <p><b>Can still be done</b> {said(l.remedy)}</p>}
              {l?.source && <p class="source">{l.source} <SourceKind of={l.standing} /></p>}
            </li>
          );
        })}
      </ol>
    </Part>
  );
}

/** Each loss of power: when, how long, and what to do about it. */
export function Outages({ report }: { report: Report }): JSX.Element | null {
  const list = report.run.outages;
  if (list.length === 0) return null;
  return (
    <Part title="Power">
      {list.map((o, i) => {
        const lost = ms(o.lost_at);
        const back = ms(o.back_at);
        return (
          <div key={i} class="outage">
            <p>
              <b class="num">{o.outage_s === null ? "Mains power lost, not back yet" : `Mains power lost for ${clockSpan(Math.round(o.outage_s))}`}</b>{" "}
              <span class="num muted">
                {lost === null ? "" : hourMinuteSecond(lost)}{back === null ? "" : ` to ${hourMinuteSecond(back)}`}
                {o.step && ` in ${stepWords(o.step).full.toLowerCase()}`} · {o.kind === "restart" ? "the controller went down too" : "the controller ran on"}
              </span>
            </p>
            {o.advice && (
              <p>
                <b>Advised: {adviceWord(o.advice)}</b>
                {o.advised_remaining_s !== null && <span class="num">, {clockSpan(Math.round(o.advised_remaining_s))} more when the power was back</span>}
              </p>
            )}
            <p>{said(o.text)}</p>
          </div>
        );
      })}
    </Part>
  );
}
