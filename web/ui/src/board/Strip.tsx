import type { JSX } from "preact";
import { useRef } from "preact/hooks";
import { useStore } from "../context";
import type { Heard } from "../state/live";
import { narrow } from "../state/prefs";
import { stepLeft } from "../words/doing";
import { segmentNames, stepWords } from "../words/steps";
import { ms } from "../words/time";
import { FEW } from "./sizes";
import { along, layoutRun, minutes, nameSegments, type Layout } from "./segments";
import { Trace } from "./Trace";

const LETTER_WIDE = 0.0215;
const LETTER_FEW = 0.0225;
const LETTER_NARROW = 0.0245;

const part = (x: number): string => `${(x * 100).toFixed(2)}%`;

/**
 * The run as a strip of film: a frame for each step as long as it lasts, one
 * perforation a minute, the needle at now. Laid out anew when the unit says
 * something; only the needle moves in between.
 */
export function Strip({ heard }: { heard: Heard }): JSX.Element {
  const { unit, heardAt } = heard;
  const few = useStore().order.value.length <= FEW;
  const last = useRef<{ run: string; layout: Layout } | null>(null);
  const run = unit.run;
  if (!run || (run.plan ?? []).length === 0) return <div class="strip none" />;
  const layout = steady(last.current, run.id, layoutRun(run, heardAt, stepLeft(unit, heardAt, heardAt)));
  last.current = { run: run.id, layout };
  const em = narrow.value ? LETTER_NARROW : few ? LETTER_FEW : LETTER_WIDE;
  const names = nameSegments(layout, em, (s) => segmentNames(s.step, s.label));
  const current = stepWords(run.step, run.plan?.find((p) => p.n === run.n)?.label).full;
  return (
    <div class="strip" role="img" aria-label={`Step ${run.n} of ${run.of}: ${current}`}>
      <div class="names" aria-hidden="true">
        {names.map((p) => (
          <span key={p.n} class={p.n === run.n ? "now" : ""} style={{ left: part(p.at) }}>{p.text}</span>
        ))}
      </div>
      <div class="film" aria-hidden="true">
        {layout.segments.map((s) => (
          <i
            key={s.n}
            class={`frame ${s.state}`}
            style={{ left: part(along(layout, s.from)), width: part((s.to - s.from) / (layout.to - layout.from)) }}
          />
        ))}
        <Filled layout={layout} now={run.n} />
        <Trace id={unit.id} layout={layout} />
        <Needle layout={layout} end={ms(run.ends_at)} />
      </div>
      <Perforations layout={layout} />
    </div>
  );
}

/** Keeps the axis from trembling: a change of under two seconds is none. */
function steady(was: { run: string; layout: Layout } | null, run: string, now: Layout): Layout {
  if (was === null || was.run !== run || Math.abs(was.layout.to - now.to) > 2000 || was.layout.from !== now.from) return now;
  return { ...now, to: Math.max(was.layout.to, now.segments.at(-1)?.to ?? 0) };
}

/** What of the present step is past. */
function Filled({ layout, now }: { layout: Layout; now: number }): JSX.Element | null {
  const t = useStore().seen.value;
  const s = layout.segments.find((x) => x.n === now && x.state === "now");
  if (!s || t <= s.from) return null;
  const from = along(layout, s.from);
  return <i class="filled" style={{ left: part(from), width: part(along(layout, Math.min(t, s.to)) - from) }} />;
}

function Needle({ layout }: { layout: Layout; end: number | null }): JSX.Element {
  const t = useStore().seen.value;
  return <i class="needle" style={{ left: part(along(layout, t)) }} />;
}

function Perforations({ layout }: { layout: Layout }): JSX.Element {
  const t = useStore().seen.value;
  const gone = Math.floor((t - layout.from) / 60_000);
  return (
    <div class="perfs" aria-hidden="true">
      {minutes(layout).map((x, i) => (
        <i key={i} class={i < gone ? "gone" : ""} style={{ left: part(x) }} />
      ))}
    </div>
  );
}
