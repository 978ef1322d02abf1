import type { JSX } from "preact";
import { useEffect, useRef } from "preact/hooks";
import uPlot from "uplot";
import "uplot/dist/uPlot.min.css";
import { inVolume, volumeUnit } from "../words/measure";
import { hourMinute, hourMinuteSecond } from "../words/time";
import { ink, keepPlot } from "./keepPlot";
import { nameRoom, spread } from "./names";
import type { LevelColumns } from "./levels";

interface Props {
  data: LevelColumns;
  /** What people call each container. */
  words: Record<string, string>;
  /** The largest of them holds so many litres: the top of the drawing. */
  most: number;
  volume: "l" | "gal";
  /** Seconds since 1970. */
  from: number;
  to: number;
}

// Told apart by their dashes and their names at the end, not by colour.
const dashes = [[], [9, 4], [3, 3], [12, 3, 2, 3], [1, 4]];

/** Draws levels over time; the table beside it says the same to those who cannot see it. */
export function LevelsChart({ data, words, most, volume, from, to }: Props): JSX.Element {
  const box = useRef<HTMLDivElement>(null);
  const span = useRef({ from, to });
  span.current = { from, to };
  useEffect(() => {
    const el = box.current;
    if (!el) return;
    const columns = [data.t, ...data.names.map((n) => (data.of[n] ?? []).map((v) => (v === null ? null : inVolume(v, volume))))] as uPlot.AlignedData;
    return keepPlot(el, () => new uPlot(options(el, data.names, words, inVolume(most, volume), volume, span), columns, el), () => HEIGHT).end;
  }, [data, words, most, volume, from, to]);
  return <div class="chart" ref={box} aria-hidden="true" />;
}

const HEIGHT = 240;

function options(el: HTMLElement, names: readonly string[], words: Record<string, string>, most: number, volume: "l" | "gal", span: { current: { from: number; to: number } }): uPlot.Options {
  const line = ink(el, "--ink");
  const rule = ink(el, "--rule");
  const font = `14px ${getComputedStyle(el).fontFamily}`;
  const axis = { stroke: ink(el, "--muted"), font, grid: { stroke: rule, width: 1 }, ticks: { stroke: rule, width: 1 } };
  return {
    width: el.clientWidth,
    height: HEIGHT,
    padding: [14, nameRoom(names.map((n) => words[n] ?? n), font), 0, 0],
    cursor: { y: false, drag: { x: false, y: false } },
    legend: { live: true, markers: { width: 0 } },
    scales: { x: { time: true, range: () => [span.current.from, span.current.to] }, y: { range: (_u, _low, high) => [0, Math.max(1, most, high || 0)] } },
    axes: [
      { ...axis, space: 84, values: (_u, at) => at.map((t) => hourMinute(t * 1000)) },
      { ...axis, size: 60, values: (_u, at) => at.map((v) => `${v} ${volumeUnit(volume)}`) },
    ],
    series: [
      { label: "At", value: (_u, t) => (t ? hourMinuteSecond(t * 1000) : "") },
      ...names.map((n, i): uPlot.Series => ({ label: words[n] ?? n, stroke: line, width: 2, dash: dashes[i % dashes.length] ?? [], points: { show: false }, spanGaps: true, value: (_u, v) => (v == null ? "" : `${v.toFixed(1)} ${volumeUnit(volume)}`) })),
    ],
    hooks: { draw: [(u) => drawNames(u, names, words, line, font)] },
  };
}

/** Each line's name at its end, pushed apart where they would lie on each other. */
function drawNames(u: uPlot, names: readonly string[], words: Record<string, string>, line: string, font: string): void {
  const px = devicePixelRatio;
  const ends = spread(names.flatMap((n, i) => {
    const v = [...(u.data[i + 1] ?? [])].reverse().find((x) => typeof x === "number");
    return typeof v === "number" ? [{ n, y: u.valToPos(v, "y", true) }] : [];
  }), 17 * px, u.bbox.top + u.bbox.height);
  const { ctx } = u;
  ctx.save();
  ctx.font = `600 ${font.replace("14px", `${14 * px}px`)}`;
  ctx.textBaseline = "middle";
  ctx.textAlign = "left";
  ctx.fillStyle = line;
  for (const e of ends) ctx.fillText(words[e.n] ?? e.n, u.bbox.left + u.bbox.width + 6 * px, e.y);
  ctx.restore();
}
