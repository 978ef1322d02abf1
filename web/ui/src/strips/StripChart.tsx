import type { JSX } from "preact";
import { moment, ms } from "../words/time";
import { reachOf, rowsOf, signalMarks, signed, type Row } from "./strips";
import type { Chart, Point } from "./types";

const WIDTH = 1000;
const HIGH = 150;
const LEFT = 8;
const RIGHT = 70;

interface Axis { from: number; to: number }

const xOf = (t: number, a: Axis): number => LEFT + ((t - a.from) / Math.max(1, a.to - a.from)) * (WIDTH - LEFT - RIGHT);

/** Deviations from aim, a row for each figure, on one time line with what may have moved them. */
export function StripChart({ chart, now }: { chart: Chart; now: number }): JSX.Element {
  const rows = rowsOf(chart);
  const times = rows.flatMap((r) => r.plots.flatMap((p) => (p.points ?? []).map((x) => ms(x.at) ?? now)));
  const first = Math.min(...times);
  const last = Math.max(...times);
  const room = Math.max(86_400_000, (last - first) * 0.04);
  const axis = { from: first - room, to: last + room };
  const events = (chart.events ?? []).map((e) => ({ ...e, t: ms(e.at) ?? now })).filter((e) => e.t >= axis.from && e.t <= axis.to);
  return (
    <div class="stripchart wide">
      {rows.map((row) => <OneRow key={row.name} row={row} axis={axis} events={events} now={now} />)}
      <ol class="stripevents">
        {events.map((e, i) => <li key={e.at + e.what + i}><b class="num">{i + 1}</b> <time>{moment(e.t, now)}</time> {e.text}</li>)}
      </ol>
      <p class="tiny legend">
        <Shape color="r" /> red <Shape color="g" /> green <Shape color="b" /> blue. Dashed: action limit. Solid: control limit. A letter stands where a signal begins:
        {" "}{Object.values(signalMarks).map(([letter, words]) => `${letter} ${words}`).join("; ")}.
      </p>
    </div>
  );
}

function Shape({ color }: { color: string }): JSX.Element {
  return <svg viewBox="-8 -8 16 16" class="inline" aria-hidden="true"><MarkShape color={color} x={0} y={0} out={false} /></svg>;
}

/** Colors are told apart by shape: triangle, circle, square. */
function MarkShape({ color, x, y, out }: { color: string; x: number; y: number; out: boolean }): JSX.Element {
  const kind = out ? "out" : "ok";
  if (color === "r") return <path class={`m ${kind}`} d={`M${x} ${y - 6.5}L${x + 6} ${y + 5}H${x - 6}Z`} />;
  if (color === "b") return <rect class={`m ${kind}`} x={x - 5} y={y - 5} width="10" height="10" />;
  return <circle class={`m ${kind}`} cx={x} cy={y} r="5.5" />;
}

function OneRow({ row, axis, events, now }: { row: Row; axis: Axis; events: readonly { t: number }[]; now: number }): JSX.Element {
  const reach = reachOf(row);
  const y = (v: number): number => HIGH / 2 - (v / reach) * (HIGH / 2 - 8);
  const lastPoint = row.plots[0]?.points?.at(-1)?.figure;
  const lines: [number, string][] = [];
  if (lastPoint) {
    for (const [width, kind] of [[lastPoint.action, "action"], [lastPoint.control, "control"]] as const) {
      if (width === null) continue;
      if (lastPoint.side !== "low") lines.push([width, kind]);
      if (lastPoint.side !== "high") lines.push([-width, kind]);
    }
  }
  return (
    <figure class="striprow">
      <figcaption><b>{row.name}</b></figcaption>
      <svg viewBox={`0 0 ${WIDTH} ${HIGH}`} role="img" aria-label={`${row.name}: ${rowWords(row, now)}`}>
        <line class="aim" x1={LEFT} x2={WIDTH - RIGHT} y1={y(0)} y2={y(0)} />
        {lines.map(([v, kind]) => <line key={kind + v} class={kind} x1={LEFT} x2={WIDTH - RIGHT} y1={y(v)} y2={y(v)} />)}
        {lines.filter(([, kind]) => kind === "control").map(([v]) => <text key={v} class="lim" x={WIDTH - RIGHT + 6} y={y(v) + 5}>{signed(v)}</text>)}
        <text class="lim" x={WIDTH - RIGHT + 6} y={y(0) + 5}>aim</text>
        {events.map((e, i) => <g key={i}><line class="event" x1={xOf(e.t, axis)} x2={xOf(e.t, axis)} y1="0" y2={HIGH} /><text class="eventno" x={xOf(e.t, axis) + 3} y="13">{i + 1}</text></g>)}
        {row.plots.map((p) => <Series key={p.plot} points={p.points ?? []} color={/\.([rgb])$/.exec(p.plot)?.[1] ?? "g"} axis={axis} y={y} />)}
      </svg>
    </figure>
  );
}

function Series({ points, color, axis, y }: { points: readonly Point[]; color: string; axis: Axis; y(v: number): number }): JSX.Element {
  const seen = points.flatMap((p) => (p.figure.deviation === null ? [] : [{ p, x: xOf(ms(p.at) ?? axis.from, axis), y: y(p.figure.deviation) }]));
  return (
    <g>
      <polyline class="thread" points={seen.map((s) => `${s.x},${s.y}`).join(" ")} />
      {seen.map(({ p, x, y: at }, i) => {
        // A signal that goes on says nothing new: its letter stands where it begins.
        const before = new Set((seen[i - 1]?.p.signals ?? []).map((s) => s.signal));
        const letters = (p.signals ?? []).filter((s) => !before.has(s.signal)).map((s) => signalMarks[s.signal]?.[0] ?? "").slice(0, 2).join("");
        return (
          <g key={p.id}>
            <title>{`${p.figure.label} ${signed(p.figure.deviation ?? 0)}${(p.signals ?? []).map((s) => `. ${s.detail}. ${s.do}`).join("")}`}</title>
            <MarkShape color={color} x={x} y={at} out={p.figure.standing === "out" || p.figure.standing === "action"} />
            {letters && <text class="letters" x={x + 8} y={at - 6}>{letters}</text>}
          </g>
        );
      })}
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
