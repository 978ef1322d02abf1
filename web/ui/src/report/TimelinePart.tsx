import type { JSX } from "preact";
import { useLayoutEffect, useRef } from "preact/hooks";
import { useSignal } from "@preact/signals";
import { stepWords } from "../words/steps";
import { clockSpan, hourMinuteSecond, MINUTE, ms } from "../words/time";
import { Drawing, drawingWords } from "./Drawing";
import { boxFor } from "./frame";
import { layOut, stretches, type MarkKind, type Stretch } from "./layout";
import { printing } from "./printing";
import { Shape, shapeWords } from "./Shape";
import type { Report } from "../types";
import { said } from "../state/said";

/** The width that a drawing for paper is made for; the sheet then makes it smaller. */
const PAPER_WIDE = 1000;

/** The drawing, as wide as it may be, and beneath it each mark in words. */
export function TimelinePart({ report }: { report: Report }): JSX.Element {
  const holder = useRef<HTMLDivElement>(null);
  const width = useSignal(0);
  useLayoutEffect(() => {
    const el = holder.current;
    if (!el) return;
    const measure = (): void => {
      const w = Math.round(el.clientWidth);
      if (!printing.peek() && w > 0 && Math.abs(w - width.peek()) > 1) width.value = w;
    };
    measure();
    const watch = new ResizeObserver(measure);
    watch.observe(el);
    return () => watch.disconnect();
  }, []);
  const layout = layOut(report.timeline, report.run);
  const marks = stretches(report.timeline);
  const rows: (MarkKind | "alerts")[] = (["outage", "unheard", "still", "by-hand"] as const).filter((k) => marks.some((m) => m.kind === k));
  if (report.alerts.length > 0) rows.push("alerts");
  const box = boxFor(printing.value ? PAPER_WIDE : width.value || PAPER_WIDE, (layout.to - layout.from) / MINUTE, rows.length);
  if (layout.frames.length === 0) return <p class="muted">No data was received of any step of this run, so there is nothing to draw.</p>;
  return (
    <figure class="timeline">
      <div ref={holder} class="holder" role="img" aria-label={`The run in time. ${drawingWords(report)}`}>
        {(printing.value || width.value > 0) && <Drawing report={report} layout={layout} box={box} marks={marks} rows={rows} />}
      </div>
      <figcaption>
        <p class="key muted">
          <span class="key-planned" /> planned <span class="key-was" /> as it was <span class="key-band" /> limits of the step
          {report.timeline.envelope.length > 0 && <><span class="key-good" /> the good runs</>}
          <span class="key-line" /> bath
        </p>
        <Left before={layout.before} after={layout.after} />
        <Words report={report} marks={marks} />
      </figcaption>
    </figure>
  );
}

/** What is not drawn, so that nobody takes the drawing for the whole. */
function Left({ before, after }: { before: number; after: number }): JSX.Element | null {
  const parts = [
    before > MINUTE ? `the ${clockSpan(before / 1000)} before the first bath` : "",
    after > MINUTE ? `the ${clockSpan(after / 1000)} after the last` : "",
  ].filter(Boolean);
  return parts.length === 0 ? null : <p class="muted left">Not drawn: {parts.join(" and ")}.</p>;
}

const stamp = (t: number): string => hourMinuteSecond(t);

function Words({ report, marks }: { report: Report; marks: Stretch[] }): JSX.Element | null {
  const alerts = report.alerts;
  if (marks.length + alerts.length === 0) return null;
  return (
    <ul class="marks">
      {marks.map((m, i) => (
        <li key={i} class={m.kind}>
          <Shape kind={m.kind} />
          <span>
            <b>{shapeWords[m.kind]} {clockSpan(Math.round((m.to - m.from) / 1000))}</b>{" "}
            <span class="num">{stamp(m.from)}–{stamp(m.to)}</span>
            {m.label && m.label.toLowerCase() !== shapeWords[m.kind] && <span class="muted"> {m.label}</span>}
          </span>
        </li>
      ))}
      {alerts.map((a) => (
        <li key={a.id} class={a.priority}>
          <Shape kind={a.priority} />
          <span>
            <b>{a.priority} alert</b> <span class="num">{stamp(ms(a.raised_at) ?? 0)}</span> {said(a.message)}
            {a.step && <span class="muted"> {stepWords(a.step).full.toLowerCase()}</span>}
          </span>
        </li>
      ))}
    </ul>
  );
}
