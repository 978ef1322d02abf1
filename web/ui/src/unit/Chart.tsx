import type { JSX } from "preact";
import { useEffect, useRef } from "preact/hooks";
import uPlot from "uplot";
import "uplot/dist/uPlot.min.css";
import { inDegrees, type Degrees } from "../words/measure";
import { stepWords } from "../words/steps";
import { hourMinute, hourMinuteSecond } from "../words/time";
import { ink, keepPlot, type Kept } from "./keepPlot";
import { nameRoom, spread } from "./names";
import { channelWords, drawnOf, type Band, type Channel, type Columns } from "./trace";

interface Props {
  data: Columns;
  bands: readonly Band[];
  degrees: Degrees;
  /** Seconds since 1970. */
  from: number;
  to: number;
}

// Told apart by their dashes and their names at the end, not by colour.
const looks: Record<Channel, { width: number; dash: number[]; ink: string }> = {
  bath_c: { width: 2.5, dash: [], ink: "--ink" },
  preheat_c: { width: 2, dash: [9, 4], ink: "--muted" },
  wash_c: { width: 2, dash: [3, 3], ink: "--low" },
  room_c: { width: 1.5, dash: [1, 4], ink: "--muted" },
  dryer_c: { width: 2, dash: [12, 3, 2, 3], ink: "--high" },
};

/** Draws the traces; the table beside it says the same to those who cannot see it. */
export function Chart({ data, bands, degrees, from, to }: Props): JSX.Element {
  const box = useRef<HTMLDivElement>(null);
  const plot = useRef<Kept | null>(null);
  const latest = useRef({ data, bands, from, to });
  latest.current = { data, bands, from, to };
  const shown = drawnOf(data);
  const kind = `${shown.join()} ${degrees}`;

  useEffect(() => {
    const el = box.current;
    if (!el) return;
    const kept = keepPlot(el, () => new uPlot(options(el, shown, degrees, latest), table(latest.current.data, shown, degrees), el), () => heightOf(el));
    plot.current = kept;
    return () => {
      kept.end();
      plot.current = null;
    };
  }, [kind]);
  useEffect(() => plot.current?.plot.setData(table(data, shown, degrees), true), [data, from, to]);
  return <div class="chart" ref={box} aria-hidden="true" />;
}

const heightOf = (el: HTMLElement): number => (el.clientWidth < 600 ? 280 : 380);

function table(d: Columns, shown: readonly Channel[], degrees: Degrees): uPlot.AlignedData {
  return [d.t, ...shown.map((c) => d.of[c].map((v) => (typeof v === "number" ? inDegrees(v, degrees) : v)))] as uPlot.AlignedData;
}

type Latest = { current: { data: Columns; bands: readonly Band[]; from: number; to: number } };

function options(el: HTMLElement, shown: readonly Channel[], degrees: Degrees, latest: Latest): uPlot.Options {
  const muted = ink(el, "--muted");
  const rule = ink(el, "--rule");
  const going = ink(el, "--going");
  const edge = ink(el, "--edge");
  const font = `14px ${getComputedStyle(el).fontFamily}`;
  const axis = { stroke: muted, font, grid: { stroke: rule, width: 1 }, ticks: { stroke: rule, width: 1 } };
  return {
    width: el.clientWidth,
    height: heightOf(el),
    padding: [14, nameRoom(shown.map((c) => channelWords[c]), font), 0, 0],
    cursor: { y: false, drag: { x: false, y: false } },
    legend: { live: true, markers: { width: 0 } },
    scales: {
      x: { time: true, range: () => [latest.current.from, latest.current.to] },
      y: { range: (_u, low, high) => (Number.isFinite(low) ? [Math.floor(low - 1), Math.ceil(high + 1)] : [15, 45]) },
    },
    axes: [
      { ...axis, space: 84, values: (_u, at) => at.map((t) => ((at[1] ?? t) - (at[0] ?? t) < 60 && at.length > 1 ? hourMinuteSecond(t * 1000) : hourMinute(t * 1000))) },
      { ...axis, size: 60, values: (_u, at) => at.map((v) => `${v}°`) },
    ],
    series: [
      { label: "At", value: (_u, t) => (t ? hourMinuteSecond(t * 1000) : "") },
      ...shown.map((c): uPlot.Series => ({
        label: channelWords[c],
        stroke: ink(el, looks[c].ink),
        width: looks[c].width,
        dash: looks[c].dash,
        points: { show: false },
        // Lines run over rows of other readings (undefined), but not over a hole (null).
        spanGaps: false,
        value: (_u, v) => (v === null || v === undefined ? "" : `${v.toFixed(2)} °${degrees}`),
      })),
    ],
    hooks: {
      drawClear: [(u) => drawBands(u, latest.current.bands, degrees, going, edge, muted, font)],
      draw: [(u) => drawNames(u, shown, font)],
    },
  };
}

/** The tolerance of each step, behind the lines, with the step's name. */
function drawBands(u: uPlot, list: readonly Band[], degrees: Degrees, fill: string, edge: string, text: string, font: string): void {
  const { ctx } = u;
  const px = devicePixelRatio;
  const { left, top, width, height } = u.bbox;
  ctx.save();
  ctx.beginPath();
  ctx.rect(left, top, width, height);
  ctx.clip();
  for (const b of list) {
    const x0 = u.valToPos(b.from, "x", true);
    const x1 = u.valToPos(b.to, "x", true);
    const y0 = u.valToPos(inDegrees(b.high, degrees), "y", true);
    const y1 = u.valToPos(inDegrees(b.low, degrees), "y", true);
    if (x1 < left || x0 > left + width) continue;
    ctx.fillStyle = fill;
    ctx.fillRect(x0, y0, x1 - x0, Math.max(2 * px, y1 - y0));
    ctx.strokeStyle = edge;
    ctx.lineWidth = px;
    ctx.strokeRect(x0, y0, x1 - x0, Math.max(2 * px, y1 - y0));
    ctx.fillStyle = text;
    ctx.font = font.replace("14px", `${13 * px}px`);
    ctx.textAlign = "left";
    ctx.textBaseline = "alphabetic";
    const name = stepWords(b.step).short;
    if (ctx.measureText(name).width < x1 - x0 - 4 * px) ctx.fillText(name, x0 + 3 * px, top + 13 * px);
  }
  ctx.restore();
}

/** Each line's name at its end, pushed apart where they would lie on each other. */
function drawNames(u: uPlot, shown: readonly Channel[], font: string): void {
  const { ctx } = u;
  const px = devicePixelRatio;
  const ends = spread(shown.flatMap((c, i) => {
    const y = u.data[i + 1] ?? [];
    let k = y.length - 1;
    while (k >= 0 && typeof y[k] !== "number") k--;
    const v = y[k];
    return k < 0 || typeof v !== "number" ? [] : [{ c, y: u.valToPos(v, "y", true), stroke: u.series[i + 1]?.stroke }];
  }), 17 * px, u.bbox.top + u.bbox.height);
  ctx.save();
  ctx.font = `600 ${font.replace("14px", `${14 * px}px`)}`;
  ctx.textBaseline = "middle";
  ctx.textAlign = "left";
  for (const e of ends) {
    ctx.fillStyle = typeof e.stroke === "function" ? String(e.stroke(u, 0)) : String(e.stroke ?? "");
    ctx.fillText(channelWords[e.c], u.bbox.left + u.bbox.width + 6 * px, e.y);
  }
  ctx.restore();
}
