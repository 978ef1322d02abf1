import type { JSX } from "preact";
import { openContainer } from "../load/deeds";
import { kiosk } from "../state/kiosk";
import type { Unit } from "../types";
import { tanksToShow, type Drawn } from "./tanks";

// The drawing: a vessel 40 wide and 80 high with 14 above its rim for what will not fit.
const W = 40;
const RIM = 16;
const H = 80;
const TOP = 2;

const y = (part: number): number => RIM + H - part * H;

/** The containers as columns, with what is still to come in outline. */
export function Tanks({ unit, slim = false }: { unit: Unit; slim?: boolean }): JSX.Element {
  return (
    <ul class="tanks" aria-label="Containers">
      {tanksToShow(unit).map((d) => (
        <li key={d.name} class={tankClass(d)}>
          <Tank d={d} slim={slim} />
          {!kiosk.value && <button
            class="reach"
            aria-label={`${d.label} of ${unit.name || unit.id}: what it holds, emptied, topped up, swapped`}
            aria-haspopup="dialog"
            onClick={() => (openContainer.value = { unit: unit.id, name: d.name })}
          />}
        </li>
      ))}
    </ul>
  );
}

const isLow = (d: Drawn): boolean => d.runs === 0 || d.short;

export const tankClass = (d: Drawn): string =>
  `tank${isLow(d) ? " low" : ""}${d.short ? " short" : ""}${d.level === null ? " unknown" : ""}`;

/** A container as a column, with its words. Slim, a number has to do, and a word where it is short. */
export function Tank({ d, slim = false }: { d: Drawn; slim?: boolean }): JSX.Element {
  return (
    <>
      <svg viewBox={`0 0 ${W + 4} ${RIM + H + 2}`} aria-hidden="true">
        <Vessel d={d} />
      </svg>
      <p>
        <span class={slim ? "unseen" : ""}>{d.label}</span>
        <Left d={d} />
        {d.ask && <em>emptied?</em>}
        {d.full && <em>full{!slim && " (float switch)"}</em>}
      </p>
    </>
  );
}

/** For how many runs it will still do. */
function Left({ d }: { d: Drawn }): JSX.Element {
  if (d.level === null) return <b class="word">no data</b>;
  if (d.short) return <b class="word">{d.drains ? "no room" : "too little"}</b>;
  if (d.runs === null) return <b />;
  return (
    <b class="runs">
      {isLow(d) && <i aria-hidden="true">!</i>}
      <span class="num">{d.runsSaid}</span> <small>{d.runsSaid === "1" ? "run" : "runs"}</small>
    </b>
  );
}

function Vessel({ d }: { d: Drawn }): JSX.Element {
  const level = d.level ?? 0;
  return (
    <>
      <rect class="inner" x="2" y={RIM} width={W} height={H} />
      {d.level !== null && <rect class={d.drains ? "held" : "held water"} x="2" y={y(level)} width={W} height={level * H} />}
      {d.next && <Ghost range={d.next} kind={d.short || beyond(d.next) ? "next over" : "next"} />}
      {d.owed && <Ghost range={d.owed} kind={d.short ? "owed over" : "owed"} />}
      {d.level === null && <text x={2 + W / 2} y={RIM + H / 2 + 9} text-anchor="middle">?</text>}
      <path class="glass" d={`M2 ${RIM - 5}V${RIM + H}H${W + 2}V${RIM - 5}`} />
      {[0.25, 0.5, 0.75].map((t) => <path key={t} class="tickmark" d={`M2 ${y(t)}h${t === 0.5 ? 9 : 6}`} />)}
    </>
  );
}

const beyond = (r: [number, number]): boolean => r[1] > 1.001 || r[0] < -0.001;

function Ghost({ range, kind }: { range: [number, number]; kind: string }): JSX.Element {
  const top = Math.max(TOP, y(range[1]));
  const bottom = Math.min(RIM + H, Math.max(top + 2, y(range[0])));
  const lines = kind.endsWith("over") ? hatchLines(top, bottom) : "";
  return (
    <g class={`ghost ${kind}`}>
      <rect x="5" y={top} width={W - 6} height={Math.max(2, bottom - top)} />
      {lines && <path d={lines} />}
    </g>
  );
}

/** Slanting lines across a box, cut at its edges. */
export function hatchLines(top: number, bottom: number): string {
  const left = 5;
  const right = W - 1;
  let d = "";
  for (let c = top - (right - left); c < bottom; c += 8) {
    // The line y = c + (x - left), from left to right.
    const x0 = Math.max(left, left + (top - c));
    const x1 = Math.min(right, left + (bottom - c));
    if (x1 > x0) d += `M${x0.toFixed(1)} ${(c + x0 - left).toFixed(1)}L${x1.toFixed(1)} ${(c + x1 - left).toFixed(1)}`;
  }
  return d;
}
