import type { JSX } from "preact";
import { letters } from "../board/segments";
import { degrees } from "../state/prefs";
import { inDegrees, limits, temperature } from "../words/measure";
import { segmentNames } from "../words/steps";
import { hourMinute, MINUTE, ms } from "../words/time";
import { Pen, type Box } from "./frame";
import { across, bathLines, clockMarks, envelopes, farthest, type Frame, type Layout, type MarkKind, type Stretch } from "./layout";
import { shapeAt } from "./Shape";
import type { Report } from "../types";

interface Props {
  report: Report;
  layout: Layout;
  box: Box;
  marks: Stretch[];
  rows: (MarkKind | "alerts")[];
}

/** The run as a length of film: what was planned above, what happened below, threads between the two. */
export function Drawing({ report, layout, box, marks, rows }: Props): JSX.Element {
  const pen = new Pen(box, layout);
  const t = report.timeline;
  const bath = t.bath;
  return (
    <svg class={`drawing${box.hanging ? " hanging" : ""}`} viewBox={`0 0 ${box.width} ${box.height}`} width={box.width} height={box.height} aria-hidden="true">
      <defs>
        <pattern id="away" width="9" height="9" patternUnits="userSpaceOnUse" patternTransform="rotate(-45)">
          <rect width="3" height="9" class="hatching" />
        </pattern>
        <pattern id="silent" width="7" height="7" patternUnits="userSpaceOnUse"><circle cx="2" cy="2" r="1.1" class="dots" /></pattern>
      </defs>
      {layout.frames.map((f) => <Planned key={f.n} f={f} pen={pen} />)}
      {layout.frames.map((f) => <Happened key={f.n} f={f} pen={pen} />)}
      {envelopes(layout, t.envelope).map((e, i) => <path key={i} class="envelope" d={pen.path(e, true)} />)}
      {marks.filter((m) => m.kind === "outage" || m.kind === "unheard").map((m, i) => (
        <rect key={i} class={`zone ${m.kind}`} fill={`url(#${m.kind === "outage" ? "away" : "silent"})`} {...pen.rect(m.from, m.to, box.film[0], box.film[1])} />
      ))}
      {bathLines(layout, bath).map((x, i) => <path key={i} class={`bathline ${x.part}`} d={pen.path(x.points)} />)}
      {layout.frames.map((f) => f.low !== null && f.high !== null && <Limits key={f.n} f={f} low={f.low} high={f.high} pen={pen} />)}
      {farthest(layout, bath).map((p) => <Peak key={p.n} p={p} f={layout.frames.find((f) => f.n === p.n)} pen={pen} />)}
      <Perforations layout={layout} pen={pen} />
      {marks.map((m, i) => <MarkBar key={i} m={m} row={rows.indexOf(m.kind)} pen={pen} />)}
      {report.alerts.map((a) => {
        const [x, y] = pen.at(ms(a.raised_at) ?? layout.from, box.rows + rows.indexOf("alerts") * box.rowStep + 8);
        return shapeAt(a.priority, Math.max(0, x - 8), Math.max(0, y - 8), a.id);
      })}
      <Clock layout={layout} pen={pen} />
    </svg>
  );
}

/** The plan of a step, and the threads that tie its ends to what happened. */
function Planned({ f, pen }: { f: Frame; pen: Pen }): JSX.Element | null {
  if (!f.plan) return null;
  const { plan, film } = pen.box;
  return (
    <g>
      <rect class="planned" {...pen.rect(f.plan[0], f.plan[1], plan[0], plan[1])} />
      {f.was && (
        <path class="thread" d={pen.line(f.plan[0], plan[1], f.was[0], film[0]) + pen.line(f.plan[1], plan[1], f.was[1], film[0])} />
      )}
      {f.absent === "no data" && <rect class="zone unheard" fill="url(#silent)" {...pen.rect(f.plan[0], f.plan[1], film[0], film[1])} />}
      {!f.was && <Absence f={f} pen={pen} at={f.plan} />}
    </g>
  );
}

function Happened({ f, pen }: { f: Frame; pen: Pen }): JSX.Element | null {
  if (!f.was) return null;
  const [from, to] = f.was;
  const { film } = pen.box;
  const edges = [pen.across(across(f.low ?? 0, f)), pen.across(across(f.high ?? 0, f))] as const;
  return (
    <g>
      <rect class="filmframe" {...pen.rect(from, to, film[0], film[1])} />
      {f.low !== null && f.high !== null && (
          <rect class="tolerance" {...pen.rect(from, to, Math.min(...edges), Math.max(...edges))} />
      )}
      <Name f={f} pen={pen} at={[from, to]} />
    </g>
  );
}

const LETTER = 8.4;
const LETTER_HANGING = 9;

interface Named {
  f: Frame;
  pen: Pen;
  at: [number, number];
}

function Name({ f, pen, at }: Named): JSX.Element | null {
  const { hanging, names, film } = pen.box;
  const room = hanging ? names : pen.along(at[1]) - pen.along(at[0]) - 4;
  const tall = pen.along(at[1]) - pen.along(at[0]);
  const text = segmentNames(f.step, f.label).find((o) => letters(o) * (hanging ? LETTER_HANGING : LETTER) <= room);
  if (!text || (hanging && tall < 15)) return null;
  const [x, y] = hanging ? [0, pen.along(at[0]) + Math.min(tall / 2 + 5, 14)] : [pen.along(at[0]) + 4, film[0] - 6];
  return (
    <>
      <text class="name" x={x} y={y}>{text}</text>
      {hanging && tall > 34 && <text class="limit num" x={x} y={y + 16}>{hourMinute(at[0])}</text>}
    </>
  );
}

/** A step that did not happen as far as was heard: its name above its plan, with what is known. One that was left out is worth more room than its own. */
function Absence({ f, pen, at }: Named): JSX.Element | null {
  const { hanging, names, width } = pen.box;
  const length = pen.along(at[1]) - pen.along(at[0]);
  const known = segmentNames(f.step, f.label);
  const look = `name ${f.absent === "skipped" ? "missing" : "absent"}`;
  if (hanging) {
    const text = known.find((o) => letters(o) * LETTER_HANGING <= names);
    if (!text || length < 15) return null;
    const y = pen.along(at[0]) + Math.min(length / 2 + 5, 14);
    return (
      <>
        <text class={look} x={0} y={y}>{text}{length <= 34 && f.absent === "skipped" && " out"}</text>
        {length > 34 && <text class={look} x={0} y={y + 16}>{f.absent}</text>}
      </>
    );
  }
  const room = f.absent === "skipped" ? 180 : length - 4;
  const text = known.map((o) => `${o} ${f.absent}`).find((o) => letters(o) * LETTER <= room);
  if (!text) return null;
  const left = pen.along(at[0]) + 4;
  const over = left + letters(text) * LETTER > width;
  return <text class={over ? `${look} end` : look} x={over ? pen.along(at[1]) : left} y={names - 1}>{text}</text>;
}

/** The limits written at the edges of the band, where there is room. */
function Limits({ f, low, high, pen }: { f: Frame; low: number; high: number; pen: Pen }): JSX.Element | null {
  const [from, to] = f.was ?? [0, 0];
  const length = pen.along(to) - pen.along(from);
  const [a, b] = limits(low, high, degrees.value).split("–");
  const [lowAt, highAt] = [pen.across(across(low, f)), pen.across(across(high, f))];
  if (pen.box.hanging) {
    if (length < 34) return null;
    const y = pen.along(to) - 5;
    const [left, right] = pen.box.film;
    return (
      <>
        {lowAt - left > 36 && <text class="limit end" x={lowAt - 4} y={y}>{a}</text>}
        {right - highAt > 36 && <text class="limit" x={highAt + 4} y={y}>{b}</text>}
      </>
    );
  }
  if (length < 46) return null;
  const x = pen.along(to) - 5;
  return (
    <>
      <text class="limit end" x={x} y={highAt - 4}>{b}</text>
      <text class="limit end" x={x} y={lowAt + 13}>{a}</text>
    </>
  );
}

/** How long such a figure is. */
const PEAK_WIDE = 66;

/** The figure of the farthest reading, beside it and inside its own frame. */
function Peak({ p, f, pen }: { p: { t: number; c: number; warm: boolean }; f: Frame | undefined; pen: Pen }): JSX.Element | null {
  const words = temperature(p.c, degrees.value);
  const { hanging, film } = pen.box;
  if (!f?.was) return null;
  if (hanging) {
    const y = pen.along(f.was[0]) + 15;
    return <text class={`peak${p.warm ? " end" : ""}`} x={p.warm ? film[1] - 4 : film[0] + 4} y={y}>{words}</text>;
  }
  const [left, right] = [pen.along(f.was[0]) + 4, pen.along(f.was[1]) - PEAK_WIDE];
  const x = Math.max(left, Math.min(right, pen.along(p.t) - PEAK_WIDE / 2));
  return <text class="peak" x={x} y={p.warm ? film[0] + 15 : film[1] - 6}>{words}</text>;
}

/** One perforation a minute along the edge of the film. */
function Perforations({ layout, pen }: { layout: Layout; pen: Pen }): JSX.Element {
  const out: JSX.Element[] = [];
  const a = pen.box.film[1] + 4;
  for (let t = layout.from + MINUTE; t < layout.to; t += MINUTE) {
    const [x, y] = pen.at(t, a);
    out.push(pen.box.hanging
      ? <rect key={t} class="perf" x={x} y={y - 3.5} width="6" height="7" rx="1.5" />
      : <rect key={t} class="perf" x={x - 3.5} y={y} width="7" height="6" rx="1.5" />);
  }
  return <>{out}</>;
}

function MarkBar({ m, row, pen }: { m: Stretch; row: number; pen: Pen }): JSX.Element {
  const a = pen.box.rows + row * pen.box.rowStep;
  const [x, y] = pen.at(m.from, a + 8);
  const short = pen.along(m.to) - pen.along(m.from) < 20;
  const [sx, sy] = short ? (pen.box.hanging ? [x - 8, y - 18] : [x - 20, y - 8]) : pen.box.hanging ? [x - 8, y + 2] : [x + 2, y - 8];
  return (
    <g>
      <rect class={`markbar ${m.kind}`} rx="2" {...pen.rect(m.from, m.to, a, a + 16)} />
      {shapeAt(m.kind, sx, sy, "s")}
    </g>
  );
}

function Clock({ layout, pen }: { layout: Layout; pen: Pen }): JSX.Element | null {
  if (pen.box.hanging) return null;
  const room = (pen.box.end - pen.box.start) / 62;
  return (
    <>
      {clockMarks(layout, room).map((t) => (
        <text key={t} class="clockmark" x={Math.min(pen.along(t), pen.box.width - 22)} y={pen.box.clock}>{hourMinute(t)}</text>
      ))}
    </>
  );
}

/** The bath in words, for who cannot see the drawing. */
export function drawingWords(report: Report): string {
  const outside = report.run.steps.filter((s) => (s.outside_s ?? 0) > 0);
  const deg = degrees.value;
  if (outside.length === 0) return "The bath stayed inside its limits wherever data was received.";
  return outside
    .map((s) => `${segmentNames(s.step)[0]}: ${Math.round(s.outside_s ?? 0)} seconds outside its limits, ${inDegrees(s.min_c ?? 0, deg).toFixed(1)} to ${inDegrees(s.max_c ?? 0, deg).toFixed(1)} degrees`)
    .join(". ");
}
