import type { JSX } from "preact";
import { useMemo } from "preact/hooks";
import { useComputed } from "@preact/signals";
import { useStore } from "../context";
import type { Layout } from "./segments";
import { useLaneClock } from "./sight";
import { HEIGHT, reachOf, tracePaths, unheard, WIDTH, BAND_BOTTOM, BAND_TOP } from "./trace";

/** The measured bath in the bands of its steps; where nothing was heard, hatched. */
export function Trace({ id, layout }: { id: string; layout: Layout }): JSX.Element {
  const book = useStore().readings.book(id);
  const clock = useLaneClock();
  // Reckoned again when a reading reaches the next column of the drawing, leaves
  // or enters the band, or the strip was laid out anew; not with each word of the unit.
  const reach = useComputed(() => {
    book.version.value; // be told
    return reachOf(layout, book.list, clock.value);
  }).value;
  const p = useMemo(() => tracePaths(layout, book.list), [layout, reach, book.list]);
  const holes = useMemo(() => unheard(layout, book.list), [layout, reach, book.list]);
  const hatch = `hatch-${id.replaceAll("/", "-")}`;
  return (
    <svg class="trace" viewBox={`0 0 ${WIDTH} ${HEIGHT}`} preserveAspectRatio="none">
      <defs>
        <pattern id={hatch} width="14" height="14" patternUnits="userSpaceOnUse" patternTransform="rotate(35)">
          <rect width="4" height="14" class="hatching" />
        </pattern>
      </defs>
      {holes.map((h) => (
        <rect
          key={h.from}
          class="hole"
          x={h.from}
          y={BAND_TOP}
          width={h.to - h.from}
          height={BAND_BOTTOM - BAND_TOP}
          fill={`url(#${hatch})`}
        />
      ))}
      <path class="settling" d={p.settling} />
      <path class="inside" d={p.inside} />
      <path class="outside" d={p.outside} />
    </svg>
  );
}
