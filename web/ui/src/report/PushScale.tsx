import type { JSX } from "preact";
import { narrow } from "../state/prefs";
import { errorFull, errorWords, signed, thirds } from "../words/stops";
import { printing } from "./printing";
import { place, ticks, type Scale } from "./scale";

const WIDE = 600;
const NARROW = 360;
const PAD = 26;
const AXIS = 58;

const small = (): boolean => narrow.value && !printing.value;
const width = (): number => (small() ? NARROW : WIDE);
const x = (s: Scale, v: number): number => PAD + place(s, v) * (width() - 2 * PAD);

/** How far off: lowest, likeliest and highest on a line of thirds of a stop, with the edges where somebody must look. */
export function PushScale({ scale: s }: { scale: Scale }): JSX.Element {
  const W = width();
  const range = s.low !== null && s.high !== null;
  return (
    <div class="pushscale">
      <p class="push"><b class="num">{thirds(s.best)} stop{Math.abs(s.best) > 1.1 ? "s" : ""}</b> <span>{errorWords(s.best)}</span></p>
      <p class="muted num">
        Likeliest {signed(s.best)}{range && `; from ${signed(s.low ?? 0)} to ${signed(s.high ?? 0)} by what is not known`}
      </p>
      <svg viewBox={`0 0 ${W} 104`} role="img" aria-label={`Push error ${errorFull(s.best, s.low, s.high)}.${edgesWords(s)}`}>
        <defs>
          <pattern id="look" width="8" height="8" patternUnits="userSpaceOnUse" patternTransform="rotate(-45)"><rect width="1.6" height="8" class="look" /></pattern>
          <pattern id="far" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(-45)"><rect width="3" height="6" class="far" /></pattern>
        </defs>
        <Zones s={s} />
        <path class="axis" d={`M${PAD} ${AXIS}H${W - PAD}`} />
        {ticks(s).map(({ v, whole }) => (
          <g key={v}>
            <path class="tick" d={`M${x(s, v)} ${AXIS}v${whole ? 12 : 7}`} />
            <text class={whole ? "whole" : ""} x={x(s, v)} y={AXIS + 28}>{thirds(v)}</text>
          </g>
        ))}
        <text class="side" x={PAD} y={AXIS + 44}>◂ pulled</text>
        <text class="side end" x={W - PAD} y={AXIS + 44}>pushed ▸</text>
        {range && (
          <path class="range" d={`M${x(s, s.low ?? 0)} ${AXIS - 15}v14m0 -7H${x(s, s.high ?? 0)}m0 -7v14`} />
        )}
        <path class="best" d={`M${x(s, s.best)} ${AXIS - 18}l9 10-9 10-9-10Z`} />
      </svg>
    </div>
  );
}

function Zones({ s }: { s: Scale }): JSX.Element {
  const out: JSX.Element[] = [];
  for (const sign of [-1, 1]) {
    const zone = (from: number, to: number, fill: string, words: string): void => {
      const [a, b] = [x(s, sign * from), x(s, sign * to)].sort((p, q) => p - q) as [number, number];
      if (b - a < 1) return;
      out.push(<rect key={`${words}${sign}`} x={a} y={AXIS - 34} width={b - a} height={34} fill={`url(#${fill})`} />);
      out.push(<path key={`e${words}${sign}`} class={`edge ${fill}`} d={`M${x(s, sign * from)} ${AXIS - 34}V${AXIS}`} />);
      if (b - a > words.length * 7.6) out.push(<text key={`t${words}${sign}`} class={`zonename ${fill}`} x={(a + b) / 2} y={AXIS - 40}>{words}</text>);
    };
    if (s.inspect !== null) zone(s.inspect, s.out ?? s.reach, "look", small() ? "look" : "inspect");
    if (s.out !== null) zone(s.out, s.reach, "far", small() ? "far" : "far off");
  }
  return <>{out}</>;
}

const edgesWords = (s: Scale): string =>
  (s.inspect === null ? "" : ` Film is looked at from ${signed(s.inspect)} on`) + (s.out === null ? "" : `, out of control from ${signed(s.out)} on, either way.`);
