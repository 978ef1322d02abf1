import type { JSX } from "preact";
import { printing } from "../report/printing";
import { narrow } from "../state/prefs";
import { moment, ms } from "../words/time";
import { latestOf, lettersOf, reachOf, rowsOf, shortName, signalMarks, signed, type Row } from "./strips";
import type { Chart, Point } from "./types";

const WIDTH = 1000;
const HIGH = 170;
const LEFT = 8;
const RIGHT = 96;

interface Axis { from: number; to: number }

const xOf = (t: number, a: Axis): number => LEFT + ((t - a.from) / Math.max(1, a.to - a.from)) * (WIDTH - LEFT - RIGHT);

/** Deviations from aim, a row for each figure, on one time line with what may have moved them. */
export function StripChart({ chart, now }: { chart: Chart; now: number }): JSX.Element {
  const rows = rowsOf(chart);
  const times = rows.flatMap((r) => r.plots.flatMap((p) => p.points.map((x) => ms(x.at) ?? now)));
  const first = Math.min(...times);
  const last = Math.max(...times);
  const room = Math.max(86_400_000, (last - first) * 0.04);
  const axis = { from: first - room, to: last + room };
  const events = chart.events.map((e) => ({ ...e, t: ms(e.at) ?? now })).filter((e) => e.t >= axis.from && e.t <= axis.to);
  return (
    <div class="stripchart wide">
      {rows.map((row) => <OneRow key={row.name} row={row} rows={rows.length} axis={axis} events={events} now={now} />)}
      <ol class="stripevents">
        {events.map((e, i) => <li key={e.at + e.what + i}><b class="num">{i + 1}</b> <time>{moment(e.t, now)}</time> {e.text}</li>)}
      </ol>
      <p class="tiny legend">
        <Shape color="r" /> red <Shape color="g" /> green <Shape color="b" /> blue. Dashed: action limit. Solid: control limit. A letter stands where a signal begins:
        {" "}{Object.values(signalMarks).map(([letter, words]) => <span key={letter}><b>{letter}</b> {words}; </span>)}what to do stands below.
      </p>
    </div>
  );
}

function Shape({ color }: { color: string }): JSX.Element {
  return <svg viewBox="-9 -9 18 18" class="inline" aria-hidden="true"><MarkShape color={color} x={0} y={0} out={false} /></svg>;
}

/** Colors are told apart by shape: triangle, circle, square. */
function MarkShape({ color, x, y, out, k = 1 }: { color: string; x: number; y: number; out: boolean; k?: number }): JSX.Element {
  const kind = out ? "out" : "ok";
  if (color === "r") return <path class={`m ${kind}`} d={`M${x} ${y - 8 * k}L${x + 7.5 * k} ${y + 6 * k}H${x - 7.5 * k}Z`} />;
  if (color === "b") return <rect class={`m ${kind}`} x={x - 6.5 * k} y={y - 6.5 * k} width={13 * k} height={13 * k} />;
  return <circle class={`m ${kind}`} cx={x} cy={y} r={7 * k} />;
}

interface OneRowProps { row: Row; rows: number; axis: Axis; events: readonly { t: number }[]; now: number }

function OneRow({ row, rows, axis, events, now }: OneRowProps): JSX.Element {
  // A phone is narrow, a sheet of paper holds all rows: a row is as high as it can be read there.
  const high = printing.value ? Math.min(100, 520 / rows) : narrow.value ? 380 : HIGH;
  const k = printing.value ? 0.7 : narrow.value ? 1.8 : 1;
  const reach = reachOf(row);
  const latest = latestOf(row);
  const y = (v: number): number => high / 2 - (v / reach) * (high / 2 - 10 * k);
  const lines = limitLines(row);
  return (
    <figure class="striprow">
      <figcaption title={row.name}><b>{shortName(row)}</b>{latest && <span class={`latest num ${latest.off ? "off" : ""}`}>{latest.words}</span>}</figcaption>
      <svg viewBox={`0 0 ${WIDTH} ${high}`} role="img" aria-label={`${row.name}: ${rowWords(row, now)}`}>
        <line class="aim" x1={LEFT} x2={WIDTH - RIGHT} y1={y(0)} y2={y(0)} />
        {lines.map(([v, kind]) => <line key={kind + v} class={kind} x1={LEFT} x2={WIDTH - RIGHT} y1={y(v)} y2={y(v)} />)}
        {lines.filter(([, kind]) => kind === "control").map(([v]) => <text key={v} class="lim" x={WIDTH - RIGHT + 6} y={y(v) + 8 * k}>{signed(v)}</text>)}
        <text class="lim" x={WIDTH - RIGHT + 6} y={y(0) + 8 * k}>aim</text>
        {events.map((e, i) => <g key={i}><line class="event" x1={xOf(e.t, axis)} x2={xOf(e.t, axis)} y1="0" y2={high} /><text class="eventno" x={xOf(e.t, axis) + 4} y={22 * k}>{i + 1}</text></g>)}
        {row.plots.map((p) => <Series key={p.plot} points={p.points} color={/\.([rgb])$/.exec(p.plot)?.[1] ?? "g"} axis={axis} y={y} k={k} />)}
        {lettersOf(row).map((l) => <text key={l.at} class="letters" text-anchor="middle" x={xOf(ms(l.at) ?? axis.from, axis)} y={y(l.top) - 14 * k >= 22 * k ? y(l.top) - 14 * k : y(l.bottom) + 32 * k}>{l.letters}</text>)}
      </svg>
    </figure>
  );
}

/** Limits as they are at the last strip. */
function limitLines(row: Row): [number, string][] {
  const last = row.plots[0]?.points?.at(-1)?.figure;
  const lines: [number, string][] = [];
  if (!last) return lines;
  for (const [width, kind] of [[last.action, "action"], [last.control, "control"]] as const) {
    if (width === null) continue;
    if (last.side !== "low") lines.push([width, kind]);
    if (last.side !== "high") lines.push([-width, kind]);
  }
  return lines;
}

interface SeriesProps { points: readonly Point[]; color: string; axis: Axis; k: number; y(v: number): number }

function Series({ points, color, axis, y, k }: SeriesProps): JSX.Element {
  const seen = points.flatMap((p) => (p.figure.deviation === null ? [] : [{ p, x: xOf(ms(p.at) ?? axis.from, axis), y: y(p.figure.deviation) }]));
  return (
    <g>
      <polyline class="thread" points={seen.map((s) => `${s.x},${s.y}`).join(" ")} />
      {seen.map(({ p, x, y: at }) => (
        <g key={p.id}>
          <title>{`${p.figure.label} ${signed(p.figure.deviation ?? 0)}${p.signals.map((s) => `. ${s.detail}. ${s.do}`).join("")}`}</title>
          <MarkShape color={color} x={x} y={at} k={k} out={p.figure.standing === "out" || p.figure.standing === "action"} />
        </g>
      ))}
    </g>
  );
}

function rowWords(row: Row, now: number): string {
  return row.plots.map((p) => {
    const last = p.points?.at(-1);
    if (!last || last.figure.deviation === null) return `${p.label} has no aim yet`;
    return `${p.label} ${signed(last.figure.deviation)} at ${moment(ms(last.at) ?? now, now)}`;
  }).join(", ");
}
