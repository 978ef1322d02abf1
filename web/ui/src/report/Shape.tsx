import type { JSX } from "preact";
import type { Priority } from "../types";
import type { MarkKind } from "./layout";

type Any = MarkKind | Priority;

// In a box of 16 by 16, drawn in the colour of the words beside it.
const shapes: Record<Any, JSX.Element> = {
  outage: <path class="line" d="M1 8H5L7 3 9 13 11 8M13 5V11" />,
  unheard: <path class="line" d="M2 8H4M7 8H9M12 8H14" />,
  still: <><circle class="line" cx="8" cy="8" r="6" /><circle class="solid" cx="8" cy="8" r="2" /></>,
  "by-hand": <path class="line" d="M13 8A5 5 0 1 1 10 3.500M10 0.500V4H6.500" />,
  urgent: <path class="solid" d="M8 1 15.500 15H0.500Z" />,
  high: <path class="solid" d="M8 0.500 15.500 8 8 15.500 0.500 8Z" />,
  low: <circle class="solid" cx="8" cy="8" r="6" />,
};

export const shapeWords: Record<MarkKind, string> = {
  outage: "mains power lost",
  unheard: "no data",
  still: "film stood still",
  "by-hand": "turned by hand",
};

/** The sign of a mark, for inside an SVG. */
export const shapeAt = (kind: Any, x: number, y: number, key: string | number): JSX.Element => (
  <g key={key} class={`sign ${kind}`} transform={`translate(${x.toFixed(1)} ${y.toFixed(1)})`}>{shapes[kind]}</g>
);

/** The same beside words. */
export function Shape({ kind }: { kind: Any }): JSX.Element {
  return <svg class={`sign ${kind}`} viewBox="0 0 16 16" aria-hidden="true">{shapes[kind]}</svg>;
}
